"""The day's picture is measured: parsed as XML, its bars compared with the clock."""

import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.job.day_sheet import Call, Day, Entry
from etchcalc.pages import day_drawing
from etchcalc.pages.day_drawing import LEFT, RIGHT, SAYS, clock, day, entries

SVG = "{http://www.w3.org/2000/svg}"
# invented
JOB = [
    ("Coat", 540, 570, True, []),
    ("Resist dries", 570, 690, False, []),
    ("In the bath", 690, 750, False, [(705, "tilt"), (720, "tilt"), (735, "tilt")]),
    ("Look", 750, 753, True, [(750, "look")]),
    ("In the bath", 753, 800, False, [(768, "tilt")]),
    ("Lift and gauge", 800, 805, True, [(800, "lift")]),
]


def drawn(job, opens=540, closes=1050, says=SAYS):
    return ET.fromstring(day(job, opens, closes, says))


def parts(root, name):
    """Elements of a class that lie in the day, not among the keys."""
    keys = {e for key in root.iter() if key.get("class") == "etch-key" for e in key.iter()}
    return [e for e in root.iter() if e.get("class") == f"etch-{name}" and e not in keys]


def spans(root, name):
    return [
        (float(e.get("x")), float(e.get("x")) + float(e.get("width"))) for e in parts(root, name)
    ]


def begins(root, name):
    return [float(re.findall(r"\d+\.\d+", e.get("d"))[0]) for e in parts(root, name)]


def words(root):
    return [e.text for e in root.iter(f"{SVG}text")]


def at(minute, first=540, last=1080):
    """Where a minute lies, of a picture from 9 to 18 o'clock: whole hours round all of it."""
    return LEFT + (RIGHT - LEFT) * (minute - first) / (last - first)


def test_bars_and_marks_lie_where_the_clock_says():
    root = drawn(JOB)
    hands = [(540, 570), (750, 753), (800, 805)]
    waits = [(570, 690), (690, 750), (753, 800)]
    for name, times in (("hands", hands), ("waits", waits)):
        true = sorted((at(a), at(b)) for a, b in times)
        assert [e for pair in sorted(spans(root, name)) for e in pair] == pytest.approx(
            [e for pair in true for e in pair], abs=0.1
        )
    assert sorted(begins(root, "tilt")) == pytest.approx([at(m) for m in (705, 720, 735, 768)], abs=0.1)  # fmt: skip
    assert begins(root, "lift") == pytest.approx([at(800)], abs=0.1)
    assert [float(e.get("cx")) for e in parts(root, "look")] == pytest.approx([at(750)], abs=0.1)
    assert begins(root, "opens") == pytest.approx([at(540)], abs=0.1)
    assert begins(root, "closes") == pytest.approx([at(1050)], abs=0.1)
    assert {"opens 09:00", "closes 17:30", "09:00–09:30", "2 times, 11:30–13:20"} <= set(
        words(root)
    )


def test_black_and_white_tells_hands_from_waiting():
    root = drawn(JOB)
    fills = {name: {e.get("fill") for e in parts(root, name)} for name in ("hands", "waits")}
    assert all(len(fill) == 1 for fill in fills.values())
    ink, paper = (day_drawing.colour_of(name) for name in ("ink", "paper"))
    assert fills == {"hands": {ink}, "waits": {paper}}
    # tilt, look and lift are of three shapes
    assert {parts(root, name)[0].tag for name in ("look",)} == {f"{SVG}circle"}
    assert parts(root, "lift")[0].get("d") != parts(root, "tilt")[0].get("d")
    keys = {e.text for e in root.iter(f"{SVG}text")}
    assert {SAYS[name] for name in ("hands", "waits", "tilt", "look", "lift")} <= keys


def test_a_sort_of_mark_that_is_not_there_needs_no_key():
    said = set(words(drawn(JOB[:2])))
    assert SAYS["hands"] in said and not {SAYS["tilt"], SAYS["look"], SAYS["lift"]} & said


