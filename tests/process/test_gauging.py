"""Depth by weight, a measured section, what is left to do, late places: closed forms and laws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import etching, gauging, undercut

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
MM, MIN = unit("mm"), unit("min")


def value(quantity, name=""):
    return float(quantity.to(unit(name or "dimensionless")).magnitude)


def mm(number):
    return Quantity(number, MM)


def minutes(number):
    return Quantity(number, MIN)


# by weight


def weighed(grams=6.752, density=8.44, area=40.0):
    return value(
        gauging.depth_by_weight(
            weight_lost=Quantity(grams, unit("g")),
            metal_density=Quantity(density, unit("g/cm^3")),
            open_area_of_all=Quantity(area, unit("cm^2")),
        ),
        "mm",
    )


def test_depth_by_weight():
    # 40 cm² of CuZn37 (8.44 g/cm³), 0.200 mm deep, are 0.8 cm³: 6.752 g
    assert weighed() == pytest.approx(0.200, abs=1e-9)


def test_what_a_weighing_is_worth():
    # GUM (JCGM 100), first order, by differences of ± one standard uncertainty; by hand
    # 0.2 mm · √((0.005/6.752)² + (0.02/8.44)² + (0.4/40)²) = 0.00206 mm, said as 0.0021
    uncertain = {"grams": (6.752, 0.005), "density": (8.44, 0.02), "area": (40.0, 0.4)}
    halves = [
        (weighed(**{key: x + u}) - weighed(**{key: x - u})) / 2 for key, (x, u) in uncertain.items()
    ]
    assert np.sqrt(np.sum(np.square(halves))) == pytest.approx(0.00206, abs=5e-6)


@TRIED
@given(st.floats(0.1, 500), st.floats(1, 500), st.floats(0.1, 0.9))
def test_a_weighing_is_the_mean_over_the_open_metal(grams, area, share):
    # two parts of a plate, each weighed by itself: their mean by area is that of the whole
    parts = ((grams * share, area * 0.3), (grams * (1 - share), area * 0.7))
    mean = sum(weighed(grams=g, area=a) * a for g, a in parts) / area
    assert weighed(grams=grams, area=area) == pytest.approx(mean)


# a section


def section(depth, line, film):
    return gauging.measured_etch_factor(
        section_depth=mm(depth), section_line=mm(line), section_film=mm(film)
    )


@pytest.mark.published("etch_factor.csv")
def test_the_etch_factor_of_a_measured_groove(row):
    # backwards through the same published examples; the film is printed to a hundredth or so
    depth, line = float(row["depth"]), float(row["finished"])
    found = value(section(depth, line, line - float(row["narrowing"])))
    digit = 10.0 ** -len(row["narrowing"].partition(".")[2])
    assert found == pytest.approx(float(row["etch_factor"]), rel=digit / float(row["narrowing"]))


factors = st.floats(0.5, 5)
lengths = st.floats(0.05, 2)


@TRIED
@given(factors, lengths, lengths)
def test_a_line_now_measured_gives_its_etch_factor_back(factor, film, depth):
    now = gauging.line_now(
        film_line=mm(film), reached_depth=mm(depth), etch_factor=Quantity(factor)
    )
    assert value(section(depth, value(now, "mm"), film)) == pytest.approx(factor)


@TRIED
@given(factors, lengths, lengths)
def test_at_the_ordered_depth_the_line_is_as_ordered(factor, finest, depth):
    u = undercut.undercut(depth=mm(depth), etch_factor=Quantity(factor))
    film = undercut.film_line(finest_line=mm(finest), undercut=u)
    now = gauging.line_now(film_line=film, reached_depth=mm(depth), etch_factor=Quantity(factor))
    assert value(now, "mm") == pytest.approx(finest)
    begun = gauging.line_now(film_line=film, reached_depth=mm(0.0), etch_factor=Quantity(factor))
    assert value(begun, "mm") == pytest.approx(value(film, "mm"))


# what is left to do


def to_go(depth, reached, rate="2 um/min"):
    return gauging.time_to_go(depth=mm(depth), reached_depth=mm(reached), etch_rate=read(rate))


def test_time_to_go():
    # 0.25 mm ordered, 0.15 mm reached: 0.1 mm at 2 µm a minute is 50 minutes
    assert value(to_go(0.25, 0.15), "min") == pytest.approx(50)
    assert value(to_go(0.25, 0.25), "min") == 0
    assert value(to_go(0.25, 0.30), "min") == 0  # deep enough


@TRIED
@given(lengths, st.floats(0, 1))
def test_before_and_to_go_make_the_whole(depth, share):
    whole = etching.etch_time(depth=mm(depth), etch_rate=read("2 um/min"))
    gone = etching.etch_time(depth=mm(depth * share), etch_rate=read("2 um/min"))
    assert value(to_go(depth, depth * share), "min") == pytest.approx(
        value(whole, "min") - value(gone, "min"), abs=1e-9
    )


# late places


def late(depth, time, later):
    reached = gauging.late_depth(
        depth=mm(depth), etch_time=minutes(time), cleared_late=minutes(later)
    )
    return reached, gauging.late_shortfall(depth=mm(depth), late_depth=reached)


def test_a_place_that_cleared_late():
    # 0.20 mm in 100 minutes; 30 minutes late: 0.14 mm, 0.06 mm short; all go on for 0.03 mm
    reached, short = late(0.20, 100.0, 30.0)
    assert value(reached, "mm") == pytest.approx(0.14)
    assert value(short, "mm") == pytest.approx(0.06)
    assert value(gauging.shared_depth(depth=mm(0.20), late_shortfall=short), "mm") == pytest.approx(
        0.23
    )
    wider = gauging.shared_extra_width(late_shortfall=short, etch_factor=Quantity(1.5))
    assert value(wider, "mm") == pytest.approx(2 * 0.03 / 1.5)


def test_cleared_after_the_others_were_done():
    reached, short = late(0.20, 100.0, 130.0)
    assert value(reached, "mm") == 0
    assert value(short, "mm") == pytest.approx(0.20)


@TRIED
@given(lengths, st.floats(10, 600), st.floats(0, 1), factors)
def test_shared_the_two_miss_by_as_much(depth, time, share, factor):
    reached, short = late(depth, time, time * share)
    shared = value(gauging.shared_depth(depth=mm(depth), late_shortfall=short), "mm")
    went_on = shared - depth
    assert value(reached, "mm") + went_on == pytest.approx(depth - went_on, abs=1e-9)
    # the wider line is that of the greater depth
    wider = value(
        gauging.shared_extra_width(late_shortfall=short, etch_factor=Quantity(factor)), "mm"
    )
    before, after = (
        2 * value(undercut.undercut(depth=mm(d), etch_factor=Quantity(factor)), "mm")
        for d in (depth, shared)
    )
    assert wider == pytest.approx(after - before, abs=1e-9)


@TRIED
@given(lengths, st.floats(10, 600), st.floats(0, 900), st.floats(0.1, 100))
def test_later_is_shallower_and_never_below_the_face(depth, time, later, more):
    first, second = (value(late(depth, time, t)[0], "mm") for t in (later, later + more))
    assert 0 <= second <= first <= depth
    assert second < first or first == 0
