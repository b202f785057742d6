"""The rate of a fresh bath over strength and temperature: the plan's own formulas, over arrays."""

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import CELSIUS, Quantity, show
from etchcalc.core.vocabulary import term
from etchcalc.job import steps
from etchcalc.job.book import Use
from etchcalc.job.plan import Plan

WITHIN = 0.95  # of the best; less than a maker can gauge
# Beyond this how strengths compare hangs on the law of viscosity (tests/process/test_rates.py).
CERTAIN = Quantity(30.0, CELSIUS)
COLUMNS = 5
USED = " The curves are of fresh baths; the dot is this one, as it is."


@dataclass(frozen=True)
class RateMap:
    """The mean rate of the finest line over the ordered depth, in a fresh bath.

    Parameters
    ----------
    strengths : array of shape (n,)
        g/L of crystals.
    temperatures : array of shape (m,)
        °C.
    rates : array of shape (m, n)
        µm/min.
    best : tuple of (float, float), one a temperature
        Strengths in g/L between which the rate is within 5 % of the best there.
    here : tuple of (float, float)
        The same at the plan's own temperature.
    """

    strengths: np.ndarray
    temperatures: np.ndarray
    rates: np.ndarray
    best: tuple[tuple[float, float], ...]
    here: tuple[float, float]


def rate_map(plan: Plan, strengths, temperatures) -> RateMap:
    """Return the rate over strength and temperature, all else at the plan's middle.

    Parameters
    ----------
    plan : Plan
    strengths : array of shape (n,)
        g/L.
    temperatures : array of shape (m,)
        °C.
    """
    strengths, temperatures = (np.asarray(a, dtype=float) for a in (strengths, temperatures))
    fine = np.linspace(term("strength").low, term("strength").high, 106)
    rates = _fresh_rates(
        plan,
        np.concatenate([strengths, fine]),
        np.append(temperatures, plan.number("temperature")),
    )
    count = len(strengths)
    *best, here = (_band(fine, row) for row in rates[:, count:])
    return RateMap(strengths, temperatures, rates[:-1, :count], tuple(best), here)


def said(found: RateMap, plan: Plan) -> str:
    """Return what the map tells the maker, at the plan's temperature and in their units."""
    system = plan.commission.units
    low, high = (
        show(term("strength").quantity(end), "strength", system, 2, toward=toward)
        for end, toward in zip(found.here, (1, -1), strict=True)
    )
    at, certain = (show(t, "temperature", system) for t in (plan.middle("temperature"), CERTAIN))
    return (
        f"At {at} a fresh bath of {low} to {high} etches within 5 % of the fastest. "
        f"Above {certain} the best strength depends on a law of viscosity carried beyond its data: "
        "read the band, not a point." + (USED if plan.number("bath_spent_share") > 0 else "")
    )


def table(found: RateMap, system: str = "metric") -> list[tuple[str, ...]]:
    """Return rows ready to be shown: a heading, then a temperature, its rates and its best band."""
    places = np.unique(np.linspace(0, len(found.strengths) - 1, COLUMNS).round().astype(int))

    def strength(value: float) -> str:
        return show(term("strength").quantity(value), "strength", system, 2)

    rows = [("temperature", *(strength(found.strengths[i]) for i in places), "within 5 %")]
    for celsius, rates, (low, high) in zip(
        found.temperatures, found.rates, found.best, strict=True
    ):
        cells = (show(term("fresh_rate").quantity(rates[i]), "rate", system) for i in places)
        at = show(term("temperature").quantity(celsius), "temperature", system)
        rows.append((at, *cells, f"{strength(low)} to {strength(high)}"))
    return rows


@cache
def _uses(lies: str) -> tuple[Use, ...]:
    """Return those uses of the plan of a new bath that lead to its fresh rate, in order."""
    wanted, found = {"fresh_rate"}, []
    for used in reversed((*steps.NEW, *steps.REACTION, *steps.POSTURES[lies], *steps.SPEED)):
        if used.name in wanted:
            found.append(used)
            wanted.update(used.sources)
    return tuple(reversed(found))


def _fresh_rates(plan: Plan, strengths, celsius) -> np.ndarray:
    """Return rates in µm/min, shape (temperatures, strengths)."""
    values = {
        "strength": term("strength").quantity(strengths),
        "temperature": term("temperature").quantity(celsius[:, None]),
        "bath_spent_share": term("bath_spent_share").quantity(0.0),
    }
    for used in _uses(plan.commission.words["plate_lies"]):
        for name in used.sources:
            if name not in values:
                values[name] = plan.middle(name)
        keys = REGISTERED[used.formula].inputs
        inputs = {key: values[name] for key, name in zip(keys, used.sources, strict=True)}
        values[used.name] = REGISTERED[used.formula].function(**inputs)
    return values["fresh_rate"].to(term("fresh_rate").unit).magnitude


def _band(strengths, rates) -> tuple[float, float]:
    """Return the ends between which the rate is nearly the best, on straight lines between points."""
    least = WITHIN * np.nanmax(rates)
    crossed = [
        np.interp(least, sorted((a, b)), (s, t) if a < b else (t, s))
        for (s, t), (a, b) in zip(pairwise(strengths), pairwise(rates), strict=True)
        if (a < least) != (b < least)
    ]
    inside = strengths[rates >= least]
    return float(min([inside[0], *crossed])), float(max([inside[-1], *crossed]))
