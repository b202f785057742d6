"""The running etch on disk and in time: nothing lost between two writers, clocks by hand."""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.job import forecast, running
from etchcalc.job.clocks import read_start
from etchcalc.job.commission_file import parsed
from etchcalc.job.forecast import depths_at, standing
from etchcalc.job.plan import planned
from etchcalc.job.running import NAME, NOTHING, Event, Running
from etchcalc.job.schedule import DONE as GAUGE_DONE
from etchcalc.job.schedule import day

LONDON = ZoneInfo("Europe/London")
PAUSE = timedelta(minutes=3)


def at(hour, minute=0, second=0, day=2):
    return datetime(2026, 3, day, hour, minute, second, tzinfo=UTC)


def load(*events):
    return Running("a load", (Event("started", at(13, 5)), *events))


# ---- the file


def test_what_is_noted_is_read_again_the_same(tmp_path):
    wrote, told = running.note(tmp_path, Event("started", at(13, 5), {"readings": "2"}))
    assert told == "" and wrote.version == 1
    wrote, _ = running.note(tmp_path, Event("watered", at(13, 40), {"water": "48 mL"}), known=wrote)
    assert running.opened(tmp_path) == (wrote, "")
    assert wrote.version == 2 and wrote.started == at(13, 5) and wrote.readings_before == 2
    assert [e.kind for e in wrote.held] == ["started", "watered"]


def test_a_start_keeps_the_zone_of_the_shop(tmp_path):
    summer = datetime(2026, 7, 1, 14, 5, tzinfo=LONDON)
    running.note(tmp_path, Event("started", summer))
    said = json.loads((tmp_path / NAME).read_text(encoding="utf-8"))["events"][0]["at"]
    assert said == "2026-07-01T14:05:00+01:00"
    assert running.opened(tmp_path)[0].started == datetime(2026, 7, 1, 13, 5, tzinfo=UTC)


def test_many_writers_at_once_lose_nothing(tmp_path):
    running.note(tmp_path, Event("started", at(13)))
    events = [
        Event("tilted", at(14) + timedelta(milliseconds=i), {"phone": str(i)}) for i in range(24)
    ]
    with ThreadPoolExecutor(8) as phones:
        list(phones.map(lambda e: running.note(tmp_path, e), events))
    found, _ = running.opened(tmp_path)
    assert {e.id for e in found.events} == {e.id for e in (Event("started", at(13)), *events)}
    assert found.version == 25


def test_what_a_page_knows_goes_in_again_where_the_file_lost_it(tmp_path):
    known, _ = running.note(tmp_path, Event("started", at(13)))
    known, _ = running.note(tmp_path, Event("tilted", at(13, 15)), known=known)
    (tmp_path / NAME).unlink()
    found, _ = running.note(tmp_path, Event("looked", at(14)), known=known)
    assert [e.kind for e in found.held] == ["started", "tilted", "looked"]


instants = st.integers(0, 3_600_000).map(lambda ms: at(13) + timedelta(milliseconds=ms))
noted = st.lists(st.builds(Event, st.sampled_from(running.DONE[:-1]), instants), max_size=8)


@given(noted, noted)
def test_a_union_does_not_hang_on_who_writes_first(mine, theirs):
    one, other = NOTHING.joined(*mine).joined(*theirs), NOTHING.joined(*theirs).joined(*mine)
    assert {e.id for e in one.events} == {e.id for e in other.events}
    assert one.joined(*theirs, *mine) == one, "nothing goes in twice"
    assert one.minutes_at(at(15), PAUSE) == other.minutes_at(at(15), PAUSE)


def test_undo_takes_back_the_last_and_twice_is_once():
    state = load(Event("tilted", at(13, 20)))
    last = state.held[-1]
    once = state.joined(running.undoing(last, at(13, 21)))
    assert once.last("tilted") is None and once.started == at(13, 5)
    assert once.joined(running.undoing(last, at(13, 22))).events == once.events
    assert len(once.events) == 3, "nothing is taken out of the file"