def test_what_is_done_twice_shares_a_row():
    assert words(drawn(JOB)).count("In the bath") == 1
    rows = {e.get("y") for e in parts(drawn(JOB), "waits")}
    assert len(rows) == 2  # drying, and both times in the bath


def test_a_job_past_midnight_shows_the_next_day():
    root = drawn([("Lacquer dries", 1400, 1500, False, []), ("Cut", 2000, 2030, True, [])])
    said = words(root)
    # 33 h 20 min is 09:20 of the second day
    assert "23:20–01:00" in said and "day 2, 09:20–09:50" in said
    dashes = parts(root, "opens")[0].get("d")
    assert len(re.findall("M", dashes)) == 1  # 9 o'clock of the second day alone is in it


def test_nothing_to_do_is_still_a_picture():
    root = drawn([])
    assert "closes 17:30" in words(root) and not parts(root, "hands")


def test_long_words_go_on_in_a_second_line():
    what = "Lift and gauge: type the reading in, and go by the new time that it gives"
    said = words(drawn([(what, 540, 560, True, [])]))
    lines = [w for w in said if w in what]
    assert len(lines) == 2 and " ".join(lines) == what


def test_the_clock():
    assert [clock(m) for m in (0, 570, 1439.4, 1440, 1455)] == [
        "00:00", "09:30", "23:59", "00:00", "00:15",
    ]  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from("abc"), st.integers(0, 4000), st.integers(1, 600), st.booleans()),
        min_size=1, max_size=12,
    )
)  # fmt: skip
def test_bars_are_as_long_as_they_last(found):
    job = [(what, begin, begin + lasts, hands, []) for what, begin, lasts, hands in found]
    root = drawn(job)
    bars = spans(root, "hands") + spans(root, "waits")
    assert len(bars) == len(job)
    assert all(a >= LEFT - 0.1 and b <= RIGHT + 0.1 for a, b in bars)
    lengths = sorted(b - a for a, b in bars)
    lasting = sorted(lasts for _, _, lasts, _ in found)
    # one scale for all: each bar by the longest
    px = lengths[-1] / lasting[-1]
    assert lengths == pytest.approx([px * lasts for lasts in lasting], abs=0.1)
    for text in root.iter(f"{SVG}text"):
        assert -1 <= float(text.get("x")) <= day_drawing.WIDTH


def test_a_laid_out_day_becomes_plain_entries():
    begin = datetime(2026, 6, 1, 8, 30, tzinfo=UTC)  # 09:30 in London's summer
    calls = (
        Call(begin + timedelta(minutes=15), "Batch 1 of 2, 3 plates: Tilt the tray"),
        Call(begin + timedelta(minutes=20), "Look: clear what does not etch"),
        Call(begin + timedelta(minutes=25), "Lift and gauge: done if as deep as ordered"),
        Call(begin + timedelta(minutes=30), "Look that the motor rocks the tray"),
    )
    entry = Entry("etch", "In the bath", begin, begin + timedelta(hours=1), False, True, "", calls)
    found = entries(Day("Trial", ZoneInfo("Europe/London"), (entry,)))
    marks = [(585, "tilt"), (590, "look"), (595, "lift"), (600, "tilt")]
    assert found == [("In the bath", 570, 630, False, marks)]


def test_what_is_said_in_a_picture_cannot_run():
    root = drawn([("<script>alert(1)</script>", 540, 560, True, [])], says=SAYS | {"hands": "<b>"})
    assert not list(root.iter(f"{SVG}script")) and not list(root.iter(f"{SVG}b"))
    assert root.get("role") == "img" and root.find(f"{SVG}title").text
    assert "09:00–09:20" in root.find(f"{SVG}desc").text


@pytest.mark.parametrize(("closes", "times"), [(1050, 2), (962, 1)])
def test_no_hour_stands_where_closing_time_would_strike_it_through(closes, times):
    """At 16:02 the line goes through "16:00", which then stands at the foot alone."""
    assert words(drawn(JOB, closes=closes)).count("16:00") == times
