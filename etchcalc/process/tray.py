"""The tray: how deep to pour, how much that is, how often to tilt, what fits."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.units import MM, ONE, Quantity


@formula(source="geometry")
def etchant_level(*, liquid_depth, spacer_height, touching_margin, heater_cover):
    """Return the depth of etchant: what is poured, enough to wet the face and cover the heater."""
    return np.maximum(np.maximum(liquid_depth, spacer_height + touching_margin), heater_cover)


@formula(source="geometry")
def etchant_volume(*, tray_length, tray_width, etchant_level):
    """Return the etchant for a level; plates and heater displace a little of it."""
    return tray_length * tray_width * etchant_level


@formula(source="spent_layer")
def pooling_interval(
    *, spacer_height, open_fraction, etch_rate, ferric_demand, ferric_concentration
):
    """Return the time in which spent liquor fills a third of the gap under the plate."""
    return spacer_height / 3 / (open_fraction * etch_rate * ferric_demand / ferric_concentration)


@formula(source="spent_layer")
def tilt_interval(*, pooling_interval, tilt_habit):
    """Return the time between tiltings: the pooling of spent liquor, or the habit if sooner."""
    return np.minimum(pooling_interval, tilt_habit)


def plates_in_tray(length, width, plate_length, plate_width, gap) -> int:
    """Return how many plates lie side by side in a tray, all turned the same way.

    Parameters
    ----------
    length, width : Quantity
        Inside of the tray.
    plate_length, plate_width : Quantity
        The blank's two sides.
    gap : Quantity
        Between plates and to the walls.
    """
    return max(n * m for n, m in _grids(length, width, plate_length, plate_width, gap))


def _grids(length, width, plate_length, plate_width, gap):
    """Return how many plates lie along and across, both ways round: straight, then turned."""

    def along(room, size) -> int:
        return max(int(((room - gap) / (size + gap)).to(ONE).magnitude + 1e-9), 0)

    sides = ((plate_length, plate_width), (plate_width, plate_length))
    return [(along(length, a), along(width, b)) for a, b in sides]


def places_in_tray(length, width, plate_length, plate_width, gap, heater_length, heater_width):
    """Return where the plates of `plates_in_tray` lie, seen from above, to be drawn to scale.

    The heater stands in the corner furthest from the one where x and y begin; plates that
    would come nearer to it than the gap are left out, and the way round is the one that keeps
    more of them.

    Parameters
    ----------
    length, width, plate_length, plate_width, gap : Quantity
        As of `plates_in_tray`; the length runs along x.
    heater_length, heater_width : Quantity
        What the heater takes along x and y; nothing for no heater.

    Returns
    -------
    list of tuple of Quantity
        Corner x and y nearest to where they begin, size along x and along y, in mm.
    """
    straight, turned = _grids(length, width, plate_length, plate_width, gap)
    sizes = (length - heater_length, width - heater_width, plate_length, plate_width, gap)
    free_x, free_y, a, b, space = (float(size.to(MM).magnitude) for size in sizes)

    def laid(grid, along, across):
        corners = [
            (space + i * (along + space), space + j * (across + space))
            for j in range(grid[1])
            for i in range(grid[0])
        ]
        return [
            tuple(Quantity(mm, MM) for mm in (x, y, along, across))
            for x, y in corners
            if x + along + space <= free_x + 1e-6 or y + across + space <= free_y + 1e-6
        ]

    return max(laid(straight, a, b), laid(turned, b, a), key=len)
