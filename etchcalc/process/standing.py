"""How plates stand in the tray: spacers under them, what they sag, tilting, level, water to add.

Plates lie face down on spacers. What the spacers must hold up is an elastic
strip; how high they stand is a matter of the ferric that has to lie under the
face; how far the tray may be tilted is its freeboard.
"""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.process.plate import whole

GRAVITY = constant("gravity")


# ---- how high


@formula(source="mass_balance")
def ferric_at_once(*, ferric_used, plate_count, plates_at_once):
    """Return the crystals that the plates lying in the tray at once use up."""
    return ferric_used / plate_count * plates_at_once


@formula(source="spacer_ferric", status="common practice")
def needed_spacer_height(*, ferric_at_once, strength_left, practical_stop, tray_length, tray_width):
    """Return the height of spacers under which enough ferric lies for the open metal.

    All etchant from the tray's floor up to the plates' face counts, that beside the plates
    too: tilting brings it under them. Of the ferric left in it the plates may take the share
    at which a bath is refreshed. To count the undercut, let the ferric used be that of the
    mean groove area.
    """
    return ferric_at_once / (strength_left * practical_stop) / (tray_length * tray_width)


# ---- how far apart


@formula(source="beam")
def sag(*, plate_thickness, metal_density, etchant_density, elastic_modulus, spacer_span):
    """Return what a plate sags between two spacers under its weight less its buoyancy.

    A strip on two bars: 5 w L⁴ / (384 E I) with w = (metal − etchant) g t and I = t³ / 12 to a
    width. On small feet at its four corners a square plate sags about twice as much.
    """
    return (
        5
        * (metal_density - etchant_density)
        * GRAVITY
        * spacer_span**4
        / (32 * elastic_modulus * plate_thickness**2)
    )


@formula(source="beam")
def spacer_span(*, plate_thickness, metal_density, etchant_density, elastic_modulus, accepted_sag):
    """Return how far apart spacers may stand for an accepted sag of the plate."""
    return (
        32
        * elastic_modulus
        * plate_thickness**2
        * accepted_sag
        / (5 * (metal_density - etchant_density) * GRAVITY)
    ) ** 0.25


@formula(
    source="three_points",
    status="common practice",
    method="three where neither side of the blank is longer than the span (two under one side, one "
    "under the middle of the other); else rows along both sides, no further apart than the span",
)
def spacer_count(*, blank_width, blank_height, spacer_span):
    """Return the spacers under one plate.

    A plate on three never rocks; more than three need a flat tray.
    """
    points = (whole(blank_width / spacer_span) + 1) * (whole(blank_height / spacer_span) + 1)
    return points - (points == 4)  # four corners alone: three do


@formula(source="geometry")
def spacers_volume(*, spacer_count, plates_at_once, spacer_foot, spacer_height):
    """Return the etchant that the spacers displace, those of all plates in the tray."""
    return spacer_count * plates_at_once * spacer_foot * spacer_height


# ---- tilting and level


@formula(source="geometry")
def greatest_tilt(*, tray_length, tray_depth, slosh_margin, etchant_level):
    """Return how far one end of the tray may be lifted before the other runs over.

    The surface stays level and rises at the low end by half the length times the slope. True
    while etchant reaches the high end; beyond that the tray holds a little more. Negative
    where it is too full to be tilted at all.
    """
    tilt_slope = 2 * (tray_depth - slosh_margin - etchant_level) / tray_length
    return tray_length * tilt_slope / np.sqrt(1 + tilt_slope**2)


@formula(source="geometry")
def shim_needed(*, bench_slope, tray_length, etchant_level, spacer_height):
    """Return the shim under the tray's low end, so that the etchant touches all of every face.

    The whole rise counts, as where the level was read at the low end; poured by volume, half
    of it lies above and half below, and less does.
    """
    face_cover = etchant_level - spacer_height
    return np.maximum(bench_slope * tray_length, face_cover) - face_cover


# ---- water


@formula(source="mass_balance")
def water_each_look(*, evaporation_rate, look_interval, look_pause):
    """Return the warm water to add at each look, for what has gone since the last."""
    return evaporation_rate * (look_interval + look_pause)


@formula(source="mass_balance")
def lid_saving(*, lid_cover, lid_loss):
    """Return the share of an open tray's loss, of heat and of water, that a lid keeps in."""
    return lid_cover * (1 - lid_loss)