GOOD = '{"schema":1,"name":"a","version":1,"events":[{"id":"x","kind":"tilted","at":"AT"}]}'


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b"[" * 5000,
        b'{"schema":1,"name":"a","version":1}',
        GOOD.replace("AT", "2026-03-02T13:00:00").encode(),  # no zone
        GOOD.replace("AT", "yesterday").encode(),
        GOOD.replace("tilted", "danced").replace("AT", "2026-03-02T13:00:00Z").encode(),
    ],
)
def test_a_damaged_file_is_set_aside_whole_with_one_sentence(tmp_path, content):
    (tmp_path / NAME).write_bytes(content)
    state, told = running.opened(tmp_path)
    assert state == NOTHING and "running-damaged.json" in told
    assert (tmp_path / "running-damaged.json").read_bytes() == content
    (tmp_path / NAME).write_bytes(content)
    assert "running-damaged-2.json" in running.opened(tmp_path)[1], "over no other"


def test_a_sound_file_is_not_taken_for_damaged(tmp_path):
    (tmp_path / NAME).write_text(GOOD.replace("AT", "2026-03-02T13:00:00Z"), encoding="utf-8")
    state, told = running.opened(tmp_path)
    assert told == "" and state.last("tilted").at == at(13)


def test_a_file_of_a_newer_version_stays_where_it_is(tmp_path):
    newer = running.SCHEMA + 1
    text = f'{{"schema": {newer}, "name": "a", "version": 1, "events": []}}'
    (tmp_path / NAME).write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="newer version"):
        running.note(tmp_path, Event("tilted", at(13)))
    assert (tmp_path / NAME).read_text(encoding="utf-8") == text


def test_another_load_keeps_the_first_beside_it(tmp_path):
    known, _ = running.note(tmp_path, Event("started", at(13)))
    fresh = running.another(tmp_path, at(17))
    assert fresh.started is None and running.opened(tmp_path)[0] == fresh
    assert (tmp_path / "running-2026-03-02-1700.json").is_file()
    # a page that still knows the first load does not bring it back
    found, _ = running.note(tmp_path, Event("started", at(17, 5)), known=known)
    assert found.started == at(17, 5) and len(found.events) == 1


# ---- minutes in the bath, by hand


@pytest.mark.parametrize(
    ("events", "minutes"),
    [
        ([], 60.0),
        ([Event("looked", at(13, 30))], 57.0),
        # two phones press for one look: its pause counts once
        ([Event("looked", at(13, 30)), Event("looked", at(13, 30, 1))], 57.0 - 1 / 60),
        ([Event("gauged", at(13, 30)), Event("looked", at(13, 50))], 54.0),
        ([Event("out", at(13, 30)), Event("in", at(13, 41))], 49.0),
        # what was measured counts instead of the usual pause, the look noted after it too
        ([Event("out", at(13, 30)), Event("gauged", at(13, 32)), Event("in", at(13, 41))], 49.0),
        ([Event("out", at(13, 30)), Event("in", at(13, 41)), Event("looked", at(13, 42))], 49.0),
        ([Event("out", at(13, 55))], 50.0),  # out still
        ([Event("stopped", at(13, 55))], 50.0),  # to be painted: out still
        ([Event("stopped", at(13, 30)), Event("in", at(13, 55))], 35.0),
        ([Event("out", at(13, 28)), Event("stopped", at(13, 30)), Event("in", at(13, 55))], 33.0),
        (
            [Event("stopped", at(13, 30)), Event("stopped", at(13, 31)), Event("in", at(13, 55))],
            35.0,
        ),
        ([Event("looked", at(14, 4))], 59.0),  # a pause that is going on
        ([Event("ended", at(13, 45))], 40.0),
    ],
)
def test_minutes_in_the_bath(events, minutes):
    assert load(*events).minutes_at(at(14, 5), PAUSE) == pytest.approx(minutes)


def test_no_minutes_before_the_plates_are_in():
    assert NOTHING.minutes_at(at(14), PAUSE) == 0
    assert load().minutes_at(at(13), PAUSE) == 0


# ---- clocks


def test_a_typed_clock_is_the_last_time_it_showed_that():
    now = at(14)
    assert running.clock_before("13:05", now, UTC) == at(13, 5)
    late = at(0, 10, day=3)
    assert running.clock_before("23:50", late, UTC) == at(23, 50)
    # in autumn 01:30 comes twice in London: at 00:30 and 01:30 of universal time (tz database)
    autumn = datetime(2026, 10, 25, 1, 10, tzinfo=UTC)
    assert running.clock_before("1:30", autumn, LONDON) == autumn.replace(hour=0, minute=30)
    assert running.clock_before("1:30", autumn.replace(hour=2), LONDON) == autumn.replace(minute=30)


