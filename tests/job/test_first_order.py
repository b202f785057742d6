"""Propagation of uncertainty, by leanings and by draws, against the examples of JCGM 100 and 101."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from etchcalc.job.first_order import Estimate, coverage_factor, first_order, rectangular
from etchcalc.job.propagation import propagate
from etchcalc.job.tolerances import read

MANY = 1_000_000


def gauge_block(l_s, d, alpha, theta, d_alpha, d_theta):
    return l_s + d - l_s * (d_alpha * theta + alpha * d_theta)


# JCGM 100, H.1, table H.1: an end gauge in nm; degrees of freedom 18, 25.6, 50 and 2 (H.1.6)
END_GAUGE = {
    "l_s": Estimate(50_000_623, 25, 18),
    "d": Estimate(215, 9.7, 25.6),
    "alpha": Estimate(11.5e-6, 1.2e-6),
    "theta": Estimate(-0.1, 0.41),
    "d_alpha": Estimate(0, 0.58e-6, 50),
    "d_theta": Estimate(0, 0.029, 2),
}


def test_the_end_gauge():
    # JCGM 100, H.1.4: 32 nm (31.71 unrounded), l = 50.000 838 mm; contributions of table H.1
    found = first_order(gauge_block, END_GAUGE)
    assert found.value == pytest.approx(50_000_838)
    assert found.uncertainty == pytest.approx(31.71, abs=0.01)
    sizes = {name: abs(part) for name, part in found.contributions.items()}
    expected = {"l_s": 25, "d": 9.7, "alpha": 0, "theta": 0, "d_alpha": 2.9, "d_theta": 16.6}
    assert sizes == pytest.approx(expected, abs=0.1)


def test_the_end_gauges_degrees_of_freedom_and_range():
    # JCGM 100, H.1.6: 16.7, cut to 16; U99 = 2.92 · 32 nm = 93 nm
    found = first_order(gauge_block, END_GAUGE)
    assert found.freedom == pytest.approx(16.7, abs=0.05)
    assert coverage_factor(found.freedom, 0.99) == pytest.approx(2.92, abs=0.005)
    low, high = found.ends(0.99)
    assert (high - low) / 2 == pytest.approx(93, abs=0.6)


def test_the_end_gauges_second_order():
    # JCGM 100, H.1.7: 34 nm, by the terms l_S u(δα) u(θ) = 11.7 nm and l_S u(α_S) u(δθ) = 1.7 nm,
    # which are 11.89 and 1.74 by the digits of table H.1
    found = first_order(gauge_block, END_GAUGE, second=True)
    first = first_order(gauge_block, END_GAUGE)
    assert round(found.uncertainty) == 34
    more = (found.uncertainty**2 - first.uncertainty**2) ** 0.5
    assert more == pytest.approx(np.hypot(11.89, 1.74), abs=0.01)
    # and by draws of the same inputs, all taken as normal
    normal = {n: Estimate(e.middle, e.uncertainty) for n, e in END_GAUGE.items()}
    assert propagate(gauge_block, normal, MANY).uncertainty == pytest.approx(33.91, abs=0.1)


def arcsine(random, draws):
    return np.sin(random.uniform(-np.pi, np.pi, draws)) * 2**0.5


def trapezoid(half, unsure):
    """Ends that are themselves unsure (JCGM 101, 6.4.3); of mean 0 and standard deviation 1."""
    spread = (half**2 / 3 + unsure**2 / 9) ** 0.5

    def drawn(random, draws):
        low = -half - unsure + 2 * unsure * random.uniform(size=draws)
        return (low - 2 * low * random.uniform(size=draws)) / spread

    return Estimate(0, spread, shape=drawn)


def test_the_gauge_block_by_draws():
    # JCGM 101, 9.5, table 10 (recalled); table 11: 838 nm, 36 nm by draws, 32 nm by the first order
    inputs = {
        "l_s": Estimate(50_000_623, 25, 18),
        "mean": Estimate(215, 6, 24),
        "random": Estimate(0, 4, 5),
        "fixed": Estimate(0, 7, 8),
        "alpha": rectangular(9.5e-6, 13.5e-6),
        "theta": Estimate(-0.1, 0.2),
        "swing": Estimate(0, 0.5 / 2**0.5, shape=arcsine),
        "d_alpha": trapezoid(1e-6, 0.1e-6),
        "d_theta": trapezoid(0.050, 0.025),
    }

    def model(l_s, mean, random, fixed, alpha, theta, swing, d_alpha, d_theta):
        return gauge_block(l_s, mean + random + fixed, alpha, theta + swing, d_alpha, d_theta)

    drawn = propagate(model, inputs, MANY // 2)
    assert round(float(drawn.mean) - 50_000_000) == 838
    assert round(float(drawn.uncertainty)) == 36
    assert round(first_order(model, inputs).uncertainty) == 32


def added(a, b, c, d):
    return a + b + c + d


@pytest.mark.parametrize(
    ("inputs", "spread", "reach"),
    [
        # JCGM 101, 9.2.2: four normal, 2.00 and ± 3.92
        ([Estimate(0, 1)] * 4, 2.00, 3.92),
        # 9.2.3: four rectangular, 2.00 and ± 3.88 (recalled)
        ([rectangular(-(3**0.5), 3**0.5)] * 4, 2.00, 3.88),
        # 9.2.4: one of them ten times as wide, 10.1 and ± 17.0
        ([*[rectangular(-(3**0.5), 3**0.5)] * 3, rectangular(-(300**0.5), 300**0.5)], 10.15, 17.0),
    ],
)
def test_four_inputs_added(inputs, spread, reach):
    drawn = propagate(added, dict(zip("abcd", inputs, strict=True)), MANY)
    assert drawn.uncertainty == pytest.approx(spread, abs=0.01)
    assert drawn.ends() == pytest.approx([-reach, reach], abs=0.05 if reach > 10 else 0.015)


def test_the_law_of_propagation_is_too_wide_for_one_wide_rectangle():
    # JCGM 101, 9.2.4: ± 19.9 by JCGM 100
    wide = rectangular(-(300**0.5), 300**0.5)
    inputs = {n: rectangular(-(3**0.5), 3**0.5) for n in "abc"} | {"d": wide}
    assert first_order(added, inputs).ends()[1] == pytest.approx(19.9, abs=0.05)


# JCGM 101, 9.3, tables 5 and 6: a mass against a weight of 100 g, in mg and kg/m³
MASS = {
    "m_r": Estimate(100_000.000, 0.050),
    "more": Estimate(1.234, 0.020),
    "air": rectangular(1.10, 1.30),
    "weight": rectangular(7000, 9000),
    "reference": rectangular(7950, 8050),
}


def mass(m_r, more, air, weight, reference):
    return (m_r + more) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000


def test_a_mass_that_the_first_order_takes_to_be_too_certain():
    # JCGM 101, table 8 (recalled): 1.2340, 0.0754, shortest range 1.0834 to 1.3825 by draws; 0.0539,
    # 1.1285 to 1.3395 by the first order; 0.0750, 1.0870 to 1.3810 with the second
    drawn = propagate(mass, MASS, MANY)
    assert drawn.mean == pytest.approx(1.2340, abs=3e-4)
    assert drawn.uncertainty == pytest.approx(0.0754, abs=3e-4)
    assert drawn.shortest() == pytest.approx([1.0834, 1.3825], abs=1.5e-3)
    width = drawn.ends()[1] - drawn.ends()[0]
    assert drawn.shortest()[1] - drawn.shortest()[0] <= width + 1e-12
    first = first_order(mass, MASS)
    assert first.uncertainty == pytest.approx(0.0539, abs=1e-4)
    assert first.ends() == pytest.approx((1.1285, 1.3395), abs=2e-4)
    second = first_order(mass, MASS, second=True)
    assert second.uncertainty == pytest.approx(0.0750, abs=5e-5)
    assert second.ends() == pytest.approx((1.0870, 1.3810), abs=2e-4)


def squares(one, two):
    return one**2 + two**2


def test_the_loss_of_a_power_meter():
    # JCGM 101, 9.4.2.2: 2500e-6 and 500e-6 by the first order; 2550e-6 and 502e-6 by draws and by
    # the second order
    inputs = {"one": Estimate(0.050, 0.005), "two": Estimate(0.0, 0.005)}
    drawn = propagate(squares, inputs, MANY)
    assert 1e6 * drawn.mean == pytest.approx(2550, abs=2)
    assert 1e6 * drawn.uncertainty == pytest.approx(502, abs=1.5)
    first, second = (first_order(squares, inputs, second=more) for more in (False, True))
    assert (first.mean, first.uncertainty) == pytest.approx((2500e-6, 500e-6))
    assert 1e6 * second.mean == pytest.approx(2550)
    assert 1e6 * second.uncertainty == pytest.approx(502, abs=0.5)


def test_the_same_with_correlation():
    # JCGM 101, 9.4.3.2.1 (recalled): x1 = 0, r = 0.9, 50e-6 and 67e-6; by hand 2 u² √(1 + r²)
    inputs = {"one": Estimate(0.0, 0.005), "two": Estimate(0.0, 0.005)}
    drawn = propagate(squares, inputs, MANY, correlation={("one", "two"): 0.9})
    assert 1e6 * drawn.mean == pytest.approx(50, abs=0.3)
    assert 1e6 * drawn.uncertainty == pytest.approx(67, abs=0.6)


def test_correlation_in_the_first_order():
    # by hand: the variance of a sum is 1 + 4 + 2 · 0.5 · 1 · 2; of a difference 1 + 4 − 2
    inputs = {"a": Estimate(3, 1), "b": Estimate(4, 2)}
    pair = {("a", "b"): 0.5}
    assert first_order(lambda a, b: a + b, inputs, pair).uncertainty == pytest.approx(7**0.5)
    assert first_order(lambda a, b: a - b, inputs, pair).uncertainty == pytest.approx(3**0.5)


def weighed(lost, density, area):
    return 10 * lost / density / area


def test_a_depth_by_weighing():
    # 6.752(5) g of 8.44(2) g/cm³ off 40.0(4) cm²: 0.200 mm, and by the squares of the relative
    # uncertainties (JCGM 100, 5.1.6) 0.0021 mm, nearly all of it the area's
    inputs = {
        "lost": Estimate(6.752, 0.005),
        "density": Estimate(8.44, 0.02),
        "area": Estimate(40.0, 0.4),
    }
    found = first_order(weighed, inputs)
    relative = ((0.005 / 6.752) ** 2 + (0.02 / 8.44) ** 2 + (0.4 / 40) ** 2) ** 0.5
    assert found.value == pytest.approx(0.2)
    assert found.uncertainty == pytest.approx(0.2 * relative, rel=1e-3)
    assert max(found.contributions, key=lambda n: abs(found.contributions[n])) == "area"


def test_one_cause_of_two_results():
    # two depths that share an area: r = u_A² / √((u_A² + u_1²)(u_A² + u_2²)), by hand
    inputs = {
        "first": Estimate(6, 0.06),
        "second": Estimate(9, 0.18),
        "area": Estimate(40.0, 0.8),
    }
    drawn = propagate(lambda first, second, area: (first / area, second / area), inputs, MANY)
    expected = 0.02**2 / ((0.02**2 + 0.01**2) * (0.02**2 + 0.02**2)) ** 0.5
    assert drawn.correlation[0, 1] == pytest.approx(expected, abs=3e-3)


def test_a_result_of_one_input_that_cancels_is_certain():
    drawn = propagate(lambda a: a - a, {"a": Estimate(1, 1)}, 100)
    assert drawn.uncertainty == 0
    assert first_order(lambda a: a - a, {"a": Estimate(1, 1)}).uncertainty == 0


def test_the_same_draws_again():
    inputs = {"one": Estimate(0.050, 0.005), "two": rectangular(0, 1)}
    again = [propagate(squares, inputs, 50, seed=k).values for k in (1, 1, 2)]
    assert np.array_equal(again[0], again[1])
    assert not np.array_equal(again[0], again[2])


@given(st.integers(1, 300), st.floats(0.01, 0.999))
def test_the_coverage_factor_is_students(freedom, share):
    # scipy's t
    assert coverage_factor(freedom, share) == pytest.approx(
        stats.t.ppf((1 + share) / 2, freedom), rel=1e-6
    )


def test_the_coverage_factor_of_many_is_the_normal():
    assert coverage_factor(np.inf) == pytest.approx(1.95996, abs=1e-5)
    assert coverage_factor(16.7, 0.99) == pytest.approx(stats.t.ppf(0.995, 16))


@given(
    st.lists(st.tuples(st.floats(-5, 5), st.floats(-100, 100), st.floats(0.01, 10)), min_size=1, max_size=5)
)  # fmt: skip
def test_of_a_straight_model_the_first_order_is_whole(terms):
    # u² = Σ (c u)², and no second order
    slopes = np.array([slope for slope, _, _ in terms])
    inputs = {f"x{i}": Estimate(middle, u) for i, (_, middle, u) in enumerate(terms)}

    def model(**given):
        return sum(c * given[f"x{i}"] for i, c in enumerate(slopes))

    expected = float(np.sum((slopes * [u for _, _, u in terms]) ** 2)) ** 0.5
    for second in (False, True):
        found = first_order(model, inputs, second=second)
        assert found.uncertainty == pytest.approx(expected, rel=1e-6, abs=1e-9)
        assert found.mean == pytest.approx(found.value, abs=1e-9)


CASES = 2000


@pytest.mark.parametrize(
    ("words", "error"),
    [
        ("", stats.uniform(-1, 2)),
        (" (95 %)", stats.norm(0, 1 / stats.norm.ppf(0.975))),
        (" (k=2)", stats.norm(0, 0.5)),
        (", mostly in the middle", stats.triang(0.5, -1, 2)),
    ],
)
def test_95_percent_ranges_hold_the_truth_in_95_percent_of_measurements(words, error):
    # a depth by weighing, each input measured once with a normal error and the area with one of 1
    # at most, or as the words have it: the range about what was measured is to hold the true depth
    random = np.random.default_rng(20260501)
    _, area = read("plate_width", f"40 mm ± 1 mm{words}")
    true = {"lost": 6.752, "density": 8.44, "area": 40.0}
    held = {"draws": 0, "first": 0}
    truth = weighed(**true)
    for case in range(CASES):
        inputs = {
            "lost": Estimate(true["lost"] + random.normal(0, 0.1), 0.1),
            "density": Estimate(true["density"] + random.normal(0, 0.1), 0.1),
            "area": area.about(true["area"] + error.rvs(random_state=random)),
        }
        low, high = propagate(weighed, inputs, 2000, seed=case).ends()
        held["draws"] += low <= truth <= high
        low, high = first_order(weighed, inputs).ends()
        held["first"] += low <= truth <= high
    for count in held.values():
        assert 0.93 <= count / CASES <= 0.97


def test_and_so_do_the_ranges_of_a_few_readings():
    # the mean of ten readings of two sides of a plate: t of nine degrees of freedom each
    random = np.random.default_rng(20260502)
    truth, held = 120.0 * 45.0, 0
    for case in range(CASES):
        inputs = {}
        for name, side in (("width", 120.0), ("height", 45.0)):
            read = side + random.normal(0, 0.5, 10)
            inputs[name] = Estimate(float(read.mean()), float(read.std(ddof=1)) / 10**0.5, 9)
        low, high = propagate(lambda width, height: width * height, inputs, 2000, seed=case).ends()
        held += low <= truth <= high
    assert 0.93 <= held / CASES <= 0.97
