"""The maps as plots: lines of equal result over two inputs, what is safe shaded; as SVG text."""

from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from etchcalc.core.units import KINDS, SYSTEMS, Quantity, clock, figures
from etchcalc.core.vocabulary import term
from etchcalc.job.maps import Map
from etchcalc.job.plan import Plan
from etchcalc.pages.figures import _BLUE, _BROWN, _INK, _MUTED, _STYLE, _WIDE, _text_of

LINES = 7  # of equal result, about
# times that a clock says roundly, in minutes
_TIMES = (1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240, 360, 480, 720, 1440, 2880)


def map_plot(found: Map, plan: Plan) -> str:
    """Return the plot of a map: lines of equal result, the safe settings shaded, this job a dot.

    Parameters
    ----------
    found : Map
    plan : Plan
        Whose units are shown and whose own setting is marked, where it lies on the map.

    Returns
    -------
    str
        SVG. Where nothing is safe nothing is shaded; `maps.said` says so.
    """
    system = plan.commission.units
    xs, ys = (
        _shown(name, v, system) for name, v in ((found.across, found.xs), (found.up, found.ys))
    )
    values = np.ma.masked_invalid(_shown(found.result, found.values, system, bool(found.less)))
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDE, 3.6), layout="constrained")
        axes = figure.add_subplot()
        edges = _shade(axes, xs, ys, values, _limits(found, system)) if found.limited else []
        levels = sorted({*_levels(values, found.result), *edges})
        if levels:
            edge = np.isin(levels, edges)
            drawn = axes.contour(
                xs,
                ys,
                values,
                levels=levels,
                colors=[_BLUE if e else _MUTED for e in edge],
                linewidths=[2 if e else 1 for e in edge],
                linestyles="solid",
            )
            axes.clabel(
                drawn, fmt=lambda value: _label(found.result, value), colors=[_INK], fontsize=8
            )
        _mark(axes, found, plan)
        for name, put in ((found.across, axes.set_xlabel), (found.up, axes.set_ylabel)):
            put(f"{term(name).words}, {_unit(name, system)}".rstrip(", "), color=_INK)
        axes.set_xlim(xs[0], xs[-1])
        axes.set_ylim(ys[0], ys[-1])
        axes.tick_params(colors=_MUTED)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(_MUTED)
        axes.set_title(_caption(found, system), loc="left", fontsize=9, color=_INK)
        return _text_of(figure, _title(found, system))


def _caption(found: Map, system: str) -> str:
    entry = term(found.result)
    unit = "" if entry.kind == "time" else _unit(found.result, system)
    result = entry.words + (f" less {term(found.less).words}" if found.less else "")
    return f"{result}, {unit}".rstrip(", ")


def _title(found: Map, system: str) -> str:
    shaded = "; what is safe is shaded" if found.limited and found.safe.any() else ""
    over = f"{term(found.across).words} and {term(found.up).words}"
    return f"{_caption(found, system)} over {over}{shaded}"


def _unit(name: str, system: str) -> str:
    return KINDS[term(name).kind].words[SYSTEMS.index(system)]


def _shown(name: str, values, system: str, difference: bool = False) -> np.ndarray:
    """Return values in the metric unit of a word's kind as numbers in the maker's unit."""
    entry = term(name)
    unit = KINDS[entry.kind].unit(system)
    shown = Quantity(np.asarray(values, dtype=float), entry.unit).to(unit).magnitude
    # a difference of temperatures has no zero of its own
    return shown - Quantity(0.0, entry.unit).to(unit).magnitude if difference else shown


def _limits(found: Map, system: str) -> tuple[float, float]:
    """Return the ends of what is safe in the maker's unit, infinite where none was said."""
    low, high = (
        end if limit is None else float(_shown(found.result, limit, system, bool(found.less)))
        for limit, end in ((found.least, -np.inf), (found.most, np.inf))
    )
    return low, high


def _shade(axes, xs, ys, values, limits: tuple[float, float]) -> list[float]:
    """Shade what is safe and return the ends of it that cross the map."""
    low, high = limits
    least, most = (
        (float(values.min()), float(values.max())) if values.count() else (np.inf, -np.inf)
    )
    if most < low or least > high:
        return []
    ends = [max(low, least - 1.0), min(high, most + 1.0)]
    if ends[0] < ends[1]:
        axes.contourf(xs, ys, values, levels=ends, colors=[_BLUE], alpha=0.18)
    return [end for end in limits if least < end < most]


def _levels(values, result: str) -> list[float]:
    """Return round values of the result at which lines are drawn."""
    if not values.count():
        return []
    low, high = float(values.min()), float(values.max())
    if term(result).kind == "time":
        return [float(time) for time in _TIMES if low < time < high]
    ticks = MaxNLocator(LINES).tick_values(low, high)
    return [float(tick) for tick in ticks if low < tick < high]


def _label(result: str, value: float) -> str:
    return clock(value) if term(result).kind == "time" else figures(value).rstrip("0").rstrip(".")


def _mark(axes, found: Map, plan: Plan) -> None:
    """Mark the plan's own setting, where it lies on the map."""
    x, y = (float(plan.ordered(name).magnitude) for name in (found.across, found.up))
    if not (found.xs[0] <= x <= found.xs[-1] and found.ys[0] <= y <= found.ys[-1]):
        return
    system = plan.commission.units
    at: Any = (_shown(found.across, x, system), _shown(found.up, y, system))
    axes.plot(*at, "o", color=_BROWN, markersize=6, clip_on=False)
    axes.annotate("this job", at, (7, 5), textcoords="offset points", color=_BROWN)
