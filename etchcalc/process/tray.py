"""The tray: how deep to pour, how much that is, how often to tilt, what fits."""

import numpy as np

from etchcalc.core.formula import formula


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

    def along(room, size) -> int:
        return int(((room - gap) / (size + gap)).to("dimensionless").magnitude + 1e-9)

    straight = along(length, plate_length) * along(width, plate_width)
    turned = along(length, plate_width) * along(width, plate_length)
    return max(straight, turned, 0)
