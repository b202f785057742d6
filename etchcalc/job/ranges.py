"""The ways in which a job may run: a few hundred fixed points of the uncertain inputs.

Every low and high of a plan comes from here. The points are passed as arrays
through the same plan as the middle, which is element 0 of the same arrays.
What is always uncertain is in `UNCERTAIN`; any other input is, where it is said
with a tolerance.
"""

from collections.abc import Callable, Sequence
from functools import cache, partial
from statistics import NormalDist
from zlib import crc32

import numpy as np

from etchcalc.core.term import Term
from etchcalc.core.units import Quantity, share_of
from etchcalc.core.vocabulary import VOCABULARY
from etchcalc.job.first_order import RECTANGULAR, Shape

WAYS = 256
LOW, HIGH = 0.05, 0.95
_NO_WIDTH = 1e-200  # in the place of a half width of nothing, by which nothing can be divided

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
    count = len(UNCERTAIN)
    columns, basis = np.zeros((WAYS + 1, count)), np.zeros((WAYS, count))
    for i, name in enumerate(UNCERTAIN):
        before = basis[:, :i]
        columns[1:, i] = _ordered(name, partial(_shared, before))
        left = columns[1:, i]
        for _ in range(2):  # once more takes away what rounding has left
            left = left - _shared(before, left)
        basis[:, i] = left / np.linalg.norm(left)
    return columns


def _shared(basis: np.ndarray, column: np.ndarray) -> np.ndarray:
    """Return what a column shares with others, of whose span the basis is orthonormal."""
    return basis @ (basis.T @ column)


@cache
def column(name: str) -> np.ndarray:
    """Return the scores of one input, shape (1 + WAYS,).

    One that is not in `UNCERTAIN` is turned away from all that are, whatever else is said with a
    tolerance: its column is always the same. Two such columns are correlated by chance only,
    mostly by less than 0.1.
    """
    if name in UNCERTAIN:
        return scores()[:, UNCERTAIN.index(name)]
    return np.append(0.0, _ordered(name, partial(_shared, _basis())))


@cache
def _basis() -> np.ndarray:
    return np.linalg.qr(scores()[1:])[0]


@cache
def _even() -> np.ndarray:
    quantile = NormalDist().inv_cdf
    return np.array([quantile((i + 0.5) / WAYS) for i in range(WAYS)])


def _ordered(name: str, shared: Callable) -> np.ndarray:
    """Return the even scores in the order of a name, what it shares with others taken off."""
    even = _even()
    # the old generator: its stream is promised never to change with a version of numpy
    column = np.random.RandomState(crc32(name.encode())).permutation(even)
    for _ in range(3):
        column = column - shared(column)
        column = even[column.argsort().argsort()]
    return column


def within(term: Term, quantity, half_width: float, name: str = "", shape: Shape = RECTANGULAR):
    """Return a quantity said with a ± as its middle and its ways.

    The ways are the inverse distribution at the same even shares, in the same order, whatever the
    shape. No way leaves what can be meant: a normal is truncated there, so that one that must
    stay above nothing does; ways of the other shapes that would lie beyond lie at the end.

    Parameters
    ----------
    term : Term
        Its vocabulary entry.
    quantity : Quantity
        The middle, a scalar; or of shape (n, 1), for an array of shape (n, 1 + WAYS).
    half_width : float
        In the term's metric unit.
    name : str
        Whose column it takes, where it is another name for the same thing.
    shape : Shape
        How the truth lies about the middle.
    """
    middle = quantity.to(term.unit).magnitude
    normal = NormalDist()
    shares = np.array([normal.cdf(score) for score in column(name or term.name)])
    half = max(half_width, _NO_WIDTH)
    off = shape.at(shares, (term.low - middle) / half, (term.high - middle) / half)
    off[..., 0] = 0.0  # the middle is as it was said, also where a normal is truncated on one side
    return Quantity(np.clip(middle + half_width * off, term.low, term.high), term.unit)


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
    score = column(term.name)
    middle = quantity.to(term.unit).magnitude
    spread_out = middle + width * score if term.additive else middle * np.exp(width * score)
    return Quantity(np.clip(spread_out, term.low, term.high), term.unit)


def shares(magnitudes: np.ndarray, also: Sequence[str] = ()) -> dict[str, float]:
    """Return which uncertain inputs the range of a value comes from, the greatest first.

    Parameters
    ----------
    magnitudes : array of shape (1 + WAYS,)
    also : sequence of str
        Inputs said with a tolerance, beside those that are always uncertain.

    Returns
    -------
    dict of str to float
        Share of the variance that goes with each input's scores: of the logarithm, where the value
        is above 0. The columns are uncorrelated, so the shares add up to at most about 1.
    """
    if not np.all(np.isfinite(magnitudes)) or np.ptp(magnitudes) == 0:
        return {}
    names = [*UNCERTAIN, *(name for name in also if name not in UNCERTAIN)]
    columns = np.hstack([scores(), *(column(n)[:, None] for n in names[len(UNCERTAIN) :])])[1:]
    spread = np.log(magnitudes[1:]) if np.min(magnitudes) > 0 else magnitudes[1:]
    together = (spread - spread.mean()) @ columns
    part = together**2 / (WAYS**2 * spread.var() * columns.var(axis=0))
    order = np.argsort(part)[::-1]
    return {names[i]: float(part[i]) for i in order}


def ends(magnitudes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the ends of the 90 % range of arrays whose last axis is the ways."""
    return share_of(magnitudes, LOW), share_of(magnitudes, HIGH)
