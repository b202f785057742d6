"""The ways in which a job may run: a few hundred fixed points of the uncertain inputs.

Every low and high of a plan comes from here. The points are passed as arrays
through the same plan as the middle, which is element 0 of the same arrays.
"""

from functools import cache
from statistics import NormalDist
from zlib import crc32

import numpy as np

from etchcalc.core.term import Term
from etchcalc.core.units import Quantity, share_of
from etchcalc.core.vocabulary import VOCABULARY

WAYS = 256
LOW, HIGH = 0.05, 0.95

# The weightiest first; a new uncertain input further down leaves the columns before it as they are.
_FIRST = ("rate_correction", "etch_factor_correction", "temperature")
UNCERTAIN = (
    *_FIRST,
    *(t.name for t in VOCABULARY.values() if t.spread and t.name not in _FIRST),
)


@cache
def scores() -> np.ndarray:
    """Return standard normal scores, shape (1 + WAYS, number of uncertain inputs).

    A Latin hypercube: each column holds the same evenly spread scores, so that
    its own spread is exact, in an order that belongs to its name. Each is
    turned away from the columns before it, so that no two are correlated, and
    ranked again. The first row, of zeros, is the middle.
    """
    quantile = NormalDist().inv_cdf
    even = np.array([quantile((i + 0.5) / WAYS) for i in range(WAYS)])
    columns: list[np.ndarray] = []
    for name in UNCERTAIN:
        # the old generator: its stream is promised never to change with a version of numpy
        column = np.random.RandomState(crc32(name.encode())).permutation(even)
        for _ in range(3):
            if columns:
                before = np.column_stack(columns)
                column = column - before @ np.linalg.lstsq(before, column, rcond=None)[0]
            column = even[column.argsort().argsort()]
        columns.append(column)
    return np.vstack([np.zeros(len(columns)), np.column_stack(columns)])


def ways(term: Term, quantity, spread: float | None = None):
    """Return an uncertain quantity as the array of its middle and its ways.

    Parameters
    ----------
    term : Term
        Its vocabulary entry; one without a spread comes back unchanged. No way leaves what can
        be meant.
    quantity : Quantity
        The middle, a scalar.
    spread : float, optional
        Instead of the vocabulary's, where this value is known better.
    """
    width = term.spread if spread is None else spread
    if term.name not in UNCERTAIN or not width:
        return quantity
    column = scores()[:, UNCERTAIN.index(term.name)]
    middle = quantity.to(term.unit).magnitude
    spread_out = middle + width * column if term.additive else middle * np.exp(width * column)
    return Quantity(np.clip(spread_out, term.low, term.high), term.unit)


def shares(magnitudes: np.ndarray) -> dict[str, float]:
    """Return which uncertain inputs the range of a value comes from, the greatest first.

    Parameters
    ----------
    magnitudes : array of shape (1 + WAYS,)
        Above 0.

    Returns
    -------
    dict of str to float
        Share of the variance of the logarithm that goes with each input's scores; the columns are
        uncorrelated, so the shares add up to at most 1.
    """
    if not np.all(np.isfinite(magnitudes)) or np.ptp(magnitudes) == 0:
        return {}
    spread = np.log(magnitudes[1:])
    together = (spread - spread.mean()) @ scores()[1:]
    part = together**2 / (WAYS**2 * spread.var() * scores()[1:].var(axis=0))
    order = np.argsort(part)[::-1]
    return {UNCERTAIN[i]: float(part[i]) for i in order}


def ends(magnitudes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the ends of the 90 % range of arrays whose last axis is the ways."""
    return share_of(magnitudes, LOW), share_of(magnitudes, HIGH)
