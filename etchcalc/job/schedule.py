"""The job by the clock: what the hands do when, what waits meanwhile, when to look into the tray.

Laid out in UTC, so that an hour is an hour where the clocks change; `Day.clock` says what the
clock then shows. Every time is a whole minute: work and drying rounded up, the first lift down.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta
from itertools import count

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import MINUTE, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.answers import shown
from etchcalc.job.day_sheet import WARM, Batch, Call, Day, Entry, clashes, warnings
from etchcalc.job.plan import Plan

# What one plate takes by hand: the times that are added together, and how many times over.
EACH: dict[str, tuple[tuple[str, ...], str]] = {
    "blank": (("preparing_time",), ""),
    "coat": (("coating_time",), "coated_faces"),
    "expose": (("exposure_handling", "exposure_time"), "coated_faces"),
    "develop": (("developing_handling", "developing_time"), ""),
    "touch out": (("retouching_time",), ""),
    "stop out": (("painting_time",), "coats"),
    "thinners": (("back_cleaning_time",), ""),
    "fill": (("filling_time",), "fill_coats"),
    "rub down": (("rubbing_down_time",), ""),
    "lacquer": (("painting_time",), "lacquer_coats"),
    "cut": (("cutting_time",), ""),
}
AGAIN = "painting_time"  # a second depth: the fine lines are stopped out in between
LOOK = "Look: clear what does not etch"
GAUGE = "Lift and gauge: type the reading in, and go by the new time"
DONE = "Lift and gauge: done if as deep as ordered"
SET_UP = "Set up the tray and pour the bath"
_LONGEST = 7 * 24 * 60.0  # min; some of the ways may never be done
__all__ = ["Call", "Day", "Entry", "clashes", "day", "hands_on"]


@dataclass
class _Bench:
    """A day being laid out: one pair of hands, what is done, what can be done beside."""

    now: datetime
    entries: list[Entry] = field(default_factory=list)
    aside: list[tuple[str, str, int]] = field(default_factory=list)
    batches: list[Batch] = field(default_factory=list)
    late: timedelta = timedelta()  # how much later the etches so far may end
    warnings: list[str] = field(default_factory=list)

    def do(self, key: str, what: str, minutes: int, rests="", tray=False, call=False) -> None:
        """Lay down work of the hands; nothing of it where it takes no time."""
        end = self.now + timedelta(minutes=minutes)
        if minutes or call:
            calls = (Call(self.now, what),) if call else ()
            self.entries.append(Entry(key, what, self.now, end, True, tray, rests, calls))
        self.now = end

    def wait(self, key: str, what: str, minutes: int) -> None:
        """Lay down a wait, and in it what can be done beside."""
        end = self.now + timedelta(minutes=minutes)
        if minutes:
            self.entries.append(Entry(key, what, self.now, end, False, False))
        while self.aside and self.now + timedelta(minutes=self.aside[0][2]) <= end:
            self.do(*self.aside.pop(0), tray=True)
        self.now = end

    def finish_aside(self) -> None:
        """Lay down what found no wait to be done in."""
        while self.aside:
            self.do(*self.aside.pop(0), tray=True)


def day(plan: Plan, start: datetime, *, opens: time, closes: time) -> Day:
    """Return a job by the clock, done by one pair of hands in one tray.

    The bath is set up while paint dries, warmed so that it is warm when the paint is dry, and put
    away while a fill dries. Plates that the tray does not hold at once follow in batches; each is
    taken to etch as long as the first. A tilt counts as a moment, not as work of the hands.

    Parameters
    ----------
    plan : Plan
    start : datetime
        When the work begins, as `clocks.read_start` gives it.
    opens, closes : time
        Of the shop, by the clock on the wall.

    Raises
    ------
    BadInput
        A time of the plan has no end, or the shop closes before it opens.
    """
    if start.tzinfo is None:
        raise BadInput("start: its time zone is missing; type one such as Europe/London.")
    if not opens < closes:
        raise BadInput(
            f"closing time: {closes:%H:%M} is not after opening time, {opens:%H:%M}; type a later one, such as 17:30."
        )
    bench = _Bench(start.astimezone(UTC))
    _prepare(bench, plan)
    _etch_all(bench, plan)
    _finish(bench, plan)
    entries = tuple(sorted(bench.entries, key=lambda entry: (entry.begin, entry.end)))
    found = Day(plan.commission.title, start.tzinfo, entries)
    said = (*bench.warnings, *warnings(found, bench.batches, opens, closes))
    return replace(found, warnings=said)


def hands_on(plan: Plan) -> tuple:
    """Return the work by hand that a job takes once, and that each plate takes.

    Returns
    -------
    tuple of Quantity
        Times, scalars or arrays over the ways in which the job may run.
    """
    once = sum(_ways(plan, name) for name in ("setting_up_time", "clearing_time"))
    if plan.commission.words["bath_is"] == "new":
        once = once + _ways(plan, "mixing_time")
    stages = _stages(plan)
    lifts = [pause for lift in stages for _, _, pause in lift]
    each = sum(_each(plan, job) * _times(plan, job) for job in EACH)
    if stages[1:]:
        each = each + _ways(plan, AGAIN)
    return Quantity(once + len(_batches(plan)) * sum(lifts), MINUTE), Quantity(each, MINUTE)


def stopping_out(plan: Plan) -> tuple[int, int]:
    """Return the minutes in which the fine lines of all plates are stopped out, and in which that dries."""
    painting = _whole(AGAIN, _count(plan) * _ways(plan, AGAIN))
    return painting, _minutes(plan, "coat_interval")


# ---- how long things take


def _ways(plan: Plan, name: str):
    """Return minutes over the ways: of the plan, else of the usual start."""
    quantity = plan.book.values.get(name)
    if quantity is None:
        word = term(name)
        quantity = ranges.ways(word, word.quantity(float(word.start or 0)))
    return np.asarray(quantity.to(MINUTE).magnitude, dtype=float)


def _each(plan: Plan, job: str):
    return sum(_ways(plan, name) for name in EACH[job][0])


def _times(plan: Plan, job: str) -> int:
    """Return how many times over a job is done to a plate."""
    name = EACH[job][1]
    return _whole(name, plan.number(name)) if name else 1


def _whole(name: str, value, down: bool = False) -> int:
    """Return the middle of a value as a whole number, rounded up or down."""
    first = float(np.ravel(value)[0])
    if not np.isfinite(first):
        raise BadInput(
            f"day sheet: the {name.replace('_', ' ')} of this plan has no end; correct the commission "
            "until it has one, and ask for the day again."
        )
    return int(np.floor(first + 1e-9) if down else np.ceil(first - 1e-9))


def _minutes(plan: Plan, name: str, down: bool = False) -> int:
    return _whole(name, _ways(plan, name), down)


def _plates(number: int) -> str:
    return f"{number} plate" if number == 1 else f"{number} plates"


def _count(plan: Plan) -> int:
    return int(plan.number("plate_count"))


def _batches(plan: Plan) -> list[int]:
    """Return how many plates lie in the tray, batch by batch."""
    left, at_once = _count(plan), max(plan.plates_at_once, 1)
    return [min(at_once, left - done) for done in range(0, left, at_once)]


# ---- the job in its order


def _by_hand(bench: _Bench, plan: Plan, job: str, key: str, what: str, rests="", once=False):
    """Lay down one job on every plate, all its times over unless `once`."""
    over = 1 if once else _times(plan, job)
    bench.do(key, what, _whole(EACH[job][0][-1], _count(plan) * over * _each(plan, job)), rests)


def _coats(bench: _Bench, plan: Plan, job: str, key: str, do: str, dries: str) -> None:
    """Lay down coats or fills, each dried before the next."""
    times = _times(plan, job)
    for i in range(1, times + 1):
        of = f", {i} of {times}," if times > 1 else ""
        _by_hand(bench, plan, job, key, do.format(of=of).rstrip(","), "to dry", once=True)
        bench.wait(key, dries.format(of=of), _minutes(plan, "coat_interval"))


def _prepare(bench: _Bench, plan: Plan) -> None:
    """Lay down everything before the plates go into the bath."""
    plates = _plates(_count(plan))
    if plan.commission.words["bath_is"] == "new":
        what = "Mix the bath; it cools and clears meanwhile"
        bench.do("mix", what, _minutes(plan, "mixing_time"), "with the bath covered")
    bench.aside.append(("etch", SET_UP, _minutes(plan, "setting_up_time")))
    faces = " on both faces" if _times(plan, "coat") > 1 else ""
    _by_hand(bench, plan, "blank", "blank", f"Cut and clean {plates}")
    _by_hand(bench, plan, "coat", "coat", f"Coat {plates}{faces} with resist", "in the dark")
    light = f"Expose {plates}{faces}, {shown(plan, 'exposure_time', count=2)} a face"
    _by_hand(bench, plan, "expose", "expose", light, "in the dark")
    soda = f"Develop {plates}, {shown(plan, 'developing_time', count=2)} a plate"
    _by_hand(bench, plan, "develop", "develop", soda)
    glass = "Look over with a glass and touch out"
    _by_hand(bench, plan, "touch out", "develop", glass, "out of the light")
    paint = "Stop out backs and edges{of}", "Stop-out{of} dries"
    _coats(bench, plan, "stop out", "stop_out", *paint)
    bench.finish_aside()


def _etch_all(bench: _Bench, plan: Plan) -> None:
    """Lay down the etch, batch after batch; for a second depth, once more."""
    batches, stages = _batches(plan), _stages(plan)
    if plan.plates_at_once < 1:
        bench.warnings.append("The blank does not fit the tray: this day is that of a larger tray.")
    _warm(bench, plan)
    before, so_far = 0, 0.0
    for i, lifts in enumerate(stages):
        if i:
            painting, drying = stopping_out(plan)
            what = "Stop out the fine lines; the deeper ones go on"
            bench.do("etch", what, painting, "to dry")
            bench.wait("etch", "Stop-out dries", drying)
        late = _later(plan, "second_time" if i else "bench_time")
        for k, plates in enumerate(batches):
            said = f"Batch {k + 1} of {len(batches)}, {_plates(plates)}: " if batches[1:] else ""
            begin = bench.now
            _etch(bench, plan, said, before, lifts, plates)
            bench.late += timedelta(minutes=max(late - so_far, 0.0))
            bench.batches.append(Batch(begin, bench.now, bench.now + bench.late))
        before, so_far = lifts[-1][0], late


def _finish(bench: _Bench, plan: Plan) -> None:
    """Lay down everything after the last plate has left the bath."""
    bench.aside.append(("put_away", "Put the bath away", _minutes(plan, "clearing_time")))
    bench.wait(
        "strip", "Heater off; rinse; the resist comes off in soda", _minutes(plan, "stripping_soak")
    )
    thinners = "Take paint and glue off with thinners; wash"
    _by_hand(bench, plan, "thinners", "strip", thinners, "clean and dry")
    _coats(bench, plan, "fill", "fill", "Fill{of}", "Fill{of} dries")
    _by_hand(bench, plan, "rub down", "finish", "Rub down wet", "clean and dry")
    _coats(bench, plan, "lacquer", "finish", "Lacquer{of}", "Lacquer{of} dries")
    _by_hand(bench, plan, "cut", "finish", "Cut to size and file the edges", "as it is")
    bench.finish_aside()


# ---- the etch


def _warm(bench: _Bench, plan: Plan) -> None:
    """Warm the bath so that it is warm when the paint is dry, once it is poured."""
    if plan.commission.words["plates_go_in"] == "while it warms up":
        return
    name = "warm_up_time"
    if not np.isfinite(plan.number(name)):
        name = "wanted_warm_up_time"
        bench.warnings.append(
            f"The heater never warms this bath to {shown(plan, 'temperature')}: {shown(plan, name)} is set down "
            "for warming it in another way."
        )
    warming = timedelta(minutes=_minutes(plan, name))
    poured = max((e.end for e in bench.entries if e.what == SET_UP), default=bench.now - warming)
    ready = max(bench.now, poured + warming)
    if warming:
        what = f"{WARM} to {shown(plan, 'temperature')}"
        bench.entries.append(Entry("etch", what, ready - warming, ready, False, True))
    bench.now = ready


def _stages(plan: Plan) -> list[list[tuple[int, str, int]]]:
    """Return the lifts of the etch: minute in the bath, what for, minutes out of it.

    One stage, or two where some lines are to be deeper. A look that falls within its own pause of
    a gauging is that gauging.
    """
    done = max(round(_minutes_exact(plan, "etch_time")), 1)
    first = min(max(_minutes(plan, "gauge_time", down=True), 1), done)
    stages = [_lifts(plan, 0, done, first)]
    if "second_time" in plan.book.values:
        second = round(_minutes_exact(plan, "second_time"))
        stages += [_lifts(plan, done, second, second)] if second > done else []
    return stages


def _minutes_exact(plan: Plan, name: str) -> float:
    _minutes(plan, name)  # refused where it has no end
    return float(np.ravel(_ways(plan, name))[0])


def _lifts(plan: Plan, begun: int, done: int, first: int) -> list[tuple[int, str, int]]:
    every, pause = (
        _minutes(plan, name, down)
        for name, down in (("look_interval", True), ("look_pause", False))
    )
    gauged = {first: GAUGE} if done - first > pause else {}
    gauged[done] = DONE
    looks = [m for m in range(every, done, every) if m > begun]
    apart = [m for m in looks if all(abs(m - lift) > pause for lift in gauged)]
    out = _minutes(plan, "gauging_pause")
    found = [(m, what, out) for m, what in gauged.items()] + [(m, LOOK, pause) for m in apart]
    return sorted(found)


def _etch(bench: _Bench, plan: Plan, said: str, begun: int, lifts, plates: int) -> None:
    """Lay down one batch: in the bath with its tilts, and every lift."""
    every = max(_minutes(plan, "tilt_interval", down=True), 1)
    rocked = plan.commission.words["moved"] == "rocked by motor"
    tilt = "Look that the motor rocks the tray" if rocked else "Tilt the tray"
    what = f"In the bath: {tilt[0].lower()}{tilt[1:]} every {every} min"
    for minute, lift, pause in lifts:
        begin, bench.now = bench.now, bench.now + timedelta(minutes=minute - begun)
        tilts = tuple(Call(at, said + tilt) for at in _every(begin, bench.now, every))
        bench.entries.append(Entry("etch", said + what, begin, bench.now, False, True, "", tilts))
        rests = "rinsed and dry" if lift == DONE else ""
        if lift == LOOK and plates > 1:  # none stays beside the heater
            lift = f"{LOOK}, change the plates' places"
        bench.do("etch", said + lift, pause, rests, tray=True, call=True)
        begun = minute


def _every(begin: datetime, end: datetime, minutes: int) -> Iterator[datetime]:
    for i in count(1):
        at = begin + timedelta(minutes=i * minutes)
        if at >= end:
            return
        yield at


def _later(plan: Plan, name: str) -> float:
    """Return by how many minutes a time of the etch may be longer than its middle."""
    figure = plan.figures(name)[name]
    high, middle = (float(q.to(MINUTE).magnitude) for q in (figure.high, figure.value))
    return float(np.ceil(np.fmin(high - middle, _LONGEST)))
