"""Any result over two inputs at once: the plan's own formulas, over a grid, in one call.

A map is of the middle. What readings and earlier jobs taught stays as it is
for the plan's own inputs.
"""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.faults import BadInput, listed
from etchcalc.core.units import Quantity, clock, show
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import ranges
from etchcalc.job.book import Book, spread_out
from etchcalc.job.plan import Plan
from etchcalc.job.schema import QUANTITIES

SLIDERS = tuple(name for name in QUANTITIES if term(name).reach)
SIDE = 100  # settings along each side
AT_ONCE = 100  # settings of a result that hangs on all the ways: each takes 257 times the room


@dataclass(frozen=True)
class Map:
    """A result over two inputs.

    Parameters
    ----------
    across, up : str
        The inputs.
    xs, ys : array of shape (columns,), (rows,)
        Their values, from end to end of their sliders, in the metric units of their kinds.
    result : str
    less : str
        What was taken off the result; "" for nothing.
    values : array of shape (rows, columns)
        In the metric unit of the result's kind; nan where it cannot be.
    least, most : float or None
        Between which it is safe.
    """

    across: str
    up: str
    xs: np.ndarray
    ys: np.ndarray
    result: str
    less: str
    values: np.ndarray
    least: float | None = None
    most: float | None = None

    @property
    def safe(self) -> np.ndarray:
        """Which settings are safe; all that can be, where no limit was said."""
        low = -np.inf if self.least is None else self.least
        high = np.inf if self.most is None else self.most
        with np.errstate(invalid="ignore"):
            return np.isfinite(self.values) & (self.values >= low) & (self.values <= high)

    @property
    def limited(self) -> bool:
        """Whether a limit was said."""
        return self.least is not None or self.most is not None


def mapped(
    plan: Plan,
    across: str,
    up: str,
    result: str,
    *,
    less: str = "",
    least: float | None = None,
    most: float | None = None,
    columns: int = SIDE,
    rows: int = SIDE,
) -> Map:
    """Return a result of a plan over two of its inputs, all else as the plan has it.

    Parameters
    ----------
    plan : Plan
    across, up : str
        Inputs that have a slider (`SLIDERS`).
    result : str
        Any value of the plan.
    less : str
        Another value, taken off it.
    least, most : float, optional
        Between which it is safe, in the metric unit of the result's kind.
    columns, rows : int

    Raises
    ------
    BadInput
        One sentence: an input without a slider, or not said in this job; a result that is not
        worked out, or that neither input moves.
    """
    if across == up:
        raise BadInput(f"{term(up).words}: choose two different inputs for a map.")
    for name in (across, up):
        _refuse_axis(plan, name)
    for name in filter(None, (result, less)):
        _refuse_result(plan, name, result)
    xs, ys = _along(across, columns), _along(up, rows)
    grid = dict(zip((across, up), (g.ravel() for g in np.meshgrid(xs, ys)), strict=True))
    values = _over(plan, grid, result)
    if less:
        values = values - _over(plan, grid, less)
    if np.ndim(values) == 0:
        raise BadInput(
            f"{term(result).words}: neither {term(across).words} nor {term(up).words} moves it; "
            "choose another input."
        )
    if "depth" in grid:  # a groove through the plate is no groove
        values = np.where(grid["depth"] < plan.number("plate_thickness"), values, np.nan)
    return Map(across, up, xs, ys, result, less, values.reshape(rows, columns), least, most)


def survives(plan: Plan, across: str = "depth", up: str = "finest_line", **size: int) -> Map:
    """Return how much deeper than ordered the finest line could go; parameters of `mapped`."""
    return mapped(plan, across, up, "greatest_depth", less="depth", least=0.0, **size)


def said(found: Map, system: str = "metric") -> str:
    """Return what a map tells, as one sentence; also where nothing on it is safe."""
    words = _words(found)
    over = " and ".join(
        f"{term(name).words} from {_shown(name, ends[0], system)} to {_shown(name, ends[-1], system)}"
        for name, ends in ((found.across, found.xs), (found.up, found.ys))
    )
    if not found.limited:
        known = found.values[np.isfinite(found.values)]
        if not known.size:
            return f"Nowhere on this map, {over}, is there a {words}; change another input."
        low, high = (_shown(found.result, end, system) for end in (known.min(), known.max()))
        return f"Over {over} the {words} goes from {low} to {high}."
    wanted = " and ".join(
        f"{which} {_shown(found.result, end, system)}"
        for which, end in (("at least", found.least), ("at most", found.most))
        if end is not None
    )
    share = float(np.mean(found.safe))
    if not share:
        return f"Nothing is safe on this map, {over}: nowhere is the {words} {wanted}; change another input or ask for less."
    if share == 1:
        return f"All of this map is safe, {over}: the {words} is {wanted} everywhere."
    part = max(1, min(99, round(100 * share)))
    return f"Safe is {part} % of this map, {over}: there the {words} is {wanted}."


