"""The day as a calendar's file: read back, its alarms stand at instants worked out in UTC."""

from datetime import UTC, datetime, time, timedelta
from math import ceil, floor

import pytest
from icalendar import Calendar

from etchcalc.job.calendar_file import calendar_text
from etchcalc.job.clocks import read_start
from etchcalc.job.plan import planned
from etchcalc.job.schedule import day

STAMP = datetime(2027, 1, 2, 3, 4, 5, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def of(plan, start="2027-03-26 08:30", zone="Europe/London"):
    return day(plan, read_start(start, zone), opens=time(8), closes=time(17, 30))


def events(job, name="tide-table"):
    return Calendar.from_ical(calendar_text(job, name=name, stamp=STAMP)).walk("VEVENT")


def alarms(found):
    """Instant and text of every alarm, in UTC, as a calendar works them out."""
    return sorted(
        (event["DTSTART"].dt.astimezone(UTC) + alarm["TRIGGER"].dt, str(alarm["DESCRIPTION"]))
        for event in found
        for alarm in event.walk("VALARM")
    )


def expected(plan, began):
    """Instants of tilts and lifts, from the plan's figures and the usual times, minute by minute."""
    plates = 3
    lamp, soda = (plan.number(n) / 60 for n in ("exposure_time", "developing_time"))
    into = 30 + plates * (10 + 5) + ceil(plates * (3 + lamp)) + ceil(plates * (3 + soda))
    into += plates * 15 + 2 * (plates * 5 + 60)
    done, gauge = round(plan.number("etch_time")), floor(plan.number("gauge_time"))
    out = {gauge: 5, done: 5} | dict.fromkeys(range(60, done, 60), 3)
    found, clock, since = [], began + into * MINUTE, 0
    for bath in range(1, done + 1):
        clock, since = clock + MINUTE, since + 1
        if bath in out:
            found.append((clock, "lift"))
            clock, since = clock + out[bath] * MINUTE, 0
        elif since % 15 == 0:
            found.append((clock, "tilt"))
    return found


@pytest.mark.parametrize(
    ("zone", "start", "began"),
    [
        # an ordinary day; then the clocks go forward: at 01:00 UTC in London, 07:00 UTC in New York
        ("Europe/London", "2027-01-12 08:30", datetime(2027, 1, 12, 8, 30, tzinfo=UTC)),
        ("Europe/London", "2027-03-27 20:00", datetime(2027, 3, 27, 20, 0, tzinfo=UTC)),
        ("America/New_York", "2027-03-13 21:00", datetime(2027, 3, 14, 2, 0, tzinfo=UTC)),
    ],
)
def test_the_alarms_stand_at_the_right_instants(plan, zone, start, began):
    wanted = expected(plan, began)
    found = alarms(events(of(plan, start, zone)))
    assert [at for at, _ in found] == [at for at, _ in wanted]
    assert [not what.startswith("Tilt") for _, what in found] == [k == "lift" for _, k in wanted]
    changes = {"2027-03-27": (28, 1), "2027-03-13": (14, 7)}
    if start[:10] in changes:  # the etch lies across the change
        date, hour = changes[start[:10]]
        change = datetime(2027, 3, date, hour, tzinfo=UTC)
        assert began < change < found[-1][0]


def test_begin_and_end_are_read_back(plan):
    job = of(plan, "2027-03-28 00:15")
    read = [(e["DTSTART"].dt, e["DTEND"].dt) for e in events(job)]
    assert read == [(e.begin, e.end) for e in job.entries]
    assert all(at.utcoffset() == timedelta() for pair in read for at in pair)


def test_names_are_stable_and_no_two_alike(plan):
    names = [str(e["UID"]) for e in events(of(plan))]
    assert len(set(names)) == len(names)
    later = [str(e["UID"]) for e in events(of(plan, "2027-04-01 09:00"))]
    assert later == names  # the day moved, its events are the same
    other = {str(e["UID"]) for e in events(of(plan), "another")}
    assert not other & set(names)
    twice = [calendar_text(of(plan), name="tide-table", stamp=STAMP) for _ in range(2)]
    assert twice[0] == twice[1]
    assert {e["DTSTAMP"].dt for e in events(of(plan))} == {STAMP}


HOSTILE = "Scale; 1,2 \\ “new”\nEND:VEVENT\r\nBEGIN:VALARM\x07 \u2028 €"


def test_a_title_of_the_client_s_cannot_break_the_file(commission):
    plain, named = (
        of(planned(commission.changed(title=title))) for title in ("Tide table", HOSTILE)
    )
    content = calendar_text(named, name="x", stamp=STAMP)
    read = events(named)
    assert len(read) == len(events(plain)) == len(plain.entries)
    assert len(alarms(read)) == len(plain.calls)
    title = "Scale; 1,2 \\ “new” END:VEVENT BEGIN:VALARM €"
    assert str(read[0]["SUMMARY"]) == f"{title}: {plain.entries[0].what}"
    # RFC 5545, 3.1: lines end in CRLF and hold at most 75 octets
    assert content.endswith(b"\r\n") and content.count(b"\n") == content.count(b"\r\n")
    assert max(map(len, content.split(b"\r\n"))) <= 75
    assert not set(content) & (set(range(32)) - {10, 13})


def test_waiting_leaves_the_day_free(plan):
    job = of(plan)
    assert [str(e["TRANSP"]) for e in events(job)] == [
        "OPAQUE" if e.hands_on else "TRANSPARENT" for e in job.entries
    ]
