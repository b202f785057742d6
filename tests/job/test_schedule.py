"""The day sheet: the order of the work, one pair of hands, closing time, midnight, changes of the clocks."""

import re
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import MINUTE, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.core.words.day import WORDS
from etchcalc.job.clocks import read_clock, read_start
from etchcalc.job.plan import planned
from etchcalc.job.schedule import clashes, day, hands_on

TRIED = settings(deadline=None, derandomize=True, max_examples=25)
LONDON, NEW_YORK = "Europe/London", "America/New_York"
OPENS, CLOSES = time(8), time(17, 30)
A_MINUTE = timedelta(minutes=1)


def of(plan, start="2027-03-10 06:00", zone=LONDON, opens=OPENS, closes=CLOSES):
    return day(plan, read_start(start, zone), opens=opens, closes=closes)


def put(plan, **minutes):
    """The plan worked anew with times said in its book, as a section of the commission says them."""
    again = planned(plan.commission)
    for name, value in minutes.items():
        again.book.put(name, Quantity(value, MINUTE), "given")
    return again


def busy(job, wants):
    """Every minute at which the job wants hands or tray, counted one by one."""
    found = set()
    for entry in job.entries:
        at = entry.begin
        while getattr(entry, wants) and at < entry.end:
            found.add(at)
            at += A_MINUTE
    return found


def lasts(job, *begins):
    chosen = [e for e in job.entries if e.what.startswith(begins)]
    return sum((e.end - e.begin for e in chosen), timedelta()) / A_MINUTE


def first(job, begins):
    return next(e for e in job.entries if e.what.startswith(begins))


def test_the_order_of_the_job(plan):
    job = of(plan)
    keys = list(dict.fromkeys(e.key for e in job.entries if e.what[:3] not in ("Set", "Put")))
    # data/steps.toml, the bath mixed first so that it cools and clears
    assert keys == [
        "mix", "blank", "coat", "expose", "develop", "stop_out", "etch", "strip", "fill", "finish",
    ]  # fmt: skip
    tray = [e.what.split(":")[0][:6] for e in job.entries if e.tray_busy]
    assert tray[:3] == ["Set up", "Warm t", "In the"] and tray[-1] == "Put th"
    put_away, fill = first(job, "Put the bath away"), first(job, "Fill, 1")
    assert put_away.begin == fill.end  # while the first fill dries


def test_the_bath_is_warm_when_the_paint_is_dry(plan):
    job = of(plan)
    warm, dry = first(job, "Warm"), first(job, "Stop-out, 2 of 2, dries")
    assert warm.end == dry.end == first(job, "In the bath").begin
    assert not warm.hands_on and warm.begin > dry.begin
    assert lasts(job, "Warm") == np.ceil(plan.number("warm_up_time"))
    slow = of(put(plan, warm_up_time=300.0))
    assert first(slow, "Warm").begin == first(slow, "Set up").end
    assert first(slow, "In the bath").begin == first(slow, "Warm").end


def test_paint_fill_and_lacquer_dry_as_long_as_the_plan_says(plan):
    job = of(plan)
    assert lasts(job, "Stop-out") == plan.number("drying_time")
    fills = [e for e in job.entries if e.key == "fill" and not e.hands_on]
    assert len(fills) == plan.number("fill_coats")
    assert {(e.end - e.begin) / A_MINUTE for e in fills} == {plan.number("coat_interval")}


def test_the_lifts_stand_on_the_bath_s_own_clock(plan):
    # looks each hour, 3 min; gauged at the plan's time and at its end, 5 min: by hand
    job = of(put(plan, etch_time=200.4, gauge_time=70.9))
    bath = first(job, "In the bath").begin
    lifts = [c.at for c in job.calls if not c.what.startswith("Tilt")]
    assert [(at - bath) / A_MINUTE for at in lifts] == [60, 73, 128, 191, 214]
    tilts = [(c.at - bath) / A_MINUTE for c in job.calls if c.what.startswith("Tilt")]
    assert tilts == [15, 30, 45, 93, 108, 123, 146, 161, 176, 209]
    assert lasts(job, "In the bath") == 200
    assert all(bath < c.at < job.end for c in job.calls)


def test_a_look_beside_a_gauging_is_that_gauging(plan):
    job = of(put(plan, etch_time=122.0, gauge_time=58.0))
    lifts = [c.what[:8] for c in job.calls if not c.what.startswith("Tilt")]
    assert lifts == ["Lift and", "Lift and"]


def test_a_plan_all_but_sure_is_lifted_once(plan):
    for gauge in (48.5, 51.0):  # within its own pause of the end, or beyond it
        job = of(put(plan, etch_time=50.0, gauge_time=gauge))
        assert [c.what for c in job.calls][-1] == "Lift and gauge: done if as deep as ordered"
        assert len(job.calls) == 4