@pytest.mark.parametrize("text", ["14:01", "1:59", "25:00", "noon", "13:05:10"])
def test_a_clock_that_cannot_be_meant_gets_a_sentence(text):
    with pytest.raises(BadInput, match="time: "):
        running.clock_before(text, at(14), UTC)


def test_a_time_that_the_clocks_leave_out_is_refused():
    spring = datetime(2026, 3, 29, 2, 0, tzinfo=UTC)  # 01:30 is not shown that day in London
    with pytest.raises(BadInput, match="time: "):
        running.clock_before("01:30", spring, LONDON)


def test_the_clock_on_the_wall():
    now = at(23, 50)
    assert running.on_the_wall(at(23, 59, 59), now, UTC) == "23:59"
    assert running.on_the_wall(at(23, 59, 1), now, UTC, later=True) == "tomorrow 00:00"
    assert running.on_the_wall(at(2, 10, day=3), now, UTC) == "tomorrow 02:10"
    assert running.on_the_wall(at(2, 10, day=5), now, UTC) == "2026-03-05 02:10"
    assert running.on_the_wall(at(23, day=1), now, UTC) == "yesterday 23:00"
    summer = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
    assert running.on_the_wall(summer, summer, LONDON) == "13:00"
    twice = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert running.on_the_wall(twice, twice, LONDON) == "01:30 (the second time)"


# ---- how it stands


def test_before_the_plates_are_in_nothing_is_due(plan):
    found = standing(plan, NOTHING, at(14))
    assert (found.lift, found.tilt_by, found.look_by, found.next_instant) == (None,) * 4
    assert found.due == {} and found.minutes == 0 and found.water.magnitude == 0


def test_the_depth_now_is_the_ordered_one_at_the_plan_s_own_times(plan):
    done = plan.figures("etch_time")["etch_time"]
    for i, minutes in ((0, done.high), (1, done.value), (2, done.low)):
        assert depths_at(plan, minutes.magnitude)[i] == pytest.approx(
            plan.number("depth"), rel=2e-3
        )
    assert depths_at(plan, 0.0) == (0, 0, 0)


def test_the_clocks_are_the_plan_s_times_from_the_start(plan):
    found = standing(plan, load(), at(13, 10))
    done = plan.figures("etch_time")["etch_time"]
    # a look each hour, of three minutes: none in the first, two in the longest
    assert done.low.magnitude < 60 and 120 < done.high.magnitude < 180
    assert found.looks == 2
    for instant, minutes in (
        (found.lift, plan.number("gauge_time")),
        (found.done_from, done.low.magnitude),
        (found.done_to, done.high.magnitude + 2 * 3),
        (found.look_by, plan.number("look_interval")),
        (found.tilt_by, plan.number("tilt_interval")),
    ):
        assert abs(instant - at(13, 5) - timedelta(minutes=minutes)) <= timedelta(seconds=1)
    assert found.next_instant == min(found.lift, found.tilt_by, found.look_by)


def test_a_look_moves_the_clocks_on_by_its_pause_at_once_and_then_they_stand(plan):
    before = standing(plan, load(), at(13, 30)).lift
    looked = load(Event("looked", at(13, 30)))
    for minute in (30, 31, 33, 40):
        lift = standing(plan, looked, at(13, minute)).lift
        assert abs(lift - before - PAUSE) <= timedelta(seconds=1)


def test_water_is_the_evaporation_of_the_time_since_it_was_added(plan):
    each = plan.number("evaporation_rate")  # mL/h
    state = load(Event("watered", at(14, 5)))
    found = standing(plan, state, at(14, 35)).water
    assert found.to("mL").magnitude == pytest.approx(each / 2)
    assert standing(plan, load(), at(15, 5)).water.to("mL").magnitude == pytest.approx(2 * each)


