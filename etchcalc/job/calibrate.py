"""The forecast that learns: gauge readings of a job correct the model's rate.

Unknown are a, the logarithm of the true rate over the one worked out, and b,
by how much that drifts through the job: one unknown for the whole job, not a
new one at each reading. A reading at the share s of the job tells a + b s/2,
since the depth comes from the mean rate so far; the stop needs a + b/2. Prior
and gauge are normal, and the model nearly straight over their width, so Bayes'
rule is solved as a small least-squares problem, straightened a few times.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

SUSPECT = 3.0  # standard deviations from what the other readings foretell


@dataclass(frozen=True)
class Reading:
    """One gauge reading, as understood.

    Parameters
    ----------
    minutes : float
        Time in the bath.
    depth : float
        Depth below the metal's face in mm, the film under the gauge already taken off.
    wide : bool
        Read in a wide field instead of the finest line.
    """

    minutes: float
    depth: float
    wide: bool = False


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
        Spread of ln(rate) before any reading.
    drift : float
        Standard deviation of the drift of ln(rate) through the job.
    gauge_error : float
        Standard deviation of one reading in mm.

    Returns
    -------
    Learnt
    """
    job = _Job(readings, minutes_to, depth, np.array([prior, max(drift, 1e-6)]), gauge_error)
    kept = list(range(len(readings)))
    while (worst := job.worst(kept)) is not None:
        kept.remove(worst)
    mean, covariance = job.posterior(kept)
    stop = np.array([1.0, 0.5])
    suspect = tuple(i for i in range(len(readings)) if i not in kept)
    return Learnt(float(np.exp(stop @ mean)), float(np.sqrt(stop @ covariance @ stop)), suspect)


class _Job:
    """The readings against the model's own depth at a time, found by interpolation."""

    def __init__(self, readings, minutes_to, depth, spreads, gauge_error):
        self.minutes = np.array([r.minutes for r in readings])
        self.deep = np.array([r.depth for r in readings])
        self.wide = np.array([r.wide for r in readings], dtype=bool)
        self.spreads, self.gauge_error = spreads, gauge_error
        most = 4 * max([depth, *self.deep])
        self.depths = np.concatenate([[0.0], np.geomspace(most / 1000, most, 60)])
        self.times = [
            np.concatenate([[0.0], minutes_to(self.depths[1:], of)]) for of in (False, True)
        ]
        self.stop = float(np.interp(depth, self.depths, self.times[0]))

    def foretold(self, state: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the depth at each reading for (a, b), and how it moves with each of them."""
        share = np.minimum(self.minutes / (self.stop / np.exp(state[0])), 1.5)
        design = np.column_stack([np.ones(len(share)), share / 2])
        model = self.minutes * np.exp(design @ state)
        step = 1e-3 * model
        at, above = (self._depth_at(t) for t in (model, model + step))
        return at, (1000 * (above - at))[:, None] * design

    def _depth_at(self, minutes: np.ndarray) -> np.ndarray:
        line, wide = (np.interp(minutes, times, self.depths) for times in self.times)
        return np.where(self.wide, wide, line)

    def posterior(self, kept: list[int]) -> tuple[np.ndarray, np.ndarray]:
        """Return mean and covariance of (a, b) after some of the readings (Gauss and Newton)."""
        state, precision = np.zeros(2), np.diag(self.spreads**-2.0)
        covariance = np.linalg.inv(precision)
        for _ in range(8 if kept else 0):
            depth, slope = (found[kept] for found in self.foretold(state))
            weight = slope.T / self.gauge_error**2
            covariance = np.linalg.inv(precision + weight @ slope)
            state = covariance @ (weight @ (self.deep[kept] - depth + slope @ state))
        return state, covariance

    def worst(self, kept: list[int]) -> int | None:
        """Return the reading that fits the others worst, where it is suspect and one can tell."""
        if len(kept) < 3:
            return None
        scores = []
        for i in kept:
            mean, covariance = self.posterior([k for k in kept if k != i])
            depth, slope = (found[i] for found in self.foretold(mean))
            width = np.sqrt(slope @ covariance @ slope + self.gauge_error**2)
            scores.append(abs(self.deep[i] - depth) / width)
        worst = int(np.argmax(scores))
        return kept[worst] if scores[worst] > SUSPECT else None
