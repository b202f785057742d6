"""The blank: finished size plus the margin that is cut away."""

from etchcalc.core.formula import formula


@formula(source="geometry")
def blank_area(*, plate_width, plate_height, waste_margin):
    """Return one face of the blank."""
    return (plate_width + 2 * waste_margin) * (plate_height + 2 * waste_margin)


@formula(source="geometry")
def open_area(*, open_fraction, plate_width, plate_height):
    """Return the open metal of one plate from its share of the finished face."""
    return open_fraction * plate_width * plate_height