def test_what_is_due_keeps_its_mark_until_it_is_done(plan):
    every = plan.number("tilt_interval")
    just = at(13, 5) + timedelta(minutes=every)
    assert "tilt" not in standing(plan, load(), just - timedelta(seconds=2)).due
    first = standing(plan, load(), just + timedelta(seconds=1)).due
    assert first["tilt"] == standing(plan, load(), just + timedelta(minutes=2)).due["tilt"]
    tilted = load(Event("tilted", just + timedelta(minutes=2)))
    assert "tilt" not in standing(plan, tilted, just + timedelta(minutes=3)).due
    out = load(Event("out", just))
    assert standing(plan, out, just + timedelta(minutes=1)).due == {}, "out of the bath"


def test_a_tray_rocked_by_motor_asks_for_no_tilting(commission):
    rocked = planned(commission.changed(moved="rocked by motor"))
    assert standing(rocked, load(), at(18)).tilt_by is None


def test_a_place_that_cleared_late_is_as_deep_as_the_others_were(commission):
    late = planned(commission.changed(cleared_late="20 min"))
    found = standing(late, load(), at(14, 5))
    others_then = depths_at(late, 40.0)[1]
    assert found.late_depth.to("mm").magnitude == pytest.approx(others_then)
    assert (found.depth - found.late_depth).to("mm").magnitude == pytest.approx(
        found.late_short.to("mm").magnitude
    )
    assert standing(late, load(), at(13, 10)).late_depth.magnitude == 0, "not begun yet"


def test_readings_of_this_load_tell_when_it_is_enough(commission):
    deep = {"reading_time": "60 min", "reading_depth": "0.16 mm"}  # 0.15 mm ordered
    gauged = planned(commission.with_row("reading", deep))
    assert standing(gauged, load(), at(14, 10)).enough
    before = Event("started", at(13, 5), {"readings": "1"})
    other = replace(load(), events=(before,))
    assert not standing(gauged, other, at(14, 10)).enough, "gauged on the load before"


def test_gauged_later_than_planned_and_shallow_the_next_lift_is_still_to_come(commission):
    shallow = {"reading_time": "120 min", "reading_depth": "0.10 mm"}
    gauged = planned(commission.with_row("reading", shallow))
    state = load(Event("gauged", at(15, 5), shallow))
    found = standing(gauged, state, at(15, 6))
    assert not found.enough and found.lift > at(15, 6)


def test_what_takes_too_long_has_no_clock(commission, monkeypatch):
    cold = planned(commission.changed(temperature="5 °C", strength="50 g/L", depth="1.4 mm"))
    assert standing(cold, load(), at(14)).lift > at(14) + timedelta(days=5)
    monkeypatch.setattr(forecast, "_NEVER", 60 * 24.0)
    found = standing(cold, load(), at(14))
    assert found.lift is found.done_from is found.done_to is None


def test_the_bath_s_temperature_is_that_of_now(commission):
    cooling = planned(commission.changed(plates_go_in="as it cools"))
    first, later = (standing(cooling, load(), at(h, 6)).temperature for h in (13, 16))
    assert first.magnitude == pytest.approx(42, abs=0.5) and later < first


# ---- looks that are still to come


@pytest.fixture(scope="module")
def looked_often(order):
    """Plans with looks before the first lift, of several lengths."""
    said = (("10 min", "3 min"), ("7 min", "12 min"), ("15 min", "0 min"))
    return [
        planned(parsed(f'{order}[tray]\nlook_interval = "{every}"\nlook_pause = "{pause}"\n'))
        for every, pause in said
    ]


def test_looks_to_come_are_counted_in_the_lift(looked_often):
    plan = looked_often[0]
    lift = plan.number("gauge_time")
    assert 30 < lift < 40  # so three looks of three minutes come before it
    found = standing(plan, load(), at(13, 5))
    assert abs(found.lift - at(13, 5) - timedelta(minutes=lift + 9)) <= timedelta(seconds=1)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6))
def test_looks_taken_in_time_leave_the_lift_where_it_was(looked_often, which, shares):
    plan, state = looked_often[which], load()
    first = standing(plan, state, at(13, 5))
    for share in sorted(shares):
        now = at(13, 5) + share * (first.lift - at(13, 5))
        while (look := standing(plan, state, now).look_by) and look <= now:
            # as the page would: pressed at the instant at which it was due
            due = standing(plan, state, look - timedelta(seconds=1)).look_by
            state = state.joined(Event("looked", due))
        found = standing(plan, state, now)
        assert abs(found.lift - first.lift) <= timedelta(seconds=5)


