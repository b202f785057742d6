"""What is measured on the plate: depth by weight, a section, what is left to do, late places."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.units import MINUTE, MM, ONE, Quantity


@formula(source="mass_balance")
def depth_by_weight(*, weight_lost, metal_density, open_area_of_all):
    """Return the mean depth over all open metal; wide fields count as much as they are wide."""
    return weight_lost / metal_density / open_area_of_all


@formula(source="ipc_t_50")
def measured_etch_factor(*, section_depth, section_line, section_film):
    """Return the etch factor of a measured groove: depth over the undercut at one edge."""
    return section_depth / ((section_line - section_film) / 2)


@formula(source="ipc_t_50")
def line_now(*, film_line, reached_depth, etch_factor):
    """Return how wide the finest line is now."""
    return film_line + 2 * reached_depth / etch_factor


@formula(
    source="geometry",
    method="(ordered depth − depth reached) / mean rate; nothing where it is deep enough",
)
def time_to_go(*, depth, reached_depth, etch_rate):
    """Return the time from now to the ordered depth."""
    left = (depth - reached_depth).to(MM).magnitude
    return Quantity(np.maximum(left, 0.0), MM) / etch_rate


@formula(
    source="geometry",
    status="assumed",
    method="depth · (1 − how late it cleared / etch time), at the mean rate of the others; nothing "
    "where it cleared after they were done",
)
def late_depth(*, depth, etch_time, cleared_late):
    """Return the depth of a place that cleared late, when the others are done.

    A groove slows as it deepens, so the late place catches up a little: this
    is rather too shallow than too deep.
    """
    late = (cleared_late.to(MINUTE) / etch_time.to(MINUTE)).to(ONE).magnitude
    return depth * np.maximum(1 - late, 0.0)


@formula(source="geometry")
def late_shortfall(*, depth, late_depth):
    """Return by how much a late place is shallower than ordered."""
    return depth - late_depth


@formula(source="geometry")
def shared_depth(*, depth, late_shortfall):
    """Return the others' depth when all go on for half of the difference.

    The late place then falls short by the other half.
    """
    return depth + late_shortfall / 2


@formula(source="ipc_t_50")
def shared_extra_width(*, late_shortfall, etch_factor):
    """Return how much wider the others' lines become: half the shortfall deeper, at two edges."""
    return late_shortfall / etch_factor
