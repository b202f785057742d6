"""The forecast that learns: gauge readings of a job correct the model's rate.

Unknown are a, the logarithm of the true rate over the one worked out, and b,
by how much that drifts through the job: one unknown for the whole job, not a
new one at each reading. A reading at the share s of the job tells a + b s/2,
since the depth comes from the mean rate so far; the stop needs a + b/2. Prior
and gauge are normal, and the model nearly straight over their width, so Bayes'
rule is solved as a small least-squares problem, straightened a few times.
What the shop's earlier jobs taught moves and narrows the prior. Measured
sections correct the etch factor likewise, which is straight in its logarithm.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

SUSPECT = 3.0  # standard deviations from what the other readings foretell
# A prior so wide that the readings speak alone: what is kept of a job for the shop's next ones.
ALONE = 3.0
STEPS = 30  # at most; a few are mostly enough
MOST = 6.0  # ln of a correction beyond what can be meant


@dataclass(frozen=True)
class Reading:
    """One gauge reading, as understood.

    Parameters
    ----------
    minutes : float
        Time in the bath.
    depth : float
        Depth below the metal's face in mm, the film under the gauge already taken off.
    kind : str
        Read in the finest ``line``, in a wide ``field``, or the ``mean`` of both, by weight.
    error : float or None
        Its own standard deviation in mm; the gauge's where nothing is said.
    field : float
        How much of a ``mean`` is a wide field's depth, the rest the finest line's: 0 to 1.
    """

    minutes: float
    depth: float
    kind: str = "line"
    error: float | None = None
    field: float = 0.5


@dataclass(frozen=True)
class Learnt:
    """What readings tell of the rate.

    Parameters
    ----------
    correction : float
        True mean rate to the stop over the one worked out, the median.
    spread : float
        Standard deviation of its logarithm.
    suspect : tuple of int
        Readings, counted from 0, that do not fit the others and were left out.
    """

    correction: float
    spread: float
    suspect: tuple[int, ...] = ()


def learnt(
    readings: Sequence[Reading],
    minutes_to: Callable[[np.ndarray, bool], np.ndarray],
    depth: float,
    *,
    prior: float,
    drift: float,
    gauge_error: float,
) -> Learnt:
    """Return the correction of the rate after some readings.

    Parameters
    ----------
    readings : sequence of Reading
    minutes_to : callable
        Minutes that the model takes to depths in mm (array, wide field or not).
    depth : float
        Ordered depth of the finest line in mm.
    prior : float
        Spread of ln(rate) before any reading, about the model (or what earlier jobs made of it); `ALONE` for what the readings tell by themselves.
    drift : float
        Standard deviation of the drift of ln(rate) through the job.
    gauge_error : float
        Standard deviation in mm of a reading that says none of its own.

    Returns
    -------
    Learnt
    """
    spreads = np.array([prior, max(drift, 1e-6)])
    job = _Job(readings, minutes_to, depth, spreads, gauge_error)
    kept = list(range(len(readings)))
    while (worst := job.worst(kept)) is not None:
        kept.remove(worst)
    mean, covariance = job.posterior(kept)
    stop = np.array([1.0, 0.5])
    suspect = tuple(i for i in range(len(readings)) if i not in kept)
    return Learnt(float(np.exp(stop @ mean)), float(np.sqrt(stop @ covariance @ stop)), suspect)


def factor_learnt(
    factors: Sequence[float], *, prior_mean: float, prior_spread: float, error: float
) -> tuple[float, float]:
    """Return the correction of the etch factor after some measured sections.

    Parameters
    ----------
    factors : sequence of float
        Measured etch factors, each over the usual one.
    prior_mean, prior_spread : float
        ln of the correction before any section, and its standard deviation.
    error : float
        Standard deviation of ln of one measured factor.

    Returns
    -------
    correction : float
        The median.
    spread : float
        Standard deviation of its logarithm.
    """
    precision = prior_spread**-2 + len(factors) * error**-2
    told = prior_mean * prior_spread**-2 + float(np.sum(np.log(factors))) * error**-2
    return float(np.exp(told / precision)), float(precision**-0.5)


def _reached(depths: np.ndarray, minutes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return minutes and depths from the metal's face on, until the bath is spent."""
    ever = np.isfinite(minutes)
    return np.concatenate([[0.0], minutes[ever]]), np.concatenate([[0.0], depths[ever]])


class _Job:
    """The readings against the model's own depth at a time, found by interpolation."""

    def __init__(self, readings, minutes_to, depth, spreads, gauge_error):
        self.minutes = np.array([r.minutes for r in readings])
        self.deep = np.array([r.depth for r in readings])
        self.errors = np.array([gauge_error if r.error is None else r.error for r in readings])
        # how much of each reading is a wide field's depth
        self.fields = np.array([{"line": 0.0, "field": 1.0}.get(r.kind, r.field) for r in readings])
        self.precision = np.diag(spreads**-2.0)
        most = 4 * max([depth, *self.deep])
        depths = np.geomspace(most / 1000, most, 60)
        self.curves = [_reached(depths, minutes_to(depths, of)) for of in (False, True)]
        self.stop = float(np.interp(depth, *self.curves[0][::-1]))
        # a as each reading tells it alone: the search begins where the model's depth still moves
        # with time, which it does not where its bath was spent long before the reading
        line, field = (np.interp(self.deep, *curve[::-1]) for curve in self.curves)
        model = np.maximum(line + self.fields * (field - line), 1e-9)
        self.begun = np.clip(np.log(model / self.minutes), -MOST, MOST)

    def foretold(self, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the depth at each reading for (a, b), and how it moves with each of them."""
        share = np.minimum(self.minutes / (self.stop / np.exp(state[0])), 1.5)
        design = np.column_stack([np.ones(len(share)), share / 2])
        model = self.minutes * np.exp(design @ state)
        step = 1e-3 * model
        at, above = (self._depth_at(t) for t in (model, model + step))
        return at, (1000 * (above - at))[:, None] * design

    def _depth_at(self, minutes: np.ndarray) -> np.ndarray:
        line, field = (np.interp(minutes, *curve) for curve in self.curves)
        return line + self.fields * (field - line)

    def posterior(self, kept: list[int]) -> tuple[np.ndarray, np.ndarray]:
        """Return mean and covariance of (a, b) after some of the readings (Gauss and Newton)."""
        if not kept:
            return np.zeros(2), np.linalg.inv(self.precision)
        state = np.array([np.min(self.begun[kept]), 0.0])
        for _ in range(STEPS):
            depth, slope = (found[kept] for found in self.foretold(state))
            weight = slope.T / self.errors[kept] ** 2
            covariance = np.linalg.inv(self.precision + weight @ slope)
            rest = weight @ (self.deep[kept] - depth + slope @ state)
            step = covariance @ (rest) - state
            # by no more than a factor e at a time: the depth is exponential in the state
            state = state + np.clip(step, -1.0, 1.0)
            if np.max(np.abs(step)) < 1e-7:
                break
        return state, covariance

    def worst(self, kept: list[int]) -> int | None:
        """Return the reading that fits the others worst, where it is suspect and one can tell."""
        if len(kept) < 3:
            return None
        scores = []
        for i in kept:
            mean, covariance = self.posterior([k for k in kept if k != i])
            depth, slope = (found[i] for found in self.foretold(mean))
            width = np.sqrt(slope @ covariance @ slope + self.errors[i] ** 2)
            scores.append(abs(self.deep[i] - depth) / width)
        worst = int(np.argmax(scores))
        return kept[worst] if scores[worst] > SUSPECT else None
