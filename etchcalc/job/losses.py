"""What the undercut of a plan loses of its drawing, with the range of the undercut."""

from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from etchcalc.artwork.loss_words import COUNTER, ISLAND, LINE, POINTED, SEVERAL
from etchcalc.artwork.worker import Progress
from etchcalc.core import tables
from etchcalc.core.units import MM, ONE, Quantity
from etchcalc.job import drawing, ranges
from etchcalc.job.book import Values
from etchcalc.job.plan import Plan

_LINES, _ISLANDS = (LINE, COUNTER), (ISLAND,)


@dataclass(frozen=True)
class Losses:
    """What is lost at the middle of the undercut.

    Attributes
    ----------
    counts : dict of str to int
        How many of each kind.
    listed : list of dict
        `what`, `place`, `box` (mm from the top left) and `area` (mm²) of each, largest first.
    """

    counts: dict[str, int]
    listed: list[dict[str, Any]]

    @property
    def points_only(self) -> bool:
        """Whether nothing is lost but the tips of sharp corners."""
        return set(self.counts) <= {POINTED}

    @property
    def said(self) -> str:
        """What is lost, in words; empty where nothing is."""
        parts = [
            f"{count} {SEVERAL[what] if count > 1 else what}" for what, count in self.counts.items()
        ]
        return ", ".join(parts)


def looked_up(plan: Plan, progress: Progress | None = None) -> Plan:
    """Return a plan with what its undercut loses of the drawing: `lines_lost`, `islands_lost`.

    Of a film that is corrected lines can vanish, of one used as it is islands can float off. A
    plan without a drawing comes back as it is.

    Raises
    ------
    BadInput
        The drawing cannot be read again.
    """
    if plan.drawing is None or plan.drawing.found is None:
        return plan
    ways = np.broadcast_to(plan.book.values["undercut"].to(MM).magnitude, ranges.WAYS + 1)
    low, high = ranges.ends(ways[None, :])
    undercuts = [float(end) for end in (low[0], ways[0], high[0])]
    found = drawing.lost(plan.commission, plan.drawing, undercuts, progress)
    plan.book.finish()  # what waits would be worked in the old book
    book = copy(plan.book)
    book.values, book.basis = Values(book.values), dict(book.basis)
    nearest = np.abs(ways[:, None] - np.array(undercuts)).argmin(axis=1)
    nearest[0] = 1
    for name, kinds in (("lines_lost", _LINES), ("islands_lost", _ISLANDS)):
        counts = np.array([sum(each["counts"].get(kind, 0) for kind in kinds) for each in found])
        book.values[name] = Quantity(counts[nearest].astype(float), ONE)
        book.basis[name] = tables.weakest({"drawing", book.basis["undercut"]})
    return replace(plan, book=book, losses=Losses(found[1]["counts"], found[1]["listed"]))
