"""How the etch that runs stands at an instant, from its plan and what was noted: depth, clocks, water."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from etchcalc.core.units import CELSIUS, MINUTE, MM, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job.calibrate import Reading
from etchcalc.job.plan import Plan
from etchcalc.job.running import LIFTS, Running
from etchcalc.process import heating

_NEVER = 60 * 24 * 60.0  # min; what takes longer is not waited for
DEEPEST, STEPS = 1.8, 55  # of the ordered depth; the curve's points


@dataclass(frozen=True)
class Standing:
    """How the etch stands at an instant.

    Parameters
    ----------
    now : datetime
    minutes : float
        In the bath so far.
    depth, low, high : Quantity
        Depth of the finest line now, and its range.
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

    @property
    def due(self) -> dict[str, str]:
        """What is to be done now, each with a mark that stays the same until it is done."""
        if self.out_since or self.enough:
            return {}
        passed = {
            "lift": (self.lift, f"lift@{self.lift_after:.0f}"),
            "tilt": (self.tilt_by, f"tilt@{self.tilt_by:%H:%M:%S}" if self.tilt_by else ""),
            "look": (self.look_by, f"look@{self.look_after:.0f}"),
        }
        return {name: mark for name, (at, mark) in passed.items() if at and at <= self.now}

    @property
    def next_instant(self) -> datetime | None:
        """When the next thing is to be done."""
        coming = [at for at in (self.lift, self.tilt_by, self.look_by) if at and at > self.now]
        return min(coming, default=None)


def standing(plan: Plan, state: Running, now: datetime) -> Standing:
    """Return how the etch stands at an instant.

    Looks still to come are not counted: each moves the clocks on by its pause when it is noted, so
    that a look left out never lifts the plates too late.

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
    rest = state.pause_left(now, pause)
    low, middle, high = (Quantity(d, MM) for d in depths_at(plan, minutes))
    going = state.started is not None and state.ended is None

    def at(after: float) -> datetime | None:
        ahead = after - minutes
        if not going or not np.isfinite(ahead) or ahead > _NEVER:
            return None
        return _whole(now + rest + timedelta(minutes=ahead))

    done = plan.figures("etch_time")["etch_time"]
    lift_after, enough = _lift(plan, state)
    look_after = _look_after(plan, state, pause)
    late, short = _late(plan, minutes, middle)
    return Standing(
        now, minutes, middle, low, high, at(lift_after), lift_after, look_after,
        at(_minutes(done.low)), at(_minutes(done.high)), enough, state.out_since if going else None,
        _tilt_by(plan, state) if going else None, at(look_after), _water(plan, state, now),
        _temperature(plan, minutes), late, short,
    )  # fmt: skip


def depths_at(plan: Plan, minutes: float) -> tuple[float, float, float]:
    """Return low, middle and high of the depth in mm after so many minutes in the bath."""
    most = DEEPEST * max(plan.number("depth"), plan.number("gauge_depth"))
    depths = np.linspace(0.0, most, STEPS)
    early, middle, late = plan.depth_against_time(Quantity(depths, MM))
    return tuple(float(np.interp(minutes, line, depths)) for line in (late, middle, early))  # type: ignore[return-value]


def readings_of(plan: Plan, state: Running) -> list[Reading]:
    """Return the readings of this load that fit the others."""
    suspect = plan.told.suspect if plan.told else ()
    read = list(enumerate(plan.readings))[state.readings_before :]
    return [reading for i, reading in read if i not in suspect]


def _lift(plan: Plan, state: Running) -> tuple[float, bool]:
    """Return after how many minutes to lift and gauge, and whether the last gauging was enough."""
    read = readings_of(plan, state)
    depth = plan.number("depth")
    enough = any(r.kind == "line" and r.depth >= depth for r in read)
    last = max((r.minutes for r in read), default=0.0)
    done = plan.figures("etch_time")["etch_time"]
    # gauged later than the plan's own time to gauge, the next is when it may be done
    times = (plan.number("gauge_time"), *(_minutes(q) for q in (done.low, done.value, done.high)))
    return next((t for t in times if t > last), last), enough


def _look_after(plan: Plan, state: Running, pause: timedelta) -> float:
    last = state.last(*LIFTS)
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