def test_a_look_left_out_never_lifts_the_plates_too_late(looked_often):
    plan = looked_often[1]
    deep_enough = at(13, 5) + timedelta(minutes=plan.number("gauge_time"), seconds=2)
    assert standing(plan, load(), deep_enough).lift <= deep_enough
    earlier = deep_enough - timedelta(minutes=1)
    assert standing(plan, load(), earlier).lift > earlier


def test_what_is_past_stays_where_it_was(looked_often):
    plan, late = looked_often[0], at(16)
    done = plan.figures("etch_time")["etch_time"].low.to("min").magnitude
    state = load(Event("out", at(14, 55)), Event("in", at(14, 56)))  # an hour and fifty minutes in
    found = standing(plan, state, late)
    in_bath = found.minutes
    assert done < in_bath
    assert abs(found.done_from - late + timedelta(minutes=in_bath - done)) <= timedelta(seconds=1)


def test_a_look_taken_late_counts_once(looked_often):
    plan, late = looked_often[0], at(13, 35)  # twenty minutes late
    before = standing(plan, load(), late)
    after = standing(plan, load(Event("looked", late)), late)
    assert abs(before.lift - after.lift) <= timedelta(seconds=1)


# ---- a plate with two depths


TWO = {"depth": "0.2 mm", "second_line": "0.8 mm", "second_depth": "0.3 mm"}


@pytest.fixture(scope="module")
def two(commission):
    return planned(commission.changed(**TWO))


def near(instant, minutes):
    return abs(instant - at(13, 5) - timedelta(minutes=minutes)) <= timedelta(seconds=1)


def test_an_old_file_without_a_stopping_out_opens_and_goes_on(tmp_path):
    (tmp_path / NAME).write_text(GOOD.replace("AT", "2026-03-02T13:00:00Z"), encoding="utf-8")
    assert running.opened(tmp_path)[0].stopped is None
    running.note(tmp_path, Event("stopped", at(14)))
    found, told = running.opened(tmp_path)
    assert told == "" and found.stopped == at(14) and found.last("tilted").at == at(13)


def test_one_depth_has_nothing_to_stop_out(plan):
    found = standing(plan, load(), at(14))
    assert found.stop is found.last is found.stopped is found.deeper is None


def test_both_lifts_are_the_plan_s_times(two):
    found = standing(two, load(), at(13, 10))
    fine, deep = (two.figures(n)[n] for n in ("etch_time", "second_time"))
    low, middle, high = (q.to("min").magnitude for q in (fine.low, fine.value, fine.high))
    # by hand: a look of three minutes each hour in the bath
    assert low < 60 < middle < 120 < high < 180
    assert near(found.stop.low, low) and near(found.stop.at, middle + 3)
    assert near(found.stop.high, high + 6)
    # three plates of five minutes' paint, five to gauge, half an hour to dry as by default
    out = 3 * 5 + 5 + two.number("coat_interval")
    last = deep.value.to("min").magnitude
    assert last - middle < 60, "no look of its own: it was looked at when it was stopped out"
    assert near(found.last.at, last + 3 + out)
    assert found.stop.at < found.last.at and found.last.low < found.last.at < found.last.high


def test_the_last_lift_is_that_of_the_day_sheet(commission):
    """Laid out by another way: minute by minute, each work by itself, in whole minutes."""
    plan = planned(
        commission.changed(second_line="0.8 mm", second_depth="0.3 mm", look_interval="600 min")
    )
    laid = day(plan, read_start("2027-03-10 06:00", "UTC"), opens=time(5), closes=time(23))
    begin = next(e.begin for e in laid.entries if e.what.startswith("In the bath"))
    lifts = [c.at - begin for c in laid.calls if c.what == GAUGE_DONE]
    found = standing(plan, load(), at(13, 5))
    gauging = timedelta(minutes=5)  # the first one, which the page counts when it is pressed
    for lift, told in zip((found.stop.at, found.last.at), lifts, strict=True):
        assert abs(lift - at(13, 5) + gauging - told) <= timedelta(minutes=2)


