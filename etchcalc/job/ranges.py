"""The ways in which a job may run: a few hundred fixed points of the uncertain inputs.

Every low and high of a plan comes from here. The points are passed as arrays
through the same plan as the middle, which is element 0 of the same arrays.
"""

from functools import cache
from statistics import NormalDist

import numpy as np

from etchcalc.core.term import Term
from etchcalc.core.units import Quantity, share_of
from etchcalc.core.vocabulary import VOCABULARY

WAYS = 256
LOW, HIGH = 0.05, 0.95

# The widest first: the first columns of the sequence are the most even.
UNCERTAIN = tuple(
    sorted(
        (t.name for t in VOCABULARY.values() if t.spread),
        key=lambda name: -VOCABULARY[name].spread * (not VOCABULARY[name].additive),
    )
)


@cache
def scores() -> np.ndarray:
    """Return standard normal scores, shape (1 + WAYS, number of uncertain inputs).

    An additive recurrence on the generalised golden ratio (its constants from
    memory: Roberts 2018), each column ranked so that its own spread is exact,
    then a first row of zeros: the middle.
    """
    count = len(UNCERTAIN)
    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / (count + 1))
    steps = root ** -np.arange(1.0, count + 1)
    even = (0.5 + np.outer(np.arange(1, WAYS + 1), steps)) % 1
    quantile = NormalDist().inv_cdf
    column = np.array([quantile((i + 0.5) / WAYS) for i in range(WAYS)])
    normal = column[_ranks(even)]
    # so few points of so many inputs are a little correlated: undo that, rank again
    mixing = np.linalg.inv(np.linalg.cholesky(np.corrcoef(normal.T)))
    return np.vstack([np.zeros(count), column[_ranks(normal @ mixing.T)]])


def _ranks(points: np.ndarray) -> np.ndarray:
    return points.argsort(axis=0).argsort(axis=0)


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


def ends(magnitudes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the ends of the 90 % range of arrays whose last axis is the ways."""
    return share_of(magnitudes, LOW), share_of(magnitudes, HIGH)
