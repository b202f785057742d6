"""What is known of a result by working it for many draws of its inputs: JCGM 101.

Results that share an input share its draws, so they go together as they do on
the bench. The plan does the same with its own few hundred fixed ways (`ranges`).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from etchcalc.job.first_order import NORMAL, Estimate, Pairs, Shape, correlations


@dataclass(frozen=True)
class Drawn:
    """One or several results over many draws.

    Parameters
    ----------
    values : array of shape (draws,) or (results, draws)
    """

    values: np.ndarray

    @property
    def mean(self):
        """The mean of each result."""
        return self.values.mean(axis=-1)

    @property
    def uncertainty(self):
        """The standard uncertainty of each result."""
        return self.values.std(axis=-1, ddof=1)

    @property
    def correlation(self) -> np.ndarray:
        """How the results go together."""
        return np.corrcoef(self.values)

    def ends(self, share: float = 0.95):
        """Return the ends of the range that holds a share, as much left out on either side."""
        return np.quantile(self.values, [(1 - share) / 2, (1 + share) / 2], axis=-1)

    def shortest(self, share: float = 0.95):
        """Return the ends of the narrowest range that holds a share (JCGM 101, 5.3.4)."""
        ordered = np.sort(self.values, axis=-1)
        inside = round(share * ordered.shape[-1])
        widths = ordered[..., inside:] - ordered[..., :-inside]
        first = widths.argmin(axis=-1)[..., None]
        ends = [np.take_along_axis(ordered, first + step, -1)[..., 0] for step in (0, inside)]
        return np.array(ends)


def propagate(
    model: Callable[..., Any],
    inputs: Mapping[str, Estimate],
    draws: int = 200_000,
    seed: int = 1,
    correlation: Pairs | None = None,
) -> Drawn:
    """Return a model's results over draws of its inputs.

    Parameters
    ----------
    model : callable
        Takes the inputs by name as arrays of shape (draws,); returns one array of it, or several.
    inputs : mapping of str to Estimate
    draws : int
        JCGM 101, 7.2.2: a million for two figures of a 95 % range.
    seed : int
        Of the generator: the same gives the same draws.
    correlation : mapping of (str, str) to float, optional
        Of pairs of normal inputs.

    Returns
    -------
    Drawn
    """
    # the old generator: its stream is promised never to change with a version of numpy
    random = np.random.RandomState(seed)
    scores = {name: _scores(each, random, draws) for name, each in inputs.items()}
    if correlation:
        names = list(dict.fromkeys(name for pair in correlation for name in pair))
        root = np.linalg.cholesky(correlations(names, correlation))
        together = root @ np.array([scores[name] for name in names])
        scores.update(zip(names, together, strict=True))
    columns = {n: each.middle + each.uncertainty * scores[n] for n, each in inputs.items()}
    return Drawn(np.asarray(model(**columns), dtype=float))


def _scores(each: Estimate, random, draws: int) -> np.ndarray:
    if not isinstance(each.shape, Shape):
        return each.shape(random, draws)
    if each.shape.name != NORMAL.name:
        return each.shape.coverage * each.shape.at(random.uniform(size=draws))
    if np.isfinite(each.freedom):
        return random.standard_t(each.freedom, draws)
    return random.standard_normal(draws)