def test_it_rings_for_each_of_the_two(two):
    state = load(Event("tilted", at(20)), Event("looked", at(13, 47)))
    stop = standing(two, state, at(13, 50)).stop.at
    before, after = (standing(two, state, stop + timedelta(seconds=s)).due for s in (-2, 2))
    assert "stop" not in before and after["stop"]
    stopped = state.joined(Event("stopped", stop), Event("in", stop + timedelta(minutes=50)))
    found = standing(two, stopped, stop + timedelta(minutes=51))
    assert "stop" not in found.due and "lift" not in found.due and found.stop is None
    at_last = standing(two, stopped, found.last.at + timedelta(seconds=2)).due
    assert at_last["lift"] not in (before.get("lift"), after.get("lift"), after["stop"])


def test_stopped_out_in_the_time_foretold_the_last_lift_stays(two):
    looked = Event("looked", at(14, 5))  # in time: an hour in the bath
    stop, last = (getattr(standing(two, load(looked), at(14, 10)), n).at for n in ("stop", "last"))
    out = timedelta(minutes=sum(forecast.stopping_out(two)))
    lifted = load(looked, Event("stopped", stop))
    for minutes in (0, 10, 30):
        found = standing(two, lifted, stop + timedelta(minutes=minutes))
        assert abs(found.last.at - last) <= timedelta(seconds=3)
        assert found.due == {} and found.out_since == found.stopped == stop
    back = lifted.joined(Event("in", stop + out))
    for minutes in (0, 20):
        found = standing(two, back, stop + out + timedelta(minutes=minutes))
        assert abs(found.last.at - last) <= timedelta(seconds=3)
        assert found.lift == found.last.at and found.stopped == stop
    longer = standing(two, lifted, stop + out + timedelta(minutes=15))
    assert abs(longer.last.at - last - timedelta(minutes=15)) <= timedelta(seconds=3)


def test_the_fine_lines_stay_as_deep_as_they_were_and_the_others_go_on(two):
    state = load(Event("stopped", at(14, 25)), Event("in", at(15, 0)))
    then, later = (standing(two, state, at(15, m)) for m in (1, 30))
    assert then.depth == later.depth and then.minutes < later.minutes
    assert then.depth.magnitude == pytest.approx(depths_at(two, 80.0)[1])
    assert then.deeper[0] < later.deeper[0]


@pytest.mark.parametrize("go_in", ["when it is warm", "as it cools"])
def test_the_deeper_lines_are_as_deep_as_ordered_at_the_plan_s_own_time(commission, go_in):
    said = {"second_line": "0.8 mm", "second_depth": "0.3 mm", "plates_go_in": go_in}
    plan = planned(commission.changed(**said))
    times = plan.figures("second_time")["second_time"]
    for i, time_to in ((0, times.high), (1, times.value), (2, times.low)):
        deep = depths_at(plan, time_to.to("min").magnitude, deeper=True)[i]
        assert deep == pytest.approx(0.3, rel=5e-3)
    through = [depths_at(plan, m, deeper=True)[1] for m in (0, 20, 60, 100)]
    assert through[0] == 0 and all(a < b for a, b in pairwise(through))


def test_gauged_deep_enough_the_fine_lines_are_to_be_stopped_out_at_once(commission):
    deep = {"reading_time": "60 min", "reading_depth": "0.16 mm"}  # 0.15 mm ordered
    said = commission.changed(second_line="0.8 mm", second_depth="0.3 mm")
    gauged = planned(said.with_row("reading", deep))
    state = load(Event("gauged", at(14, 5), deep))
    assert set(standing(gauged, state, at(14, 10)).due) == {"stop"}
    state = state.joined(Event("stopped", at(14, 11)), Event("in", at(14, 50)))
    found = standing(gauged, state, at(14, 51))
    assert not found.enough and found.lift == found.last.at > at(14, 51)


def test_undone_the_fine_lines_are_still_to_be_stopped_out(two):
    state = load(Event("looked", at(14, 5)), Event("stopped", at(14, 25)))
    undone = state.joined(running.undoing(state.held[-1], at(14, 26)))
    found = standing(two, undone, at(14, 26))
    assert found.stop and found.stopped is None and found.out_since is None
    assert found == standing(two, load(Event("looked", at(14, 5))), at(14, 26))