def test_a_tray_that_is_too_small_gives_batches(commission):
    job = of(
        planned(commission.changed(plate_count="8", look_interval="20 min"))
    )  # six lie in this tray: 3 by 2
    assert lasts(job, "Batch 1 of 2, 6 plates: In") == lasts(job, "Batch 2 of 2, 2 plates: In") > 0
    assert max(e.end for e in job.entries if e.what.startswith("Batch 1")) == min(
        e.begin for e in job.entries if e.what.startswith("Batch 2")
    )
    said = [c.what for c in job.calls if "Look" in c.what]
    assert said and all("change the plates' places" in what for what in said)
    alone = of(planned(commission.changed(plate_count="1", look_interval="20 min")))
    assert {c.what for c in alone.calls if "Look" in c.what} == {"Look: clear what does not etch"}
    huge = of(planned(commission.changed(plate_width="500 mm")))
    assert any("does not fit the tray" in w for w in huge.warnings)


def test_a_second_depth_is_stopped_out_and_goes_on(commission):
    plan = planned(commission.changed(second_line="0.8 mm", second_depth="0.3 mm"))
    job = of(plan)
    assert lasts(job, "In the bath") == round(plan.number("second_time"))
    dry = first(job, "Stop-out dries")
    assert first(job, "Stop out the fine lines").end == dry.begin
    assert sum(c.what.endswith("as deep as ordered") for c in job.calls) == 2
    painted = hands_on(plan)[1] - hands_on(planned(commission))[1]
    assert np.allclose(painted.magnitude, term("painting_time").start)


def test_how_the_bath_is_warmed(commission):
    cold = of(planned(commission.changed(heater_rating="0 W")))
    assert [w for w in cold.warnings if w.startswith("The heater never warms this bath to 42 °C")]
    assert lasts(cold, "Warm") == term("wanted_warm_up_time").start
    going = of(planned(commission.changed(plates_go_in="while it warms up")))
    assert not lasts(going, "Warm")
    used = of(planned(commission.changed(bath_is="used and written down", metal_dissolved="5 g")))
    assert not lasts(used, "Mix")


def test_a_motor_is_looked_at_and_not_tilted(commission):
    job = of(planned(commission.changed(moved="rocked by motor")))
    assert not any(c.what.startswith("Tilt") for c in job.calls)
    assert any(c.what == "Look that the motor rocks the tray" for c in job.calls)


@TRIED
@given(
    plates=st.integers(1, 15),
    coats=st.integers(1, 3),
    faces=st.sampled_from(["1", "2"]),
    celsius=st.integers(25, 50),
    every=st.integers(5, 90),
    pour=st.floats(0, 200),
)
def test_one_pair_of_hands(plan, plates, coats, faces, celsius, every, pour):
    changed = plan.commission.changed(
        plate_count=str(plates),
        coats=str(coats),
        coated_faces=faces,
        temperature=f"{celsius} °C",
        look_interval=f"{every} min",
    )
    long = planned(changed)
    long.book.put("setting_up_time", Quantity(pour, MINUTE), "given")
    job = of(long)
    work = [e for e in job.entries if e.hands_on]
    assert all(one.end <= other.begin for one, other in pairwise(work))
    assert all(one.begin <= other.begin for one, other in pairwise(job.entries))
    tray = [e for e in job.entries if e.tray_busy]
    assert all(one.end <= other.begin for one, other in pairwise(tray))
    assert all(e.begin <= c.at < job.end for e in job.entries for c in e.calls)
    assert job.hands_on == len(busy(job, "hands_on")) * A_MINUTE
    assert job.waiting == job.end - job.begin - job.hands_on > timedelta()
    once, each = (float(np.ravel(q.magnitude)[0]) for q in hands_on(long))
    assert 0 <= job.hands_on / A_MINUTE - (once + plates * each) <= len(work)
    more = of(planned(changed.changed(plate_count=str(plates + 1))))
    less = of(planned(changed))
    assert more.hands_on > less.hands_on


def test_what_the_shop_says_of_a_time_is_taken(plan):
    # three plates, a quarter of an hour longer each
    slow = put(plan, retouching_time=float(term("retouching_time").start) + 15)
    assert (of(slow).hands_on - of(plan).hands_on) / A_MINUTE == 45
    assert float(np.ravel((hands_on(slow)[1] - hands_on(plan)[1]).magnitude)[0]) == pytest.approx(
        15
    )


def test_the_work_has_a_range_where_its_times_are_guesses(plan):
    once, each = hands_on(plan)
    assert np.ptp(each.magnitude) > 30 and np.ptp(once.magnitude) > 5
    assert {word.status for word in WORDS} == {"assumed", "common practice"}


# ---- closing time, midnight


