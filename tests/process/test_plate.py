"""The blank, its open metal, the sheet it comes from, what is left of it in the end."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import bath, plate


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def mm(number):
    return Quantity(float(number), unit("mm"))


def number(count):
    return Quantity(float(count), unit("dimensionless"))


def per_sheet(length, width, blank_width, blank_height, kerf):
    sheet = {"sheet_length": length, "sheet_width": width, "saw_kerf": kerf}
    return value(
        plate.blanks_per_sheet(blank_width=blank_width, blank_height=blank_height, **sheet)
    )


def test_the_margin_is_on_every_side():
    # 120 + 24 by 45 + 24 mm
    area = plate.blank_area(
        plate_width=read("120 mm"), plate_height=read("45 mm"), waste_margin=read("12 mm")
    )
    assert area.to(unit("mm^2")).magnitude == pytest.approx(144 * 69)


def test_open_metal_is_a_share_of_the_finished_face():
    # 100 × 100 mm, 40 % open: 40 cm²
    area = plate.open_area(
        open_fraction=read("40 %"), plate_width=read("100 mm"), plate_height=read("10 cm")
    )
    assert area.to(unit("cm^2")).magnitude == pytest.approx(40)


def test_the_cut_size_is_that_of_the_blank_area():
    width = plate.blank_width(plate_width=read("120 mm"), waste_margin=read("12 mm"))
    height = plate.blank_height(plate_height=read("45 mm"), waste_margin=read("12 mm"))
    assert (value(width, "mm"), value(height, "mm")) == (144, 69)
    # 3 in and ½ in all round: 4 in
    inches = plate.blank_width(plate_width=read("3 in"), waste_margin=read("1/2 in"))
    assert value(inches, "inch") == pytest.approx(4)


@pytest.mark.parametrize(
    ("sheet", "blank", "kerf", "count"),
    [
        # by hand: 4·144 + 3 of 600, 4·69 + 3 of 300
        (("600 mm", "300 mm"), ("144 mm", "69 mm"), "1 mm", 16),
        # three of 100 with two cuts of 2 are 304: to the last tenth
        (("304 mm", "100 mm"), ("100 mm", "100 mm"), "2 mm", 3),
        (("303.9 mm", "100 mm"), ("100 mm", "100 mm"), "2 mm", 2),
        # only turned: two beside each other
        (("100 mm", "50 mm"), ("50 mm", "40 mm"), "0 mm", 2),
        (("80 mm", "50 mm"), ("50 mm", "40 mm"), "0 mm", 2),
        # sheared, 24 × 12 in gives 4 × 3 of 6 × 4 in; a saw of 1/16 in leaves 3 × 2
        (("24 in", "12 in"), ("6 in", "4 in"), "0 in", 12),
        (("24 in", "12 in"), ("6 in", "4 in"), "1/16 in", 6),
        (("60 mm", "50 mm"), ("61 mm", "20 mm"), "1 mm", 0),
    ],
)
def test_blanks_of_a_sheet(sheet, blank, kerf, count):
    assert per_sheet(*map(read, (*sheet, *blank, kerf))) == count


@given(
    sheet=st.tuples(*2 * [st.integers(50, 700)]),
    blank=st.tuples(*2 * [st.integers(20, 200)]),
    kerf=st.integers(0, 4),
)
def test_blanks_of_a_sheet_sawn_off_one_by_one(sheet, blank, kerf):
    def sawn(length, size):
        pieces = 0
        while length >= size:
            pieces, length = pieces + 1, length - size - kerf
        return pieces

    ways = [sawn(sheet[0], a) * sawn(sheet[1], b) for a, b in (blank, blank[::-1])]
    assert per_sheet(*map(mm, (*sheet, *blank, kerf))) == max(ways)


@pytest.mark.parametrize(
    ("plates", "each", "sheets"), [(1, 16, 1), (16, 16, 1), (17, 16, 2), (6, 2, 3), (1, 0, inf)]
)
def test_whole_sheets(plates, each, sheets):
    bought = plate.sheets_to_buy(plate_count=number(plates), blanks_per_sheet=number(each))
    assert value(bought) == sheets


def test_mass_of_a_blank_of_cartridge_brass(printed):
    # C26000: 8.53 g/cm³, in the same mill's sheet 0.308 lb/in³; 12 × 12 × 1/16 in are 9 in³
    mass = plate.blank_mass(
        blank_area=read("144 in2"), plate_thickness=read("1/16 in"), metal_density=read("8530 g/L")
    )
    assert value(mass, "lb") / 9 == printed("0.308")


def test_mass_of_the_sheets_bought():
    # CuZn37, 8.44 g/cm³ (mill sheet): two of 60 × 30 × 0.16 cm are 576 cm³
    mass = plate.metal_bought(
        sheets_to_buy=read("2"),
        sheet_length=read("600 mm"),
        sheet_width=read("300 mm"),
        plate_thickness=read("1.6 mm"),
        metal_density=read("8440 kg/m3"),
    )
    assert value(mass, "g") == pytest.approx(576 * 8.44)


@given(
    width=st.floats(10, 500),
    height=st.floats(10, 500),
    thickness=st.floats(0.5, 6),
    margin=st.floats(0, 40),
    open_share=st.floats(0, 1),
    depth=st.floats(0.01, 0.4),
    rubbed=st.floats(0, 0.05),
)
def test_no_metal_is_lost(width, height, thickness, margin, open_share, depth, rubbed):
    """The blank is the finished plate, what was etched, rubbed and sawn off it."""
    face = {"plate_width": mm(width), "plate_height": mm(height)}
    sheet = {"plate_thickness": mm(thickness), "metal_density": read("8440 kg/m3")}
    etched_depth = plate.depth_to_etch(depth=mm(depth), rub_down=mm(rubbed))
    open_area = plate.open_area(open_fraction=number(open_share), **face)
    blank_area = plate.blank_area(waste_margin=mm(margin), **face)
    blank = plate.blank_mass(blank_area=blank_area, **sheet)
    finished = plate.finished_mass(
        open_area=open_area, depth=mm(depth), rub_down=mm(rubbed), **face, **sheet
    )
    etched = bath.metal_removed(
        open_area_of_all=open_area, depth=etched_depth, metal_density=sheet["metal_density"]
    )
    grams = 8.44e-3  # of a cubic millimetre
    rubbed_off = width * height * (1 - open_share) * rubbed * grams
    sawn_off = 2 * margin * (width + height + 2 * margin) * thickness * grams
    parts = value(finished, "g") + value(etched, "g") + rubbed_off + sawn_off
    assert parts == pytest.approx(value(blank, "g"), rel=1e-9)


def test_depth_to_etch():
    # 0.20 mm ordered, 0.01 to 0.03 mm rubbed off: common practice
    assert value(
        plate.depth_to_etch(depth=read("0.2 mm"), rub_down=read("0.03 mm")), "mm"
    ) == pytest.approx(0.23)
