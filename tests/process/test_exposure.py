"""Exposure: step wedge, lamp, dose; what spread under the film told apart from undercut."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import exposure, gauging

TRIED = settings(deadline=None, derandomize=True, max_examples=60)
lines = st.floats(0.05, 2)


def q(value, name=""):
    return Quantity(float(value), unit(name))


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def step_factor(held, wanted, density=0.15):
    return exposure.step_factor(step_density=q(density), wanted_step=q(wanted), held_step=q(held))


def distance_factor(distance, test, falloff=2.0):
    return exposure.lamp_distance_factor(
        lamp_distance=read(distance), test_distance=read(test), lamp_falloff=q(falloff)
    )


def exposed(seconds, steps=1.0, distance=1.0, output="100 %"):
    found = exposure.exposure_time(
        test_exposure=q(seconds, "s"),
        step_factor=q(steps),
        lamp_distance_factor=q(distance),
        lamp_output=read(output),
    )
    return value(found, "s")


@pytest.mark.published("step_wedge.csv")
def test_the_step_wedge(row, printed):
    steps = value(step_factor(row["held"], row["wanted"]))
    seconds = exposed(float(row["seconds"]), steps)
    assert seconds == printed(row["by_density"])
    apart = abs(float(row["wanted"]) - float(row["held"]))
    assert seconds == pytest.approx(float(row["by_square_root"]), rel=0.0012 * apart + 5e-4)


@pytest.mark.parametrize(
    ("density", "factor"),
    # a step of 0.05 lets pass 1/1.122 of the light, one of 0.10 1/1.259, one of 0.30 half: 10^D
    [(0.05, 1.122), (0.10, 1.259), (0.15, 1.4125), (0.30, 1.995)],
)
def test_wedges_of_other_spacings(density, factor):
    assert value(step_factor(7, 8, density)) == pytest.approx(factor, abs=5e-4)


def test_more_exposure_holds_more_steps():
    assert value(step_factor(5, 8)) > 1 > value(step_factor(8, 5))


@TRIED
@given(st.floats(1, 21), st.floats(1, 21), st.floats(1, 21), st.floats(0.01, 0.5))
def test_two_corrections_are_one(held, between, wanted, density):
    both = value(step_factor(held, between, density) * step_factor(between, wanted, density))
    assert both == pytest.approx(value(step_factor(held, wanted, density)), rel=1e-9)


@pytest.mark.parametrize(
    ("falloff", "factor", "seconds"),
    # point source: 200 to 300 mm takes (300/200)² = 2.25 times as long, 60 s become 135 s; a long
    # tube (inverse distance) 1.5; a wide panel close by, no change
    [(2, 2.25, 135), (1, 1.5, 90), (0, 1.0, 60)],
)
def test_a_lamp_moved_away(falloff, factor, seconds):
    found = value(distance_factor("300 mm", "200 mm", falloff))
    assert found == pytest.approx(factor)
    assert exposed(60, distance=found) == pytest.approx(seconds)
    # the same in inches, and a lamp brought nearer is the inverse
    assert value(distance_factor("12 in", "8 in", falloff)) == pytest.approx(factor)
    assert value(distance_factor("200 mm", "300 mm", falloff)) == pytest.approx(1 / factor)


@TRIED
@given(st.floats(20, 200), st.floats(20, 100), st.floats(50, 1000))
def test_a_line_of_lamps_lies_between_the_bounds(near, further, length):
    # light below the middle of a glowing line of length L at a distance d, by integration of
    # inverse squares with the cosine: E ∝ (L/(2d)) / sqrt(d² + L²/4), between 1/d and 1/d²
    def light(d):
        return length / (2 * d) / math.sqrt(d * d + length * length / 4)

    far = near + further
    longer = light(near) / light(far)
    tube, bulb = (value(distance_factor(f"{far} mm", f"{near} mm", falloff)) for falloff in (1, 2))
    assert tube <= longer <= bulb


def test_a_lamp_that_ages():
    # four fifths of the light, a quarter more time
    assert exposed(100, output="80 %") == pytest.approx(125)


def test_all_corrections_together():
    # 60 s, two steps of 0.30 in all (×1.995), 200 to 300 mm (×2.25), 90 % of the light
    found = exposed(
        60, value(step_factor(6, 8)), value(distance_factor("300 mm", "200 mm")), "90 %"
    )
    assert found == pytest.approx(60 * 1.99526 * 2.25 / 0.9, rel=1e-5)


def test_dose_is_irradiance_by_time():
    # 5 mW/cm² for 12 s are 60 mJ/cm²: 1 W·s = 1 J
    dose = exposure.exposure_dose(irradiance=read("5 mW/cm2"), exposure_time=read("12 s"))
    assert value(dose, "mJ/cm^2") == pytest.approx(60)
    time = exposure.exposure_by_dose(wanted_dose=read("60 mJ/cm2"), irradiance=read("5 mW/cm2"))
    assert value(time, "s") == pytest.approx(12)


# ---- the test strip


def growth(film, developed):
    return exposure.exposure_growth(developed_line=developed, section_film=film)


def undercut(developed, etched):
    return exposure.strip_undercut(section_line=etched, developed_line=developed)


def test_growth_by_hand():
    # 0.22 mm on the film, 0.24 in the resist, 0.60 etched: 0.02 wider, 0.18 under each edge
    film, developed, etched = read("0.22 mm"), read("0.24 mm"), read("0.60 mm")
    assert value(growth(film, developed), "mm") == pytest.approx(0.02)
    assert value(growth(developed, film), "mm") == pytest.approx(-0.02)
    assert value(undercut(developed, etched), "mm") == pytest.approx(0.18)


@TRIED
@given(lines, st.floats(0.7, 1.4), st.floats(0.05, 1), st.floats(0.02, 1))
def test_what_looks_like_undercut_is_exposure_and_undercut(film, opened, each_edge, depth):
    developed, etched = film * opened, film * opened + 2 * each_edge
    film, developed, etched, depth = (q(x, "mm") for x in (film, developed, etched, depth))
    # depth over undercut, by the definition of IPC-T-50, from the developed width
    factor = gauging.measured_etch_factor(
        section_depth=depth, section_line=etched, section_film=developed
    )
    assert value(depth / undercut(developed, etched)) == pytest.approx(value(factor), rel=1e-9)
    # measured from the film, half the growth counts as undercut
    assert value(undercut(developed, etched) + growth(film, developed) / 2, "mm") == pytest.approx(
        value(etched - film, "mm") / 2, rel=1e-9
    )
