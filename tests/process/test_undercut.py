"""Undercut and film by the definition of the etch factor (IPC-T-50)."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import undercut

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
MM = unit("mm")


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def mm(number):
    return Quantity(float(number), MM)


@pytest.mark.published("etch_factor.csv")
def test_etch_factor_examples(row, printed):
    u = undercut.undercut(depth=mm(row["depth"]), etch_factor=Quantity(float(row["etch_factor"])))
    assert value(u, "mm") == printed(row["undercut"])
    growth = undercut.film_line_compensation(undercut=u)
    assert -value(growth, "mm") == printed(row["narrowing"])
    drawn = undercut.film_line(finest_line=mm(row["finished"]), undercut=u)
    assert value(drawn, "mm") == printed(row["drawn"])


def test_an_isotropic_etch_loses_a_fine_line():
    # depth 0.20 mm at an etch factor of 1 takes 0.400 mm: a line of 0.35 mm cannot be drawn
    drawn = undercut.film_line(finest_line=mm(0.35), undercut=mm(0.2))
    assert value(drawn, "mm") == pytest.approx(-0.05)


@pytest.mark.parametrize(
    ("width", "factor"),
    # common practice, no source: 1.25 for 0.2 mm, 1.4 for 0.5 mm and more; trade belief 1.0 to 1.3
    [(0.2, 1.25), (0.5, 1.4), (2.0, 1.4), (0.35, 1.325), (0.05, 1.25)],
)
def test_the_etch_factor_to_start_from(width, factor):
    assert value(undercut.usual_etch_factor(line_width=mm(width))) == pytest.approx(factor)


def test_a_corrected_etch_factor():
    ours = undercut.etch_factor(usual_etch_factor=read("1.4"), etch_factor_correction=read("0.9"))
    assert value(ours) == pytest.approx(1.26)


factors = st.floats(0.3, 10)
lengths = st.floats(0.05, 3)


@TRIED
@given(factors, lengths, lengths)
def test_at_the_greatest_depth_the_film_line_is_the_narrowest(factor, finest, narrowest):
    depth = undercut.greatest_depth(
        etch_factor=Quantity(factor), finest_line=mm(finest), narrowest_film_line=mm(narrowest)
    )
    u = undercut.undercut(depth=depth, etch_factor=Quantity(factor))
    drawn = undercut.film_line(finest_line=mm(finest), undercut=u)
    assert value(drawn, "mm") == pytest.approx(narrowest)
    finished = undercut.narrowest_finished_line(narrowest_film_line=mm(narrowest), undercut=u)
    assert value(finished, "mm") == pytest.approx(finest)


@TRIED
@given(factors, lengths, lengths, lengths)
def test_a_film_as_it_is_stops_at_line_or_land(factor, finest, drawn, land):
    ef = Quantity(factor)
    depth = undercut.line_limit(etch_factor=ef, finest_line=mm(finest), drawn_line=mm(drawn))
    u = undercut.undercut(depth=depth, etch_factor=ef)
    assert drawn + 2 * value(u, "mm") == pytest.approx(finest)
    depth = undercut.land_limit(
        etch_factor=ef, drawn_land=mm(land), narrowest_resist_land=mm(drawn)
    )
    # the land of resist loses the undercut at both of its edges
    left = land - 2 * value(undercut.undercut(depth=depth, etch_factor=ef), "mm")
    assert left == pytest.approx(drawn)


@TRIED
@given(factors, lengths, st.floats(1.01, 3))
def test_deeper_spreads_further(factor, depth, deeper):
    shallow, deep = (
        value(undercut.undercut(depth=mm(d), etch_factor=Quantity(factor)), "mm")
        for d in (depth, depth * deeper)
    )
    assert deep > shallow
