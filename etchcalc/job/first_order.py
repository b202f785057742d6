"""What is known of a result by how it leans on each input: JCGM 100, the law of propagation.

The leanings are found by working the model once more with each input moved by
its own standard uncertainty up and down (JCGM 100, 5.1.3 note 2), all in one
call over arrays.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np

FINE = 0.1  # of an uncertainty: a step that the third derivative does not blur
Pairs = Mapping[tuple[str, str], float]
_share_below = np.vectorize(NormalDist().cdf, otypes=[float])
_score = np.vectorize(NormalDist().inv_cdf, otypes=[float])


@dataclass(frozen=True)
class Shape:
    """How the truth may lie about a middle, counted in half widths.

    Parameters
    ----------
    name : {"normal", "rectangular", "triangular"}
    coverage : float
        How many standard uncertainties the half width is.
    """

    name: str
    coverage: float

    def at(self, shares, least=-np.inf, most=np.inf) -> np.ndarray:
        """Return the places below which shares lie: the inverse distribution (JCGM 101, C.2).

        Parameters
        ----------
        shares : array
            Between 0 and 1, ends left out.
        least, most : float or array
            Where a normal is truncated, in half widths from its middle; what lies beyond is spread
            over what lies within. The others end by themselves.
        """
        if self.name == "rectangular":  # JCGM 101, 6.4.2
            return 2 * shares - 1
        if self.name == "triangular":  # JCGM 101, 6.4.5
            return np.sign(shares - 0.5) * (1 - np.sqrt(2 * np.minimum(shares, 1 - shares)))
        low, high = (_share_below(self.coverage * np.asarray(end)) for end in (least, most))
        return _score(low + shares * (high - low)) / self.coverage


NORMAL = Shape("normal", 1.0)
RECTANGULAR = Shape("rectangular", 3.0**0.5)  # JCGM 100, 4.3.7
TRIANGULAR = Shape("triangular", 6.0**0.5)  # JCGM 100, 4.3.9


@dataclass(frozen=True)
class Estimate:
    """What is known of one input.

    Parameters
    ----------
    middle : float
    uncertainty : float
        Standard uncertainty.
    freedom : float
        Degrees of freedom of the uncertainty: of a mean of n readings, n − 1.
    shape : Shape or callable
        A normal one of few degrees of freedom is a t. Else a function of (generator, draws) that
        returns draws of mean 0 and standard deviation 1.
    """

    middle: float
    uncertainty: float
    freedom: float = np.inf
    shape: Shape | Callable[[Any, int], np.ndarray] = NORMAL


def rectangular(low: float, high: float) -> Estimate:
    """Return what is known of an input that lies between two ends, none likelier (JCGM 100, 4.3.7)."""
    half = (high - low) / 2
    return Estimate((low + high) / 2, half / RECTANGULAR.coverage, shape=RECTANGULAR)


@dataclass(frozen=True)
class Combined:
    """A result of the law of propagation.

    Parameters
    ----------
    value : float
        The result at the middles.
    mean : float
        The same, with the mean bend of the model where the second order was asked for.
    uncertainty : float
        Combined standard uncertainty.
    contributions : dict of str to float
        How far one standard uncertainty of each input moves the result, with its sign.
    freedom : float
        Effective degrees of freedom (Welch and Satterthwaite: JCGM 100, G.4.1).
    """

    value: float
    mean: float
    uncertainty: float
    contributions: dict[str, float]
    freedom: float

    def ends(self, share: float = 0.95) -> tuple[float, float]:
        """Return the ends of the range that holds the truth with that chance."""
        reach = coverage_factor(self.freedom, share) * self.uncertainty
        return self.mean - reach, self.mean + reach


def first_order(
    model: Callable[..., Any],
    inputs: Mapping[str, Estimate],
    correlation: Pairs | None = None,
    second: bool = False,
) -> Combined:
    """Return a result and its combined standard uncertainty.

    Parameters
    ----------
    model : callable
        Takes the inputs by name as arrays of equal shape and returns an array of it.
    inputs : mapping of str to Estimate
    correlation : mapping of (str, str) to float, optional
        Of pairs of inputs; it counts in the first order only.
    second : bool
        Add the terms of the second order, for inputs that are normal (JCGM 100, 5.1.2 note).

    Returns
    -------
    Combined
    """
    moved = _Moved(model, inputs, FINE if second else 1.0)
    slopes = np.array([moved.slope(i) for i in range(len(inputs))])
    variance = float(slopes @ correlations(list(inputs), correlation) @ slopes)
    bend = 0.0
    if second:
        bend, more = moved.second(slopes)
        variance += more
    freedoms = np.array([each.freedom for each in inputs.values()])
    below = float(np.sum(slopes**4 / freedoms))
    first = float(slopes @ slopes)
    value = moved.at({})
    return Combined(
        value,
        value + bend,
        variance**0.5,
        dict(zip(inputs, slopes.tolist(), strict=True)),
        first**2 / below if below else np.inf,
    )


def correlations(names: Sequence[str], pairs: Pairs | None) -> np.ndarray:
    """Return the matrix of correlations of inputs in order."""
    matrix = np.eye(len(names))
    for (one, other), how in (pairs or {}).items():
        i, j = names.index(one), names.index(other)
        matrix[i, j] = matrix[j, i] = how
    return matrix


def coverage_factor(freedom: float, share: float = 0.95) -> float:
    """Return how many standard uncertainties reach to either end of a range (JCGM 100, G.3).

    Parameters
    ----------
    freedom : float
        1 or more, cut to a whole number as G.4.1 has it.
    share : float
        Chance that the truth lies within, 0 to 1.
    """
    if not freedom < 1e4:
        return NormalDist().inv_cdf((1 + share) / 2)
    low, high = 0.0, np.pi / 2  # the angle whose tangent is t/√ν: the share rises with it
    for _ in range(60):
        angle = (low + high) / 2
        low, high = (angle, high) if _within(angle, int(freedom)) < share else (low, angle)
    return float(np.tan(low) * int(freedom) ** 0.5)


def _within(angle: float, freedom: int) -> float:
    """Return the share of a t within √ν tan(angle): the finite sums of whole degrees of freedom."""
    odd = freedom % 2
    term = total = float(np.cos(angle)) if odd else 1.0
    if freedom == 1:
        total = 0.0
    for k in range(2 + odd, freedom - 1, 2):
        term *= float(np.cos(angle)) ** 2 * (k - 1) / k
        total += term
    return 2 / np.pi * (angle + np.sin(angle) * total) if odd else float(np.sin(angle) * total)


class _Moved:
    """A model worked with its inputs moved by whole steps of their uncertainties, in one call."""

    def __init__(self, model, inputs: Mapping[str, Estimate], step: float):
        count = len(inputs)
        one = [{i: s * k} for i in range(count) for s in (1, -1) for k in (1, 2)]
        two = [
            {i: a, j: b} for i in range(count) for j in range(i) for a in (1, -1) for b in (1, -1)
        ]
        moves: list[dict[int, int]] = [{}, *one, *two]
        table = np.array([[move.get(i, 0) for i in range(count)] for move in moves], dtype=float)
        columns = {
            name: each.middle + step * each.uncertainty * table[:, i]
            for i, (name, each) in enumerate(inputs.items())
        }
        values = np.broadcast_to(np.asarray(model(**columns), dtype=float), len(moves))
        self.count, self.step = count, step
        self.known = {frozenset(m.items()): float(v) for m, v in zip(moves, values, strict=True)}

    def at(self, move: dict[int, int]) -> float:
        """Return the result where input i is moved by so many steps."""
        return self.known[frozenset(move.items())]

    def slope(self, i: int) -> float:
        """Return the change for one standard uncertainty."""
        return (self.at({i: 1}) - self.at({i: -1})) / 2 / self.step

    def second(self, slopes: np.ndarray) -> tuple[float, float]:
        """Return the mean bend of the result, and what the second order adds to its variance."""
        bend, variance, here = 0.0, 0.0, self.at({})
        square, cube = self.step**2, self.step**3
        for i in range(self.count):
            up, down = self.at({i: 1}), self.at({i: -1})
            own = (up - 2 * here + down) / square
            third = (self.at({i: 2}) - 2 * up + 2 * down - self.at({i: -2})) / 2 / cube
            bend += own / 2
            variance += own**2 / 2 + slopes[i] * third
            for j in range(self.count):
                if i != j:
                    both = {(a, b): self.at({i: a, j: b}) for a in (1, -1) for b in (1, -1)}
                    cross = both[1, 1] - both[1, -1] - both[-1, 1] + both[-1, -1]
                    third = (
                        both[1, 1] + both[1, -1] - 2 * up - both[-1, 1] - both[-1, -1] + 2 * down
                    )
                    variance += (cross / 4 / square) ** 2 / 2 + slopes[i] * third / 2 / cube
        return bend, float(variance)
