"""Paint: areas, coats and wet volumes against worked coverage examples."""

import pytest

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import coatings


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def paint(dry_film, solids, loss, area="1 m2", coats="1"):
    return coatings.stop_out_paint(
        stop_out_area=read(area),
        coats=read(coats),
        coat_thickness=Quantity(float(dry_film), unit("um")),
        stop_out_solids=Quantity(float(solids), unit("percent")),
        paint_loss=Quantity(float(loss), unit("percent")),
    )


@pytest.mark.published("paint.csv")
def test_spreading_rate(row, printed):
    volume = paint(row["dry_film"], row["solids"], row["loss"])
    rate = value(read("1 m2") / volume, "m^2/L")
    assert rate == printed(row["square_metres_per_litre"])
    if row["wet_film"]:
        assert value(volume / read("1 m2"), "um") == printed(row["wet_film"])


def test_a_coverage_sheet_in_american_units():
    # coating maker's sheet: 17 % solids, 1604.17 × 0.17 = 272.7 ft² to a US gallon at 1 mil
    volume = paint(25.4, 17, 0, area="272.7 ft2")
    assert value(volume, "US_liquid_gallon") == pytest.approx(1.0, abs=2e-4)


def test_two_coats_take_twice_the_paint():
    assert value(paint(25, 25, 12, coats="2") / paint(25, 25, 12)) == pytest.approx(2)


@pytest.mark.parametrize(
    ("loss", "millilitres"),
    # 40 cm² × 0.20 mm = 0.80 mL dry; 3.2 mL wet at 25 % volume solids (ISO 3233 basis); by brush
    # 12 % of the paint taken is lost, 3.2 / 0.88
    [("0 %", 3.2), ("12 %", 3.636), ("50 %", 6.4)],
)
def test_filling_a_recess(loss, millilitres):
    wet = coatings.fill_paint(
        open_area_of_all=read("40 cm2"),
        depth=read("0.20 mm"),
        fill_solids=read("25 %"),
        paint_loss=read(loss),
    )
    assert value(wet, "mL") == pytest.approx(millilitres, abs=5e-4)


def test_backs_and_edges_of_the_blanks():
    # two blanks of 144 × 69 × 1.6 mm: 144·69 + 2·(144 + 69)·1.6 mm² each, by hand 106.176 cm²
    area = coatings.stop_out_area(
        blank_area=read("9936 mm2"),
        plate_width=read("120 mm"),
        plate_height=read("45 mm"),
        waste_margin=read("12 mm"),
        plate_thickness=read("1.6 mm"),
        plate_count=read("2"),
    )
    assert value(area, "cm^2") == pytest.approx(212.352)
