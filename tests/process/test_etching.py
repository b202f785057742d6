"""Depth against time in a bath that tires, and when to gauge."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import etching

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
PERCENT, MINUTE = unit("percent"), unit("min")


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


@pytest.mark.parametrize("spent", [0.01, 0.1, 0.25, 0.5, 0.9, 0.99])
def test_tiring_is_the_mean_over_a_first_order_fall(spent):
    # the rate falls as 1 − s: integrate the time to use up the share, apart from the formula
    time, _ = quad(lambda s: 1 / (1 - s), 0, spent)
    ours = etching.tiring(load_share=Quantity(100 * spent, PERCENT))
    assert value(ours) == pytest.approx(spent / time)


def test_a_bath_that_nothing_is_taken_from_does_not_tire():
    # the limit of s / −ln(1 − s) for s to 0 is 1
    assert value(etching.tiring(load_share=Quantity(0.0, PERCENT))) == pytest.approx(1.0)
    assert value(etching.tiring(load_share=Quantity(1e-7, PERCENT))) == pytest.approx(1.0)


def test_a_nearly_spent_bath_takes_about_twice_as_long():
    # a blog reports six hours for what usually takes about three (everyseven.com, 2009, excerpt)
    assert value(etching.tiring(load_share=read("80 %"))) == pytest.approx(0.5, abs=0.05)


def test_a_bath_refreshed_at_the_stop_tires_no_further():
    for used, expected in (("20 g", 0.2), ("50 g", 0.5), ("300 g", 0.5)):
        share = etching.load_share(
            ferric_used=read(used), ferric_in_bath=read("100 g"), practical_stop=read("50 %")
        )
        assert value(share) == pytest.approx(expected)


@TRIED
@given(st.floats(0.01, 3), st.floats(0.1, 30), st.floats(0, 1))
def test_time_and_depth_undo_each_other(depth, rate, allowance):
    rate, depth = Quantity(rate, unit("um/min")), Quantity(depth, unit("mm"))
    time = etching.etch_time(depth=depth, etch_rate=rate)
    assert value(etching.field_depth(etch_time=time, field_rate=rate), "mm") == pytest.approx(
        value(depth, "mm")
    )
    gauge = etching.gauge_depth(depth=depth, depth_allowance=Quantity(allowance, unit("mm")))
    assert value(gauge, "mm") == pytest.approx(value(depth, "mm") + allowance)


@TRIED
@given(
    st.lists(st.floats(1, 1e4), min_size=20, max_size=300, unique=True),
    st.floats(0.5, 50),
)
def test_the_accepted_share_of_the_ways_is_too_deep_at_gauging(ways, chance):
    times = np.array([-1.0, *ways])  # the first, the middle, does not count
    gauge = etching.gauge_time(
        too_deep_time=Quantity(times, MINUTE), chance_too_deep=Quantity(chance, PERCENT)
    )
    # a way is too deep where it was there before we lift; half a way either side
    too_deep = np.sum(np.array(ways) < value(gauge, "min"))
    assert abs(too_deep - chance / 100 * len(ways)) <= 0.5 + 1e-9 or value(gauge, "min") == min(
        ways
    )


def test_a_single_time_is_returned():
    gauge = etching.gauge_time(too_deep_time=read("90 min"), chance_too_deep=read("5 %"))
    assert np.ravel(gauge.to(MINUTE).magnitude) == pytest.approx([90.0])


@pytest.mark.parametrize(
    ("minutes", "clock"), [(50, 50), (60, 63), (130, 136), (240, 252)]
)  # a look of 3 minutes at each whole hour in the bath
def test_looks_and_rinses_take_their_time_on_the_clock(minutes, clock):
    found = etching.bench_time(
        etch_time=Quantity(float(minutes), unit("min")),
        look_interval=read("60 min"),
        look_pause=read("3 min"),
    )
    assert value(found, "min") == pytest.approx(clock)
