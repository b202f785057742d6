"""Level, volume, tilting and what fits in a tray."""

import pytest

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import tray


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


@pytest.mark.parametrize(
    ("poured", "spacer", "cover", "level"),
    [(36, 10, 30, 36), (5, 10, 0, 13), (5, 10, 30, 30), (13, 10, 0, 13)],
)
def test_the_level_wets_the_face_and_covers_the_heater(poured, spacer, cover, level):
    ours = tray.etchant_level(
        liquid_depth=Quantity(float(poured), unit("mm")),
        spacer_height=Quantity(float(spacer), unit("mm")),
        touching_margin=read("3 mm"),
        heater_cover=Quantity(float(cover), unit("mm")),
    )
    assert value(ours, "mm") == pytest.approx(level)


def test_a_tray_filled():
    # 33 × 25 × 3.6 cm = 2970 cm³
    ours = tray.etchant_volume(
        tray_length=read("330 mm"), tray_width=read("250 mm"), etchant_level=read("36 mm")
    )
    assert value(ours, "L") == pytest.approx(2.97)


def test_pooled_liquor_takes_the_ferric_of_a_third_of_the_gap():
    # open metal of 1 cm²: 15 % of 20/3 cm² of face; 2 µm/min of CuZn37 takes 0.0002 cm × 1 cm² ×
    # 262.9 mol/L = 5.258e-5 mol a minute; a third of 9 mm over 20/3 cm² holds 2 mL × 1.83 mol/L
    ours = tray.pooling_interval(
        spacer_height=read("9 mm"),
        open_fraction=read("15 %"),
        etch_rate=read("2 um/min"),
        ferric_demand=read("262.9 mol/L"),
        ferric_concentration=read("1.83 mol/L"),
    )
    assert value(ours, "min") == pytest.approx(2e-3 * 1.83 / 5.258e-5, rel=1e-4)


@pytest.mark.parametrize(("pooling", "tilt"), [("62 min", 15), ("9 min", 9)])
def test_tilting_by_habit_or_sooner(pooling, tilt):
    ours = tray.tilt_interval(pooling_interval=read(pooling), tilt_habit=read("15 min"))
    assert value(ours, "min") == pytest.approx(tilt)


@pytest.mark.parametrize(
    ("inside", "blank", "gap", "count"),
    [
        ((330, 250), (144, 69), 10, 6),  # 2 along by 3 across; turned 4 by 1
        ((100, 100), (80, 80), 10, 1),  # exactly, gap on both sides
        ((100, 100), (80.1, 80), 10, 0),
        ((200, 100), (80, 180), 10, 1),  # only when turned
        ((50, 50), (60, 10), 0, 0),
        ((100, 100), (50, 50), 0, 4),
    ],
)
def test_plates_side_by_side(inside, blank, gap, count):
    sides = [Quantity(float(s), unit("mm")) for s in (*inside, *blank, gap)]
    assert tray.plates_in_tray(*sides) == count
    # the same tray in inches
    assert tray.plates_in_tray(*(side.to(unit("inch")) for side in sides)) == count