def test_a_job_that_fits_needs_no_word(plan):
    assert of(plan, opens=time(5), closes=time(23, 59)).warnings == ()


def test_an_etch_never_passes_closing_time_unattended(plan):
    bath = first(of(plan), "In the bath").begin
    out = max(e.end for e in of(plan).entries if e.what.startswith("Lift and gauge: done"))
    late = out + timedelta(minutes=30)  # the etch may take longer than its middle
    for closes in (out - A_MINUTE, late, bath + A_MINUTE):
        job = of(plan, opens=time(6), closes=closes.time())
        said = next(w for w in job.warnings if w.startswith("The etch"))
        assert "must never run unattended" in said and f"{out:%H:%M}" in said
        painted = first(job, "Stop out backs and edges, 2")
        assert f"stop at {painted.end:%H:%M} after “{painted.what}”" in said
        assert "overnight to dry" in said and "tomorrow, 2027-03-11, at 06:00" in said
        warm = lasts(job, "Warm")
        assert f"put the plates in at 06:{warm:02.0f}" in said


def test_an_etch_longer_than_a_day_of_the_shop(plan):
    said = " ".join(of(put(plan, etch_time=900.0, bench_time=940.0), opens=time(6)).warnings)
    assert "lift, rinse and dry the plates before closing time" in said


def test_it_stops_where_the_work_can_rest(plan):
    touch = first(of(plan), "Look over")
    closes = (touch.begin + A_MINUTE).time()  # developed, not yet touched out
    said = of(plan, opens=time(5), closes=closes).warnings
    exposed = first(of(plan), "Expose")
    assert (
        f"stop at {exposed.end:%H:%M} after “{exposed.what}”, leave it overnight in the dark"
        in said[0]
    )
    assert "go on tomorrow, 2027-03-11, at 05:00 with “Develop" in said[0]
    assert "must never run unattended" in said[1]


def test_what_is_done_beside_is_no_place_to_go_on(plan):
    second = first(of(plan), "Stop out backs and edges, 2")
    said = of(plan, opens=time(5), closes=(second.begin + A_MINUTE).time()).warnings[0]
    assert said.endswith(f"at 05:00 with “{second.what}”.")


def test_outside_opening_time_and_over_midnight(plan):
    job = of(plan, "2027-03-10 17:00")
    text = " ".join(job.warnings)
    assert f"past midnight, to {job.end:%Y-%m-%d %H:%M}" in text  # London keeps UTC in winter
    assert job.end.date() == datetime(2027, 3, 11).date()
    assert job.clock(job.begin) == "17:00" and job.clock(job.end).startswith("2027-03-11 ")
    night = of(plan, "2027-03-10 03:00")
    assert "begins at 03:00, outside opening time, 08:00 to 17:30" in night.warnings[0]
    evening = of(plan, "2027-03-10 21:00")
    assert "begin tomorrow, 2027-03-11, at 08:00" in " ".join(evening.warnings)


# ---- the clocks change: the days are facts of the tz database


def test_three_hours_over_the_spring_change(plan):
    start = read_start("2027-03-14 01:30", NEW_YORK)
    assert start.astimezone(UTC) == datetime(2027, 3, 14, 6, 30, tzinfo=UTC)
    job = day(plan, start, opens=OPENS, closes=CLOSES)
    assert job.clock(start.astimezone(UTC) + timedelta(hours=3)) == "05:30"
    assert any(w.startswith("The clocks change") for w in job.warnings)


@pytest.mark.parametrize(
    ("zone", "start", "began"),
    [
        (LONDON, "2027-03-28 00:15", datetime(2027, 3, 28, 0, 15, tzinfo=UTC)),
        (NEW_YORK, "2027-03-14 00:15", datetime(2027, 3, 14, 5, 15, tzinfo=UTC)),
        (LONDON, "2027-10-31 00:15", datetime(2027, 10, 30, 23, 15, tzinfo=UTC)),
    ],
)
def test_a_change_of_the_clocks_moves_no_instant(plan, zone, start, began):
    usual, changed = of(plan), of(plan, start, zone)
    assert changed.begin == began
    assert [e.begin - began for e in changed.entries] == [
        e.begin - usual.begin for e in usual.entries
    ]
    assert [c.at - began for c in changed.calls] == [c.at - usual.begin for c in usual.calls]
    wall = changed.end.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    moved = wall - datetime.fromisoformat(start) - (changed.end - changed.begin)
    assert moved == timedelta(hours=1 if "-03-" in start else -1)


# ---- two jobs


def windows(found, kind):
    """The minutes of the day, in UTC, that the sentences of one sort name."""
    minutes = set()
    for sentence in found:
        if sentence.startswith(kind):
            ends = re.search(r"from (\d\d:\d\d) to (\d\d:\d\d): “.*” and “.*” at once\.$", sentence)
            at, end = (datetime.fromisoformat(f"2027-01-12 {t}+00:00") for t in ends.groups())
            while at < end:
                minutes.add(at)
                at += A_MINUTE
    return minutes


