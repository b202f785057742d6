"""Resist, stop-out, fill, lacquer: areas, coats, wet volumes on the basis of volume solids (ISO 3233).

Lacquer is worked as stop-out is: `stop_out_paint` on the lacquer's area, coats, film and solids;
what is sprayed, on the spray's loss in place of the brush's.
"""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.core.units import ONE
from etchcalc.process.plate import whole

QUARTER_ELLIPSE = constant("quarter_ellipse")

# ---- resist and stop-out


@formula(source="geometry")
def resist_area(*, blank_width, blank_height, resist_overlap, coated_faces, plate_count):
    """Return the resist to cut for all blanks, one face or both, overlap on every side."""
    piece = (blank_width + 2 * resist_overlap) * (blank_height + 2 * resist_overlap)
    return piece * coated_faces * plate_count


@formula(source="geometry")
def stop_out_area(
    *, blank_area, plate_width, plate_height, waste_margin, plate_thickness, plate_count
):
    """Return the backs and edges of all blanks."""
    edges = 2 * plate_thickness * (plate_width + plate_height + 4 * waste_margin)
    return plate_count * (blank_area + edges)


@formula(source="spreading_rate")
def stop_out_paint(*, stop_out_area, coats, coat_thickness, stop_out_solids, paint_loss):
    """Return the wet stop-out paint for all coats, brush loss counted."""
    return stop_out_area * coats * coat_thickness / stop_out_solids / (1 - paint_loss)


@formula(source="geometry")
def drying_time(*, coats, coat_interval):
    """Return the time until all coats are dry."""
    return coats * coat_interval


@formula(source="geometry")
def thinners_needed(*, stop_out_area, thinners_use):
    """Return the thinners that take the stop-out off again."""
    return stop_out_area * thinners_use


# ---- any paint


@formula(source="spreading_rate")
def thinned_solids(*, stop_out_solids, thinner_added):
    """Return the volume solids of a thinned paint: thinner brings none."""
    return stop_out_solids / (1 + thinner_added)


@formula(source="spreading_rate")
def wet_film(*, coat_thickness, stop_out_solids):
    """Return how thick to lay a coat so that its film is right when dry."""
    return coat_thickness / stop_out_solids


@formula(source="spreading_rate")
def spreading_rate(*, coat_thickness, stop_out_solids):
    """Return the area that a volume of paint covers in one coat, nothing lost."""
    return stop_out_solids / coat_thickness


@formula(source="spreading_rate")
def practical_spreading_rate(*, spreading_rate, paint_loss):
    """Return the area that a volume of paint covers in one coat, what is lost counted."""
    return spreading_rate * (1 - paint_loss)


@formula(source="geometry")
def paint_to_mix(*, wet_paint, mixing_margin):
    """Return the paint to mix, so that the pot does not run dry before the last line."""
    return wet_paint * (1 + mixing_margin)


@formula(source="geometry", method="paint over the contents of a tin, rounded up")
def tins_to_buy(*, wet_paint, tin_volume):
    """Return the whole tins that hold the paint."""
    return whole(wet_paint / tin_volume)


# ---- fill


@formula(source="geometry")
def film_open_area(*, open_area_of_all, edge_length, undercut):
    """Return what the films open where the drawing shows the finished lines: an undercut less."""
    return np.maximum(open_area_of_all - edge_length * undercut, 0 * open_area_of_all)


@formula(source="groove_section")
def groove_volume(*, open_area_of_all, edge_length, undercut, depth):
    """Return the volume of all grooves: open on the film, and a quarter ellipse under each edge.

    Parameters
    ----------
    open_area_of_all : Quantity
        As the film opens it, the undercut not counted.
    edge_length : Quantity
        All edges of all plates, two to a line; nothing for upright sides.
    undercut, depth : Quantity
        The half axes of the quarter ellipse, which is taken along the film's edge. An edge of
        radius r gives its part 0.42 · undercut / r more round a hole, as much less round an
        island: nothing to speak of where r is many undercuts.
    """
    return (open_area_of_all + edge_length * QUARTER_ELLIPSE * undercut) * depth


@formula(source="geometry")
def mean_groove_area(*, groove_volume, depth):
    """Return the open area that holds as much with upright sides: for the fill and the metal."""
    return groove_volume / depth


@formula(source="spreading_rate")
def fill_paint(*, open_area_of_all, depth, fill_solids, paint_loss):
    """Return the wet paint that leaves the lines full when dry, over several fills."""
    return open_area_of_all * depth / fill_solids / (1 - paint_loss)


@formula(source="shrinking_fill")
def filled_share(*, fill_solids, fills):
    """Return how full a groove is after so many fills, each dried before the next."""
    return 1 - (1 - fill_solids) ** fills.to(ONE)


@formula(source="shrinking_fill", method="ln(1 − share wanted) / ln(1 − solids), rounded up")
def fill_coats(*, wanted_fill, fill_solids):
    """Return the least number of fills after which the grooves are as full as wanted."""
    left = np.maximum(1 - fill_solids.to(ONE), 1e-9)
    return whole(np.log(1 - wanted_fill.to(ONE)) / np.log(left))


# ---- lacquer


@formula(source="geometry")
def lacquer_area(*, plate_width, plate_height, plate_count):
    """Return the finished faces of all plates."""
    return plate_count * plate_width * plate_height
