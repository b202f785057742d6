"""What to measure better: how much each measurement would narrow the range of a result."""

from typing import NamedTuple

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, clock, figures, show
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import learning, ranges
from etchcalc.job.calibrate import factor_learnt
from etchcalc.job.chances import depth_at
from etchcalc.job.plan import Plan, planned

LEAST = 0.005  # a narrowing that nobody would see is left out
RATE, FACTOR = "rate_correction", "etch_factor_correction"
# What would be done; of any other input, that it would be known twice as well.
DEEDS = {
    "temperature": "a thermometer twice as good",
    "hydrometer_error": "a hydrometer checked twice as well",
    "strength": "a strength weighed and made up twice as exactly",
    "open_area": "an open area measured twice as well",
    "spent_place": "a second fact of the bath that leaves half as much open",
    "narrowest_film_line": "a finest film line tried on a strip, twice as well",
}


class Better(NamedTuple):
    """One thing that could be measured better.

    Parameters
    ----------
    name : str
        The input.
    narrowing : float
        By how much the range becomes narrower, 0 to 1.
    text : str
    """

    name: str
    narrowing: float
    text: str


def ranked(plan: Plan, of: str = "etch_time") -> list[Better]:
    """Return what would narrow the range of a result, what narrows it most first.

    A gauge reading is simulated: the plan is worked again as if it had been read where the plan
    foretells it. Of a test strip one groove is taken to be measured. Of every other input the first
    order is taken, its uncertainty halved.

    Parameters
    ----------
    plan : Plan
    of : str
        Any value of the plan.

    Raises
    ------
    BadInput
        The plan has no such value.
    """
    if of not in plan.book.values:
        what = VOCABULARY[of].words if of in VOCABULARY else of
        raise BadInput(f"{what}: this plan does not work it out; choose another result.")
    found = []
    words = term(of).words
    also = dict.fromkeys(tolerance.name for tolerance in plan.book.tolerances.values())
    for name, share in ranges.shares(_ways(plan, of), tuple(also)).items():
        if name == RATE:
            continue
        narrowing = 1 - (1 - share * (1 - _left(plan, name) ** 2)) ** 0.5
        found.append(Better(name, narrowing, _sentence(_deed(name), words, narrowing)))
    if (read := _reading(plan, of)) is not None:
        at, narrowing = read
        deed = f"a gauge reading after {clock(at, -1)}"
        found.append(Better(RATE, narrowing, _sentence(deed, words, narrowing)))
    kept = [better for better in found if better.narrowing >= LEAST]
    return sorted(kept, key=lambda better: -better.narrowing)


def _deed(name: str) -> str:
    if name == FACTOR:
        return "a groove of a test strip, measured,"
    return DEEDS.get(name) or f"knowing the {term(name).words} twice as well"


def _sentence(deed: str, of: str, narrowing: float) -> str:
    share = figures(100 * narrowing, 2 if narrowing >= 0.095 else 1)
    return f"{deed[0].upper()}{deed[1:]} would narrow the range of the {of} by {share} %."


def _left(plan: Plan, name: str) -> float:
    """Return what is left of an input's uncertainty once it is measured."""
    if name != FACTOR:
        return 0.5
    spread = float(np.log(_ways(plan, FACTOR)[1:]).std())
    told = factor_learnt([1.0], prior_mean=0, prior_spread=spread, error=learning.SECTION_ERROR)
    return told[1] / spread


def _reading(plan: Plan, of: str) -> tuple[float, float] | None:
    """Return when a next reading could be taken, and how much it would narrow; None where none can."""
    last = max((read.minutes for read in plan.readings), default=0.0)
    done = plan.number("etch_time")
    at = plan.number("gauge_time") if not last else (last + done) / 2
    if not last < at < np.inf:
        return None
    deep = Quantity(float(depth_at(plan, at)[0]), term("reading_depth").unit)
    row = {
        "reading_time": f"{at:.6g} min",
        "reading_depth": show(deep, "fine", count=6, fixed=False),
    }
    try:
        foretold = plan.commission.with_row("reading", row)
    except BadInput:  # no gauge reads so little, or so late
        return None
    after = planned(foretold, plan.drawing, plan, plan.known)
    before, then = (_width(_ways(p, of)) for p in (plan, after))
    return (at, 1 - then / before) if before > 0 else None


def _width(ways: np.ndarray) -> float:
    """Return the width of a 90 % range: of the logarithm, where the value is above 0."""
    low, high = ranges.ends(ways)
    return float(np.log(high / low) if np.min(ways) > 0 else high - low)


def _ways(plan: Plan, name: str) -> np.ndarray:
    magnitude = plan.book.values[name].to(term(name).unit).magnitude
    return np.broadcast_to(magnitude, ranges.WAYS + 1).astype(float)