@pytest.mark.parametrize("hour", ["05:00", "06:40", "09:10"])
def test_two_jobs_clash_where_minutes_are_shared(plan, hour):
    one, other = of(plan, "2027-01-12 05:00"), of(plan, f"2027-01-12 {hour}")
    found = clashes(one, other)
    for kind, wants in (("Tray", "tray_busy"), ("Hands", "hands_on")):
        shared = busy(one, wants) & busy(other, wants)
        assert windows(found, kind) == shared
    assert any(sentence.startswith("Hands busy") for sentence in found)


def test_jobs_of_different_days_do_not_clash(plan):
    assert clashes(of(plan), of(plan, "2027-03-11 06:00")) == []


# ---- what cannot be meant


def refusal(function, *arguments, **more):
    with pytest.raises(BadInput) as fault:
        function(*arguments, **more)
    sentence = str(fault.value)
    assert sentence.endswith(".") and "\n" not in sentence
    assert not re.search(r"Error|None|nan|ZoneInfo", sentence)
    return sentence


@pytest.mark.parametrize(
    "text",
    ["", "tomorrow", "26.3.2027 8.30", "2027-03-26", "08:30", "2027-03-26 8", "2027-3-26 08:30 pm",
     "2027-02-29 08:30", "2027-03-26 24:00", "2027-03-26 08:60", "2027-13-01 08:30", "27-03-26 08:30",
     "٢٠٢٧-03-26 08:30", "0001-01-01 00:00"],
)  # fmt: skip
def test_a_start_that_is_none(text):
    sentence = refusal(read_start, text, LONDON)
    assert sentence.startswith("start: ")
    assert sentence.endswith("type a day and a time such as 2027-03-26 08:30.")


@pytest.mark.parametrize("text", ["2027-03-26 08:30", " 2027-3-26  8.30 ", "2027-03-26T08:30"])
def test_a_start_as_people_type_it(text):
    assert read_start(text, LONDON) == datetime(2027, 3, 26, 8, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "zone", ["", "Nowhere/Land", "Europe", "../etc/passwd", "/etc/localtime", "a\0b", "BST"]
)
def test_a_zone_that_is_none(zone):
    sentence = refusal(read_start, "2027-03-26 08:30", zone)
    assert sentence.startswith("time zone: ") and "type one such as Europe/London" in sentence


def test_a_time_that_the_clocks_leave_out_is_asked_about():
    sentence = refusal(read_start, "2027-03-28 01:30", LONDON)
    assert "leave out 2027-03-28 01:30" in sentence
    for offered, utc in (("00:30", 0), ("02:30", 1)):  # GMT before, one hour more after
        assert offered in sentence
        assert read_start(f"2027-03-28 {offered}", LONDON) == datetime(
            2027, 3, 28, utc, 30, tzinfo=UTC
        )


def test_a_time_that_comes_twice_is_asked_about():
    sentence = refusal(read_start, "2027-11-07 01:30", NEW_YORK)
    assert "2027-11-07 01:30 first or 2027-11-07 01:30 second" in sentence
    # 2027-11-07: EDT, four hours behind, until 06:00 UTC; then EST, five
    for which, hour in (("first", 5), ("second", 6)):
        found = read_start(f"2027-11-07 01:30 {which}", NEW_YORK)
        assert found.astimezone(UTC) == datetime(2027, 11, 7, hour, 30, tzinfo=UTC)


def test_the_second_time_is_said(plan):
    job = of(plan, "2027-11-06 23:00", NEW_YORK)
    assert job.clock(datetime(2027, 11, 7, 5, 30, tzinfo=UTC)) == "2027-11-07 01:30"
    assert (
        job.clock(datetime(2027, 11, 7, 6, 30, tzinfo=UTC)) == "2027-11-07 01:30 (the second time)"
    )


def test_hours_that_cannot_be_meant(plan):
    assert "type a later one" in refusal(of, plan, opens=time(9), closes=time(9))
    start = datetime(2027, 3, 26, 8, 30)
    assert "time zone is missing" in refusal(day, plan, start, opens=OPENS, closes=CLOSES)
    assert read_clock("17.30", "closing time") == CLOSES
    for text in ("", "25:00", "17:60", "half past five"):
        assert "closing time: " in refusal(read_clock, text, "closing time")


@pytest.mark.parametrize("name", ["etch_time", "exposure_time", "warm_up_time"])
def test_a_job_without_an_end_is_refused(plan, name):
    endless = put(plan, **{name: np.inf})
    if name == "warm_up_time":
        assert any("never warms" in w for w in of(endless).warnings)
    else:
        assert "has no end" in refusal(of, endless)
