"""Stop-out and fill: areas, coats, wet volumes on the basis of volume solids (ISO 3233)."""

from etchcalc.core.formula import formula


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


@formula(source="spreading_rate")
def fill_paint(*, open_area_of_all, depth, fill_solids, paint_loss):
    """Return the wet paint that leaves the lines full when dry, over several fills."""
    return open_area_of_all * depth / fill_solids / (1 - paint_loss)
