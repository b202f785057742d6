"""How likely it is that a job goes wrong: shares of the ways in which it may run."""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.units import MINUTE, MM, Quantity, clock, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.plan import Plan
from etchcalc.process import rates

DEPTHS = 40  # at which the time to a depth is worked, to twice the ordered depth


@dataclass(frozen=True)
class Chance:
    """How likely something is, with the sentence that says it.

    Parameters
    ----------
    key : str
        Short name of what may happen.
    share : float
        0 to 1, of the ways in which the job may run.
    text : str
    """

    key: str
    share: float
    text: str


def chances(plan: Plan, minutes_left: float | None = None) -> tuple[Chance, ...]:
    """Return every chance that can be told of a plan.

    Parameters
    ----------
    plan : Plan
    minutes_left : float, optional
        From when the plates go in until the shop closes.
    """
    found = [line_closes(plan), land_closes(plan), *depth_misses(plan)]
    if minutes_left is not None:
        found.append(runs_late(plan, minutes_left))
    return tuple(chance for chance in found if chance is not None)


def line_closes(plan: Plan) -> Chance | None:
    """Return the chance that the finest line must be drawn narrower than film and resist resolve.

    None where the film stays as it is: its lines are there to be seen.
    """
    if "drawn_line" in plan.book.values:
        return None
    line, least = (_ways(plan, name) for name in ("film_line", "narrowest_film_line"))
    share = _share(line < least)
    return Chance(
        "line closes",
        share,
        f"{_said(share)} that the finest line, corrected for its undercut, is narrower on the film "
        "than film and resist resolve.",
    )


def land_closes(plan: Plan) -> Chance | None:
    """Return the chance that the narrowest land loses its resist before the ordered depth.

    On a film corrected for the middle undercut the land comes out narrower by what the undercut is
    more than that. None without a drawing.
    """
    values = plan.book.values
    under = _ways(plan, "undercut")
    if "drawn_land" in values:
        land = _ways(plan, "drawn_land") - 2 * under
    elif "narrowest_land" in values:
        land = _ways(plan, "narrowest_land") - 2 * (under - under[0])
    else:
        return None
    share = _share(land < _ways(plan, "narrowest_resist_land"))
    return Chance(
        "land closes",
        share,
        f"{_said(share)} that the narrowest land is etched away under its resist.",
    )


def depth_misses(
    plan: Plan, minutes: float | None = None, half_width: float | None = None
) -> tuple[Chance, Chance]:
    """Return the chances that the finest line is too deep, and too shallow, at a lift.

    Parameters
    ----------
    plan : Plan
    minutes : float, optional
        In the bath; the plan's own time to lift and gauge where nothing is said.
    half_width : float, optional
        In mm, by which the depth may miss; else the tolerance that was said with the depth, else
        the depth allowance.
    """
    at = plan.number("gauge_time") if minutes is None else minutes
    wanted, told = plan.number("depth"), plan.book.tolerances
    said = told.get("finished_depth") or told.get("depth")
    if half_width is None:
        half_width = said.half_width if said else plan.number("depth_allowance")
    deep = depth_at(plan, at)
    units = plan.commission.units
    found = []
    for key, missed, end in (
        ("too deep", deep > wanted + half_width, wanted + half_width),
        ("too shallow", deep < wanted - half_width, wanted - half_width),
    ):
        than = show(term("depth").quantity(max(end, 0.0)), "fine", units)
        side = "deeper" if key == "too deep" else "shallower"
        text = f"{_said(_share(missed))} that the finest line is {side} than {than} after {clock(at, -1)}."
        found.append(Chance(key, _share(missed), text))
    return found[0], found[1]


def runs_late(plan: Plan, minutes_left: float) -> Chance:
    """Return the chance that the plates are not yet deep enough when the shop closes.

    Parameters
    ----------
    plan : Plan
    minutes_left : float
        From when the plates go in.
    """
    share = _share(_ways(plan, "etch_time") > minutes_left)
    return Chance(
        "runs late",
        share,
        f"{_said(share)} that the plates are not done {clock(minutes_left)} after they go in.",
    )


def depth_at(plan: Plan, minutes: float) -> np.ndarray:
    """Return how deep the finest line is after some minutes, in mm, over the ways.

    Deeper than four times the ordered depth is told as that.
    """
    most = 4 * plan.number("depth")
    deep = most * np.linspace(0.0, 1.0, DEPTHS + 1)[1:] ** 1.5
    table = minutes_to(plan, deep)
    edges = np.append(0.0, deep)
    return np.array([np.interp(minutes, np.append(0.0, way), edges) for way in table.T])


def minutes_to(plan: Plan, depths: np.ndarray) -> np.ndarray:
    """Return the minutes to depths in mm of the finest line, shape (n, 1 + ways)."""
    if plan.history:
        return np.minimum(plan.history.minutes_to(depths), 1e6)
    column = Quantity(np.asarray(depths, dtype=float)[:, None], MM)
    inputs = {**plan.book.inputs(plan.book.uses["fresh_rate"]), "depth": column}
    rate = rates.fresh_rate(**inputs) * plan.book.values["tiring"]
    minutes = (column / rate).to(MINUTE).magnitude
    return np.broadcast_to(minutes, (len(depths), ranges.WAYS + 1))


def _ways(plan: Plan, name: str) -> np.ndarray:
    return np.broadcast_to(
        plan.book.values[name].to(term(name).unit).magnitude, ranges.WAYS + 1
    ).astype(float)


def _share(happens: np.ndarray) -> float:
    """Return the share of the ways; the middle is not one of them."""
    return float(np.mean(happens[1:]))


def _said(share: float) -> str:
    """Return a share as the beginning of a sentence."""
    least = 1 / ranges.WAYS
    if share < least:
        return f"It is less likely than 1 in {ranges.WAYS}"
    if share > 1 - least:
        return f"It is likelier than {ranges.WAYS - 1} in {ranges.WAYS}"
    return f"The chance is {figures(100 * share, 2)} %"
