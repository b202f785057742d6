"""The moving front against exact solutions and laws; invented baths, of a tray's magnitude."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import rates
from etchcalc.process.groove import groove, turning_share

sys.path.append(str(Path(__file__).parent))
import planar_and_strip

TRIED = settings(deadline=None, derandomize=True, max_examples=12)
BATH = {
    "reaction_velocity": Quantity(3e-5, "m/s"),
    "ferric_diffusivity": Quantity(1.25e-10, "m^2/s"),
    "ferric_concentration": Quantity(2250.0, "mol/m^3"),
    "ferric_demand": Quantity(282000.0, "mol/m^3"),
}


def mm(number):
    return Quantity(float(number), "mm")


def value(quantity, name=""):
    return np.asarray(quantity.to(unit(name)).magnitude, dtype=float)


def etched(film=0.2, depth=0.2, layer=0.05, turning=0.0, land=None, shown=(), **more):
    """A groove; its boundary layer given by its thickness, mm."""
    bath = {**BATH, **{key: more.pop(key) for key in tuple(more) if key in BATH}}
    return groove(
        film_line=mm(film),
        depth=mm(depth),
        transport_velocity=bath["ferric_diffusivity"] / mm(layer),
        turning=Quantity(turning),
        land=None if land is None else mm(land),
        shown=[mm(d) for d in shown],
        **bath,
        **more,
    )


def factor(grown):
    return float(value(grown.etch_factor)[-1])


# exact solutions


@pytest.mark.parametrize("demand", [5, 10, 83.4, 125.3, 200])
def test_an_open_face_in_still_etchant(demand):
    # similarity solution of diffusion to a front that recedes, its root by scipy; demand over
    # strength of copper in 2.25 and 3.38 mol/L is 125 and 83
    coarse, fine = (planar_and_strip.planar_error(demand, cells)[0] for cells in (20, 60))
    assert abs(coarse) < 0.015 and abs(fine) < 0.005
    assert np.log(coarse / fine) / np.log(3) == pytest.approx(1, abs=0.15)  # first order


def test_an_open_face_loses_no_etchant():
    assert abs(planar_and_strip.planar_error(83.4, 20)[1]) < 1e-9


@pytest.mark.parametrize("width", [0.5, 1, 2, 4])
def test_the_flux_to_a_strip_under_a_film(width):
    # exact by conformal mapping, elliptic integrals by scipy
    errors = [planar_and_strip.strip_error(width, cells) for cells in (10, 40)]
    assert abs(errors[1]) < 0.01
    assert np.log(errors[0] / errors[1]) / np.log(4) == pytest.approx(1, abs=0.2)  # first order


@pytest.mark.parametrize("cells", [12, 40])
def test_a_slow_reaction_etches_alike_in_every_direction(cells):
    grown = etched(reaction_velocity=Quantity(1e-9, "m/s"), shown=[0.1, 0.2], cells=cells)
    assert factor(grown) == pytest.approx(1, rel=0.01)
    for outline in grown.outlines:  # under the resist a quarter of a circle about its edge
        x, y = value(outline, "mm").T
        beyond = x > 0.1
        radius = np.hypot(x[beyond] - 0.1, y[beyond])
        assert radius == pytest.approx(np.full(len(radius), y.max()), rel=0.02)


def test_still_liquor_keeps_the_clock_of_resistances_in_series():
    # a line so wide that its edges do not count, against the law of the rates face up
    grown = etched(film=20, depth=0.3, layer=0.1, cells=40)
    rate = rates.fresh_rate(
        depth=grown.depth,
        line_width=mm(20),
        transport_velocity=BATH["ferric_diffusivity"] / mm(0.1),
        density_rise=Quantity(75.0, "kg/m^3"),
        viscosity=Quantity(4.0, "mPa*s"),
        groove_turning=Quantity(0.0),
        rate_correction=Quantity(1.0),
        **BATH,
    )
    assert value(grown.rate_time, "min") == pytest.approx(value(grown.depth / rate, "min"))
    # one part in the demand is etchant that fills the groove
    assert value(grown.own_time, "min")[-1] == pytest.approx(
        value(grown.rate_time, "min")[-1], rel=0.02
    )


@pytest.mark.parametrize("turning", [0.5, 0.9, 1])
def test_liquor_that_turns_over_keeps_that_clock_too(turning):
    grown = etched(film=20, depth=0.3, layer=0.1, turning=turning, cells=40)
    own, series = (value(t, "min")[-1] for t in (grown.own_time, grown.rate_time))
    assert own == pytest.approx(series, rel=0.02)


# laws


films, depths, layers = st.floats(0.1, 1), st.floats(0.05, 0.4), st.floats(0.03, 0.5)
shares = st.floats(0, 1)


@TRIED
@given(films, depths, layers, shares, st.sampled_from([None, 0.1, 0.3, 1]))
def test_what_the_bath_gives_the_metal_takes(film, depth, layer, turning, land):
    grown = etched(film, depth, layer, turning, land)
    assert abs(value(grown.mass_error)) < 0.02  # coarse; a third of it at 40 cells
    assert value(grown.depth, "mm")[-1] == pytest.approx(depth)
    assert np.all(np.diff(value(grown.depth, "mm")) > 0)
    assert np.all(np.diff(value(grown.undercut, "mm")) > -1e-9)
    assert np.all(np.diff(value(grown.own_time, "min")) > 0)
    if land is not None:
        assert value(grown.undercut, "mm")[-1] <= land / 2 + 1e-9


@pytest.mark.parametrize(("film", "turning"), [(0.1, 0.5), (0.1, 1), (0.2, 1)])
def test_the_bath_never_enters_the_metal(film, turning):
    grown = etched(film, 0.3, 0.03, turning, cells=40)  # the floor of a bowl under a thin layer
    assert abs(value(grown.mass_error)) < 0.01


@TRIED
@given(films, depths, layers, shares, st.floats(0.2, 5))
def test_a_groove_twice_as_large_is_the_same_groove(film, depth, layer, turning, scale):
    slower = {"reaction_velocity": BATH["reaction_velocity"] / scale}
    one = etched(film, depth, layer, turning)
    two = etched(film * scale, depth * scale, layer * scale, turning, **slower)
    assert factor(two) == pytest.approx(factor(one), rel=0.02)
    assert value(two.own_time, "min")[-1] == pytest.approx(
        scale**2 * value(one.own_time, "min")[-1], rel=0.02
    )


def test_the_same_in_other_units():
    one = etched(0.254, 0.127)
    same = {key: quantity.to_base_units() for key, quantity in BATH.items()}
    two = groove(
        film_line=read("10 thou"),
        depth=read("5 thou"),
        transport_velocity=(BATH["ferric_diffusivity"] / mm(0.05)).to("inch/hour"),
        turning=read("0 %"),
        **same,
    )
    assert factor(two) == pytest.approx(factor(one), rel=1e-6)


@pytest.mark.parametrize("turning", [0, 0.87])
@pytest.mark.parametrize("film", [0.1, 0.4])
def test_a_coarse_grid_is_enough_for_a_slider(film, turning):
    coarse, middle, fine = (factor(etched(film, turning=turning, cells=n)) for n in (16, 40, 60))
    assert coarse == pytest.approx(fine, rel=0.05)
    assert middle == pytest.approx(fine, rel=0.02)


@pytest.mark.parametrize("layer", [0.03, 0.07, 0.5])
@pytest.mark.parametrize("depth", [0.1, 0.2, 0.3])
@pytest.mark.parametrize("film", [0.1, 0.2, 0.5])
def test_the_etch_factor_lies_where_still_trays_have_it(film, depth, layer):
    # common practice, no source: 1.0 to 1.8 in a still tray, above the 1 of equal growth
    for turning in (0, 0.8, 1):
        assert 1.05 < factor(etched(film, depth, layer, turning)) < 1.8


def test_the_etch_factor_does_not_jump_as_more_of_the_liquor_turns_over():
    found = [factor(etched(0.2, 0.3, 0.04, turning)) for turning in np.linspace(0, 1, 11)]
    assert np.abs(np.diff(found)).max() < 0.12


def test_a_groove_thinner_than_the_layer_is_etched_as_one_at_rest():
    # the bath stays outside: half of 0.1 and what is under the resist are less than 0.5
    still, turned = (etched(0.1, 0.2, 0.5, turning) for turning in (0, 1))
    assert factor(turned) == pytest.approx(factor(still), rel=0.02)


def test_a_fast_reaction_digs_deeper_beside_the_resist():
    # potential theory: flux to a slit rises as 1 / sqrt(1 - (x/a)²) towards its edges
    shallow = {"film": 0.3, "depth": 0.03, "layer": 0.3, "cells": 8}
    early = etched(**shallow, reaction_velocity=Quantity(1.0, "m/s"))
    assert value(early.bulge, "mm")[-1] > 0.0045
    slow = etched(**shallow, reaction_velocity=Quantity(1e-9, "m/s"))
    assert value(slow.bulge, "mm")[-1] < 1.5e-4


def test_outlines_are_whole_and_alike_on_both_sides():
    grown = etched(shown=[0.05, 0.1, 0.2], cells=30)
    assert len(grown.outlines) == 3
    for outline, depth in zip(grown.outlines, (0.05, 0.1, 0.2), strict=True):
        x, y = value(outline, "mm").T
        assert x == pytest.approx(-x[::-1]) and y == pytest.approx(y[::-1])
        assert y[0] == y[-1] == 0
        assert y[len(y) // 2] == pytest.approx(depth, abs=0.003)
    assert x.max() == pytest.approx(0.1 + value(grown.undercut, "mm")[-1], abs=0.002)


def test_two_lines_meet_under_the_resist():
    alone, far = factor(etched(cells=30)), factor(etched(land=2, cells=30))
    assert far == pytest.approx(alone, rel=0.005)
    met = etched(land=0.1, shown=[0.05, 0.2], cells=30)
    assert value(met.undercut, "mm")[-1] == pytest.approx(0.05)
    x, y = value(met.outlines[-1], "mm").T
    assert x.max() == pytest.approx(0.15)
    assert 0.05 < y[-2] < 0.2  # what is left between them has sunk
    assert abs(value(met.mass_error)) < 0.01


@pytest.mark.parametrize(
    # what the source of the rates says of a groove's liquor: none to 20, three times at 40
    ("number", "share"),
    [(0, 0), (20, 0), (30, 0.5), (39.999, 2 / 3)],
)
def test_how_much_turns_over(number, share):
    found = turning_share(recess_number=Quantity(float(number)))
    assert value(found) == pytest.approx(share, abs=1e-4)


def test_far_beyond_nearly_all_turns_over():
    found = value(turning_share(recess_number=Quantity(np.array([40.0, 744.0, 9300.0]))))
    assert np.all(np.diff(found) > 0) and 0.98 < found[-1] < 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"film": 0},
        {"depth": -0.1},
        {"turning": 1.2},
        {"land": 0},
        {"cells": 4},
        {"film": np.nan},
        {"depth": np.nan},
    ],
)
def test_what_cannot_be_worked_out_is_refused(wrong):
    with pytest.raises(BadInput, match="above nothing, a turning share from 0 to 1"):
        etched(**wrong)


def test_the_page_never_loads_the_compiler():
    code = (
        "import sys, etchcalc.process.groove, etchcalc.job.groove_shape, "
        "etchcalc.pages.groove_drawing; assert 'numba' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
