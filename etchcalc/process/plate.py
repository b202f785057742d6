"""The blank: finished size plus the margin that is cut away; sheets and masses; rubbing down."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.units import MM, ONE, Quantity
from etchcalc.process.tray import plates_in_tray


def whole(quantity):
    """Return the least whole number that is not below, an error of rounding apart."""
    return Quantity(np.ceil(quantity.to(ONE).magnitude - 1e-9), ONE)


@formula(source="geometry")
def blank_width(*, plate_width, waste_margin):
    """Return the width to cut: the last saw cut, to the finished size, lies in the margin."""
    return plate_width + 2 * waste_margin


@formula(source="geometry")
def blank_height(*, plate_height, waste_margin):
    """Return the height to cut: the last saw cut, to the finished size, lies in the margin."""
    return plate_height + 2 * waste_margin


@formula(source="geometry")
def blank_area(*, plate_width, plate_height, waste_margin):
    """Return one face of the blank."""
    return (plate_width + 2 * waste_margin) * (plate_height + 2 * waste_margin)


@formula(source="geometry")
def open_area(*, open_fraction, plate_width, plate_height):
    """Return the open metal of one plate from its share of the finished face."""
    return open_fraction * plate_width * plate_height


@formula(source="geometry", method="whole rows times whole columns, turned the way that gives more")
def blanks_per_sheet(*, sheet_length, sheet_width, blank_width, blank_height, saw_kerf):
    """Return how many blanks a sheet gives: a saw cut between neighbours, none at its edges."""
    # plates in a tray keep their gap to its walls too: two cuts more make the sheet a tray
    room = sheet_length + 2 * saw_kerf, sheet_width + 2 * saw_kerf
    fitting = np.vectorize(lambda *sides: plates_in_tray(*Quantity(sides, MM)), otypes="d")
    sides = (side.to(MM).magnitude for side in (*room, blank_width, blank_height, saw_kerf))
    return Quantity(fitting(*sides), ONE)


@formula(source="geometry", method="blanks over those of a sheet, up; never, of none")
def sheets_to_buy(*, plate_count, blanks_per_sheet):
    """Return the whole sheets to buy; infinite where the blank does not fit the sheet."""
    with np.errstate(divide="ignore"):  # numpy's one divides by nothing, Python's does not
        return whole(plate_count / np.float64(1) / blanks_per_sheet.to(ONE))


@formula(source="mass_balance")
def blank_mass(*, blank_area, plate_thickness, metal_density):
    """Return the mass of one blank before it is etched."""
    return blank_area * plate_thickness * metal_density


@formula(source="mass_balance")
def metal_bought(*, sheets_to_buy, sheet_length, sheet_width, plate_thickness, metal_density):
    """Return the mass of the sheets bought, offcuts and saw dust included."""
    return sheets_to_buy * sheet_length * sheet_width * plate_thickness * metal_density


@formula(source="geometry")
def depth_to_etch(*, depth, rub_down):
    """Return how deep to etch so that the ordered depth is left after rubbing down."""
    return depth + rub_down


@formula(source="mass_balance")
def finished_mass(
    *, plate_width, plate_height, plate_thickness, rub_down, open_area, depth, metal_density
):
    """Return the mass of the finished plate, its paint not counted.

    Margin sawn off, face rubbed down, lines at the ordered depth below the rubbed face.
    """
    return (plate_width * plate_height * (plate_thickness - rub_down) - open_area * depth) * (
        metal_density
    )
