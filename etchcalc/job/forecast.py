"""How the etch that runs stands at an instant, from its plan and what was noted: depth, clocks, water."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from etchcalc.core.units import CELSIUS, MINUTE, MM, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges, schedule
from etchcalc.job.calibrate import Reading
from etchcalc.job.plan import Plan
from etchcalc.job.running import LIFTS, Running
from etchcalc.process import etching, heating

_NEVER = 60 * 24 * 60.0  # min; what takes longer is not waited for
DEEPEST, STEPS = 1.8, 55  # of the ordered depth; the curve's points


@dataclass(frozen=True)
class Lift:
    """When to lift, and the range of that: None where it never gets there, or has not begun.

    `after` is the same in minutes in the bath.
    """

    after: float
    at: datetime | None
    low: datetime | None
    high: datetime | None


@dataclass(frozen=True)
class Standing:
    """How the etch stands at an instant.

    Parameters
    ----------
    now : datetime
    minutes : float
        In the bath so far.
    depth, low, high : Quantity
        Depth of the finest line now, and its range; once it is stopped out, what it was then.
    lift : datetime or None
        When to lift and gauge; None where it never gets there, or has not begun.
    lift_after, look_after : float
        The same in minutes in the bath; and when to look.
    done_from, done_to : datetime or None
        The range in which it is done.
    enough : bool
        Gauged as deep as ordered.
    out_since : datetime or None
    tilt_by, look_by : datetime or None
    water : Quantity
        Lost since water was last added.
    temperature : Quantity
        Of the bath now.
    late_depth, late_short : Quantity or None
        Depth now of the place that cleared late, and by how much it is shallower.
    looks : int
        How many looks still to come are counted until it is done at the latest.
    stop, last : Lift or None
        Of a plate with two depths: when to lift it to stop the fine lines out, None where that is
        done, and when to lift it for good. Both None where there is one depth.
    stopped : datetime or None
        When it was lifted to stop the fine lines out: `lift` and `done_from` are of the deeper then.
    deeper : tuple of Quantity or None
        Low, middle and high of the depth of the deeper lines now.
    """

    now: datetime
    minutes: float
    depth: Any
    low: Any
    high: Any
    lift: datetime | None
    lift_after: float
    look_after: float
    done_from: datetime | None
    done_to: datetime | None
    enough: bool
    out_since: datetime | None
    tilt_by: datetime | None
    look_by: datetime | None
    water: Any
    temperature: Any
    late_depth: Any = None
    late_short: Any = None
    looks: int = 0
    stop: Lift | None = None
    last: Lift | None = None
    stopped: datetime | None = None
    deeper: tuple[Any, ...] | None = None

    @property
    def due(self) -> dict[str, str]:
        """What is to be done now, each with a mark that stays the same until it is done."""
        if self.out_since:
            return {}
        stop_at = self.stop.at if self.stop else None
        if self.enough:
            return {"stop": "stop@gauged"} if self.stop else {}
        passed = {
            "stop": (stop_at, f"stop@{self.stop.after:.0f}" if self.stop else ""),
            "lift": (self.lift, f"lift@{self.lift_after:.0f}"),
            "tilt": (self.tilt_by, f"tilt@{self.tilt_by:%H:%M:%S}" if self.tilt_by else ""),
            "look": (self.look_by, f"look@{self.look_after:.0f}"),
        }
        return {name: mark for name, (at, mark) in passed.items() if at and at <= self.now}

    @property
    def next_instant(self) -> datetime | None:
        """When the next thing is to be done."""
        stop_at = self.stop.at if self.stop else None
        each = (self.lift, stop_at, self.tilt_by, self.look_by)
        coming = [at for at in each if at and at > self.now]
        return min(coming, default=None)


def standing(plan: Plan, state: Running, now: datetime) -> Standing:
    """Return how the etch stands at an instant.

    Looks still to come are counted as in the plan's own time on the clock; one that is left out
    counts no more once the plates have been in the bath for long enough, so that it never lifts
    them too late.

    Parameters
    ----------
    plan : Plan
        With the readings so far, which correct it.
    state : Running
    now : datetime
        With its zone.
    """
    pause = _time(plan, "look_pause")
    minutes = state.minutes_at(now, pause)
    going = state.started is not None and state.ended is None
    two = going and _two_depths(plan)
    stopped = state.stopped if two else None
    fine = state.minutes_at(stopped, pause) if stopped else minutes
    low, middle, high = (Quantity(d, MM) for d in depths_at(plan, fine))
    rest = max(state.pause_left(now, pause), _painting_left(plan, state, now))
    look_after = _look_after(plan, state, pause)

    def at(ahead: float) -> datetime | None:
        if not going or not np.isfinite(ahead) or ahead > _NEVER:
            return None
        return _whole(now + rest + timedelta(minutes=ahead))

    def left(after: float) -> float:
        return minutes_left(plan, minutes, look_after, after)

    done = _done(plan, "second_time" if stopped else "etch_time")
    lift_after, enough = _lift(plan, state, done, stopped is not None)
    late, short = _late(plan, fine, middle)
    found = Standing(
        now, minutes, middle, low, high, at(left(lift_after)), lift_after, look_after,
        at(left(done[0])), at(left(done[2])), enough, state.out_since if going else None,
        _tilt_by(plan, state) if going else None, at(look_after - minutes), _water(plan, state, now),
        _temperature(plan, minutes), late, short, _looks(plan, left(done[2]), done[2] - minutes) if going else 0,
    )  # fmt: skip
    if not two:
        return found
    deeper = tuple(Quantity(d, MM) for d in depths_at(plan, minutes, deeper=True))
    low_by, by, high_by = (at(left(t)) for t in done)
    if stopped:
        last = Lift(done[1], by, low_by, high_by)
        return replace(found, last=last, stopped=stopped, deeper=deeper)
    then = _done(plan, "second_time")
    last_low, last_by, last_high = (
        at(_last_left(plan, minutes, left, *times)) for times in zip(done, then, strict=True)
    )
    stop, last = Lift(done[1], by, low_by, high_by), Lift(then[1], last_by, last_low, last_high)
    return replace(found, stop=stop, last=last, deeper=deeper)


def minutes_left(plan: Plan, minutes: float, look_after: float, after: float) -> float:
    """Return the minutes on the clock until the plates have been in the bath for so many.

    The looks to come are counted as the plan counts its own; one that is overdue counts as taken now.

    Parameters
    ----------
    plan : Plan
    minutes : float
        In the bath so far.
    look_after : float
        Minutes in the bath at which the next look is due.
    after : float
        Minutes in the bath that are asked for; what is past comes back as it is, below 0.
    """
    if not after > minutes or not np.isfinite(after):
        return after - minutes
    since = max(look_after, minutes) - plan.number("look_interval")
    told = {name: plan.middle(name) for name in ("look_interval", "look_pause")}
    on_clock = etching.bench_time(etch_time=Quantity(after - since, MINUTE), **told)
    return _minutes(on_clock) - (minutes - since)


def stopping_out(plan: Plan) -> tuple[float, float]:
    """Return the minutes out of the bath to gauge and stop the fine lines out, and to dry that."""
    painting, drying = schedule.stopping_out(plan)
    return plan.number("gauging_pause") + painting, drying


def depths_at(plan: Plan, minutes: float, deeper: bool = False) -> tuple[float, float, float]:
    """Return low, middle and high of the depth in mm after so many minutes in the bath.

    Parameters
    ----------
    plan : Plan
    minutes : float
    deeper : bool
        Of the deeper lines of a plate with two depths, not of the finest.
    """
    names = ("second_depth",) if deeper else ("depth", "gauge_depth")
    depths = np.linspace(0.0, DEEPEST * max(map(plan.number, names)), STEPS)
    to = _minutes_to_deeper if deeper else Plan.depth_against_time
    early, middle, late = to(plan, Quantity(depths, MM))
    return tuple(float(np.interp(minutes, line, depths)) for line in (late, middle, early))  # type: ignore[return-value]


def _minutes_to_deeper(plan: Plan, depths) -> np.ndarray:
    """Return minutes to depths of the deeper lines, as `Plan.depth_against_time` does of the finest."""
    if plan.history:
        to = plan.history.minutes_to(depths.to("mm").magnitude, "second_line")
        minutes = np.minimum(to, 1e6)
    else:  # the plan's own formulas, in a bath that tires as it does over the whole etch
        kept = {"second_depth": depths.reshape(-1, 1), "tiring": plan.book.values["tiring"]}
        time = plan.book.reworked(kept, ("second_time",))["second_time"]
        minutes = time.to(MINUTE).magnitude
    early, late = ranges.ends(minutes)
    return np.array([early, minutes[:, 0], late])


def _two_depths(plan: Plan) -> bool:
    """Tell whether some lines go on when the finest are done: else there is nothing to stop out."""
    times = plan.book.values
    return "second_time" in times and plan.number("second_time") > plan.number("etch_time")


def _done(plan: Plan, name: str) -> tuple[float, float, float]:
    """Return low, middle and high of a time of the plan, in minutes in the bath."""
    done = plan.figures(name)[name]
    return _minutes(done.low), _minutes(done.value), _minutes(done.high)


def _last_left(plan: Plan, minutes: float, left, first: float, second: float) -> float:
    """Return the minutes on the clock until the deeper lines are done, the fine stopped out between."""
    begin = max(first, minutes)
    again = minutes_left(plan, 0.0, plan.number("look_interval"), second - begin)
    return left(begin) + sum(stopping_out(plan)) + max(again, 0.0)


def _looks(plan: Plan, on_clock: float, in_bath: float) -> int:
    pause = plan.number("look_pause")
    counts = pause > 0 and np.isfinite(on_clock)
    return round((on_clock - in_bath) / pause) if counts else 0


def _painting_left(plan: Plan, state: Running, now: datetime) -> timedelta:
    """Return how much of the stopping out is still to come, where the plates are out for it."""
    out, stopped = state.out_since, state.stopped
    if out is None or stopped is None or out > stopped:
        return timedelta()
    return max(stopped + timedelta(minutes=sum(stopping_out(plan))) - now, timedelta())


def readings_of(plan: Plan, state: Running) -> list[Reading]:
    """Return the readings of this load that fit the others."""
    suspect = plan.told.suspect if plan.told else ()
    read = list(enumerate(plan.readings))[state.readings_before :]
    return [reading for i, reading in read if i not in suspect]


def _lift(plan: Plan, state: Running, done, deeper: bool) -> tuple[float, bool]:
    """Return after how many minutes to lift and gauge, and whether the last gauging was enough."""
    read = readings_of(plan, state)
    depth = plan.number("depth")
    # what is read of the fine lines tells nothing of how deep the others are
    enough = not deeper and any(r.kind == "line" and r.depth >= depth for r in read)
    last = max((r.minutes for r in read), default=0.0)
    # gauged later than the plan's own time to gauge, the next is when it may be done
    times = done[1:] if deeper else (plan.number("gauge_time"), *done)
    return next((t for t in times if t > last), last), enough


def _look_after(plan: Plan, state: Running, pause: timedelta) -> float:
    last = state.last(*LIFTS, "stopped")
    since = state.minutes_at(last.at, pause) if last else 0.0
    return since + plan.number("look_interval")


def _tilt_by(plan: Plan, state: Running) -> datetime | None:
    last = state.last("started", "tilted")
    if last is None or plan.commission.words["moved"] == "rocked by motor":
        return None
    return last.at + _time(plan, "tilt_interval")


def _water(plan: Plan, state: Running, now: datetime):
    last = state.last("started", "watered")
    since = max((min(now, state.ended or now) - last.at).total_seconds() / 60, 0.0) if last else 0.0
    kept = Quantity(since, MINUTE)
    lost = heating.water_lost(evaporation_rate=plan.middle("evaporation_rate"), time_kept_warm=kept)
    return lost.to(term("water_lost").unit)


def _temperature(plan: Plan, minutes: float):
    if not plan.history:
        return plan.middle("temperature")
    goes = plan.history
    return Quantity(float(np.interp(minutes, goes.minutes, goes.celsius)), CELSIUS)


def _late(plan: Plan, minutes: float, depth) -> tuple[Any, Any]:
    """Return how deep the place that cleared late is now, and how much that is short of the others."""
    if "cleared_late" not in plan.commission.values:
        return None, None
    began = plan.number("cleared_late")
    late = Quantity(depths_at(plan, max(minutes - began, 0.0))[1], MM)
    return late, depth - late


def _time(plan: Plan, name: str) -> timedelta:
    return timedelta(minutes=plan.number(name))


def _minutes(quantity) -> float:
    return float(quantity.to(MINUTE).magnitude)


def _whole(instant: datetime) -> datetime:
    """Return an instant to the nearest second, so that it does not flicker over a minute's end."""
    return (instant + timedelta(milliseconds=500)).replace(microsecond=0)