def _along(name: str, count: int) -> np.ndarray:
    """Return settings of an input from end to end of its slider."""
    low, high = term(name).reach or (0.0, 0.0)
    return np.linspace(low, high, count)


def _words(found: Map) -> str:
    more = f" less the {term(found.less).words}" if found.less else ""
    return term(found.result).words + more


def _shown(name: str, value: float, system: str) -> str:
    entry = term(name)
    if entry.kind == "time":
        return clock(float(value))
    return show(entry.quantity(float(value)), entry.kind, system, fixed=False)


def _refuse_axis(plan: Plan, name: str) -> None:
    """Refuse an input that a map cannot run over."""
    words = VOCABULARY[name].words if name in VOCABULARY else name
    book = plan.book
    if name not in SLIDERS:
        sliders = listed([term(n).words for n in SLIDERS])
        raise BadInput(f"{words}: a map runs over what has a slider; choose {sliders}.")
    worked = name in book.uses and f"finished_{name}" not in book.values
    if name not in book.values or worked or book.basis[name] == "drawing":
        raise BadInput(f"{words}: it is not said in this job but worked out; choose another input.")


def _refuse_result(plan: Plan, name: str, result: str) -> None:
    """Refuse a result that this plan does not work out, or not by formulas alone."""
    words = VOCABULARY[name].words if name in VOCABULARY else name
    if name not in plan.book.values:
        raise BadInput(f"{words}: this plan does not work it out; choose another result.")
    if term(name).kind != term(result).kind:
        raise BadInput(f"{words}: it cannot be taken off {term(result).words}; choose its like.")
    if any(one in plan.book.methods for one in plan.book.rests_on(name)):
        raise BadInput(
            f"{words}: this bath does not keep its temperature, and one map has no room for its history; "
            "let the plates go in when it is warm, or choose another result."
        )


def _over(plan: Plan, grid: dict[str, np.ndarray], name: str) -> np.ndarray:
    """Return a value over a grid in its metric unit, shape (settings,); a scalar where none moves it."""
    if name in grid:
        return grid[name]
    rests = plan.book.rests_on(name)
    if name == "greatest_depth" and "line_limit" in plan.book.values:  # the film as it is
        return np.minimum(*(_over(plan, grid, limit) for limit in ("line_limit", "land_limit")))
    if "gauge_time" not in rests:
        said = {n: Quantity(values, term(n).unit) for n, values in grid.items()}
        return _reworked(plan, plan.book.middled(), said, name)
    parts = []
    for start in range(0, len(next(iter(grid.values()))), AT_ONCE):
        said = {
            n: spread_out(
                n,
                Quantity(values[start : start + AT_ONCE, None], term(n).unit),
                plan.book.tolerances.get(n),
            )
            for n, values in grid.items()
        }
        parts.append(_reworked(plan, plan.book, said, name))
    return np.concatenate([np.atleast_1d(part) for part in parts])


def _reworked(plan: Plan, book: Book, said: dict, name: str) -> np.ndarray:
    """Return a value worked again with others said; what a plan enters beside a formula goes along."""
    entered = dict(said)
    if "depth" in said and "finished_depth" in book.values:  # as delivered: rubbing down adds to it
        entered["finished_depth"] = entered.pop("depth")
    if plan.drawing is None and "finest_line" in said:
        entered["narrowest_line"] = said["finest_line"]
    usual = plan.drawing is None and "open_fraction" not in plan.book.tolerances
    if usual and "open_fraction" in said and book is plan.book:
        area = book.reworked(entered, ["open_area"])["open_area"]
        entered["open_area"] = ranges.ways(term("open_area"), area)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = book.reworked(entered, [name])[name]
    return np.asarray(found.to(term(name).unit).magnitude, dtype=float)
