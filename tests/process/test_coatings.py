"""Paint: areas, coats and wet volumes against worked coverage examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import coatings


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def percent(number):
    return Quantity(float(number), unit("percent"))


def film(dry_film, solids, name="um"):
    return {
        "coat_thickness": Quantity(float(dry_film), unit(name)),
        "stop_out_solids": percent(solids),
    }


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
        assert value(coatings.wet_film(**film(row["dry_film"], row["solids"])), "um") == printed(
            row["wet_film"]
        )
    covered = coatings.practical_spreading_rate(
        spreading_rate=coatings.spreading_rate(**film(row["dry_film"], row["solids"])),
        paint_loss=percent(row["loss"]),
    )
    assert value(covered, "m^2/L") == printed(row["square_metres_per_litre"])


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


@pytest.mark.parametrize(
    # 231 in³ at a thousandth of an inch: 1604.17 ft² to a US gallon of solids; 17 % of that
    ("solids", "square_feet"),
    [(100, "1604.17"), (17, "272.7")],
)
def test_spreading_rate_in_american_units(solids, square_feet, printed):
    rate = coatings.spreading_rate(**film(1, solids, "thou"))
    assert value(rate, "ft^2/US_liquid_gallon") == printed(square_feet)


@pytest.mark.parametrize(("dry", "wet"), [(0.51, 3), (0.85, 5)])
def test_wet_film_of_a_coverage_sheet(dry, wet):
    # coating maker's sheet: 17 % solids, 3 to 5 mil wet dry to 0.51 to 0.85 mil
    assert value(coatings.wet_film(**film(dry, 17, "thou")), "thou") == pytest.approx(wet)


def test_paint_is_area_over_spreading_rate():
    # 1 m² of two coats, 20 µm of 25 % solids, half lost: 6.25 m²/L, 0.32 L
    assert value(paint(20, 25, 50, coats="2"), "mL") == pytest.approx(320)


@given(solids=st.floats(5, 100), added=st.floats(0, 300))
def test_thinner_brings_no_solids(solids, added):
    thinned = coatings.thinned_solids(stop_out_solids=percent(solids), thinner_added=percent(added))
    litres = 1 + added / 100
    assert value(thinned) * litres == pytest.approx(solids / 100, rel=1e-9)


def test_resist_with_overlap():
    # by hand: (144 + 10) · (69 + 10) mm², two faces of three blanks
    area = coatings.resist_area(
        blank_width=read("144 mm"),
        blank_height=read("69 mm"),
        resist_overlap=read("5 mm"),
        coated_faces=read("2"),
        plate_count=read("3"),
    )
    assert value(area, "mm^2") == pytest.approx(6 * 154 * 79)


def test_the_finished_faces_are_lacquered():
    area = coatings.lacquer_area(
        plate_width=read("6 in"), plate_height=read("4 in"), plate_count=read("3")
    )
    assert value(area, "inch^2") == pytest.approx(72)


def test_times_and_thinners():
    drying = coatings.drying_time(coats=read("3"), coat_interval=read("1.5 h"))
    assert value(drying, "hour") == pytest.approx(4.5)
    thinners = coatings.thinners_needed(
        stop_out_area=read("400 cm2"), thinners_use=read("0.5 L/m2")
    )
    assert value(thinners, "mL") == pytest.approx(20)  # 0.04 m² · 0.5 L/m²


def test_a_margin_to_mix():
    mixed = coatings.paint_to_mix(wet_paint=read("30 mL"), mixing_margin=read("20 %"))
    assert value(mixed, "mL") == pytest.approx(36)


@pytest.mark.parametrize(
    ("wet", "tin", "tins"),
    # 1 US fl oz = 29.5735 mL (NIST): four of them are 118.3 mL
    [("99 mL", "100 mL", 1), ("0.3 L", "100 mL", 3), ("301 mL", "100 mL", 4), ("0.9 L", "30 mL", 30), ("118.2 mL", "4 US fl oz", 1),
     ("118.4 mL", "4 US fl oz", 2)],
)  # fmt: skip
def test_whole_tins(wet, tin, tins):
    assert value(coatings.tins_to_buy(wet_paint=read(wet), tin_volume=read(tin))) == tins


def grooves(open_area, edges, undercut, depth):
    return coatings.groove_volume(
        open_area_of_all=Quantity(open_area, unit("mm^2")),
        edge_length=Quantity(edges, unit("mm")),
        undercut=Quantity(undercut, unit("mm")),
        depth=Quantity(depth, unit("mm")),
    )


def grown(height, undercut, depth):
    """How far a side stands out under the resist at a height above the floor: an ellipse."""
    return undercut * np.sqrt(1 - (1 - height / depth) ** 2)


@given(film_width=st.floats(0.1, 2), depth=st.floats(0.05, 1), factor=st.floats(0.7, 3))
def test_groove_against_integration(film_width, depth, factor):
    # a straight groove of 100 mm, its section integrated from the floor to the face by scipy
    undercut = depth / factor
    section, _ = quad(lambda z: film_width + 2 * grown(z, undercut, depth), 0, depth, epsabs=1e-12)
    volume = grooves(100 * film_width, 200.0, undercut, depth)
    assert value(volume, "mm^3") == pytest.approx(100 * section, rel=1e-6)


@pytest.mark.parametrize(("side", "radius"), [(1, 2.0), (1, 20.0), (-1, 2.0), (-1, 20.0)])
def test_round_holes_and_islands(side, radius):
    # a round hole, or an island in a field of 50 × 50 mm: 4 / (3 π) · undercut / radius of the
    # part under the edge is left out (worked out by hand: ∫ π (r ± x)² over the depth)
    undercut, depth = 0.2, 0.3
    field, edge = (0.0 if side > 0 else 2500.0), 2 * np.pi * radius

    def area(height):
        return field + side * np.pi * (radius + side * grown(height, undercut, depth)) ** 2

    whole, _ = quad(area, 0, depth, epsabs=1e-10)
    upright = field + side * np.pi * radius**2
    part = value(grooves(upright, edge, undercut, depth), "mm^3") - upright * depth
    left_out = whole - upright * depth - part
    assert left_out / part == pytest.approx(side * 4 / (3 * np.pi) * undercut / radius, rel=1e-6)


def test_the_fill_of_the_grooves_as_they_are():
    # 10 cm² on the film, 5 m of edges, 0.14 mm undercut, 0.2 mm deep, 40 % solids, by hand:
    # 200 mm³ and 5000 · π/4 · 0.14 · 0.2 mm³
    volume = grooves(1000.0, 5000.0, 0.14, 0.2)
    area = coatings.mean_groove_area(groove_volume=volume, depth=read("0.2 mm"))
    wet = coatings.fill_paint(
        open_area_of_all=area,
        depth=read("0.2 mm"),
        fill_solids=read("40 %"),
        paint_loss=read("0 %"),
    )
    assert value(wet, "mm^3") == pytest.approx((200 + 35 * np.pi) / 0.4)


def test_upright_sides_are_area_times_depth():
    assert value(grooves(4000.0, 0.0, 0.2, 0.2), "mL") == pytest.approx(0.8)


def test_fills_that_shrink(printed):
    # 25 % solids: of what was empty three quarters stay so; 3⁶ / 4⁶ at last
    shares = coatings.filled_share(fill_solids=read("25 %"), fills=Quantity(np.arange(1.0, 7.0)))
    for share, expected in zip(
        shares.to("percent").magnitude, (25, 44, 58, 68, 76, 82), strict=True
    ):
        assert share == printed(str(expected))


def fills_for(wanted, solids):
    return value(coatings.fill_coats(wanted_fill=percent(wanted), fill_solids=percent(solids)))


@given(wanted=st.floats(1, 99.9), solids=st.floats(5, 100))
def test_the_least_fills_by_filling(wanted, solids):
    empty, fills = 1.0, 0
    while 1 - empty < wanted / 100 - 1e-8:
        empty, fills = empty * (1 - solids / 100), fills + 1
    assert fills_for(wanted, solids) == fills


@pytest.mark.parametrize(
    # by the same rule: 76 % after five fills of 25 % solids, 82 % after six; 75 % after just two of 50 %
    ("wanted", "solids", "fills"),
    [(80, 25, 6), (76, 25, 5), (75, 50, 2), (80, 100, 1)],
)
def test_fills_by_hand(wanted, solids, fills):
    assert fills_for(wanted, solids) == fills
