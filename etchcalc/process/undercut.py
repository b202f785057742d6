"""Sideways growth: film compensation, narrowest line and land, greatest depth.

The etch factor is depth over undercut at one edge (IPC-T-50), not its inverse.
"""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.units import MM, ONE, Quantity

_WIDTHS, _FACTORS = (0.2, 0.5), (1.25, 1.4)


@formula(
    source="still_tray_etch_factor",
    status="common practice",
    method="1.25 for lines to 0.2 mm, 1.4 from 0.5 mm, straight between; 90 % range about 1.0 to 1.9",
)
def usual_etch_factor(*, line_width):
    """Return the etch factor to start from in a still tray, before any test strip."""
    width = line_width.to(MM).magnitude
    return Quantity(np.interp(width, _WIDTHS, _FACTORS), ONE)


@formula(source="ipc_t_50")
def etch_factor(*, usual_etch_factor, etch_factor_correction):
    """Return the etch factor of this shop."""
    return usual_etch_factor * etch_factor_correction


@formula(source="ipc_t_50")
def undercut(*, depth, etch_factor):
    """Return the undercut at one edge of a groove."""
    return depth / etch_factor


@formula(source="geometry")
def film_line(*, finest_line, undercut):
    """Return how wide to draw a line on the film; not above nothing where it cannot be had."""
    return finest_line - 2 * undercut


@formula(source="geometry")
def film_line_compensation(*, undercut):
    """Return the film width less the finished width of a line: negative."""
    return -2 * undercut


@formula(source="geometry")
def greatest_depth(*, etch_factor, finest_line, narrowest_film_line):
    """Return the greatest depth of a line whose film is corrected for the undercut."""
    return etch_factor * (finest_line - narrowest_film_line) / 2


@formula(source="geometry")
def line_limit(*, etch_factor, finest_line, drawn_line):
    """Return the depth at which a line of the film as it is reaches its finished width."""
    return etch_factor * (finest_line - drawn_line) / 2


@formula(source="geometry")
def land_limit(*, etch_factor, drawn_land, narrowest_resist_land):
    """Return the depth at which the resist over the narrowest land has lost its hold."""
    return etch_factor * (drawn_land - narrowest_resist_land) / 2


@formula(source="geometry")
def narrowest_finished_line(*, narrowest_film_line, undercut):
    """Return the narrowest finished line that a depth allows."""
    return narrowest_film_line + 2 * undercut
