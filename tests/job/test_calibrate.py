"""What gauge readings teach: closed forms, laws, and jobs simulated with a drift of their own."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, unit
from etchcalc.job import advice, answers
from etchcalc.job.calibrate import ALONE, Learnt, Reading, factor_learnt, learnt
from etchcalc.job.commission_file import parsed, written
from etchcalc.job.plan import planned

RATE = 2e-3  # mm a minute, the same at every depth: the closed forms need a straight model


def straight(depths, wide):
    return depths / RATE * (1.25 if wide else 1.0)


def taught(readings, prior=0.45, drift=0.05, gauge=0.02, depth=0.25) -> Learnt:
    return learnt(readings, straight, depth, prior=prior, drift=drift, gauge_error=gauge)


def test_nothing_gauged_leaves_the_prior():
    # ln(rate) to the stop is a + b/2: its variance 0.45² + (0.05/2)²
    told = taught([])
    assert told.correction == pytest.approx(1.0)
    assert told.spread == pytest.approx(np.hypot(0.45, 0.025), rel=1e-6)


def test_one_reading_is_the_weighted_mean_of_prior_and_reading():
    # no drift, a gauge so good that all is straight: Bayes' rule for two normal values
    gauge = 2e-4
    told = taught([Reading(50, 0.1 * 1.004)], prior=0.01, drift=0.0, gauge=gauge)
    own = gauge / 0.1
    weight = 0.01**2 / (0.01**2 + own**2)
    assert np.log(told.correction) == pytest.approx(weight * np.log(1.004), rel=0.02)
    assert told.spread == pytest.approx(np.sqrt(1 / (1 / 0.01**2 + 1 / own**2)), rel=0.02)


def test_a_drift_cannot_be_read_away():
    # ten perfect readings half way know the past: what is left is the drift to come
    perfect = [Reading(60 + i / 10, RATE * (60 + i / 10)) for i in range(10)]
    told = taught(perfect, drift=0.10, gauge=1e-4)
    assert 0.10 / 4 * 0.9 < told.spread < 0.10 / 2


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.floats(0.5, 2.0), st.floats(0.06, 0.2))
def test_readings_pull_toward_the_truth_and_narrow(true, depth):
    before = taught([])
    one = taught([Reading(depth / (RATE * true), depth)])
    two = taught([Reading(depth / (RATE * true), depth)] * 2)
    assert abs(np.log(one.correction / true)) <= abs(np.log(before.correction / true)) + 1e-9
    assert two.spread < one.spread < before.spread


def test_the_tenth_reading_moves_the_estimate_hardly():
    readings = [Reading(10.0 * i, RATE * 1.2 * 10 * i) for i in range(1, 10)]
    nine, ten = taught(readings), taught([*readings, Reading(95, RATE * 1.2 * 95 + 0.02)])
    first, second = taught([]), taught(readings[2:3])
    assert abs(np.log(ten.correction / nine.correction)) < 0.05
    assert abs(np.log(second.correction / first.correction)) > abs(
        np.log(ten.correction / nine.correction)
    )


def test_a_wide_field_is_read_with_its_own_rate():
    line = taught([Reading(50, 0.1)])
    field = taught([Reading(50, 0.08, "field")])  # a field runs 1.25 times slower here
    assert line.correction == pytest.approx(field.correction, rel=0.05)


def test_a_weighing_is_the_mean_of_line_and_field():
    # at 50 minutes the line is 0.1 mm deep, a field 0.08: their mean is 0.09
    told = taught([Reading(50, 0.09, "mean")])
    assert told.correction == pytest.approx(1.0)


def test_a_reading_may_have_an_error_of_its_own():
    # two alike are worth one whose error is √2 smaller; a hopeless one tells nothing
    twice = taught([Reading(50, 0.12)] * 2)
    better = taught([Reading(50, 0.12, error=0.02 / np.sqrt(2))])
    assert better.correction == pytest.approx(twice.correction)
    assert better.spread == pytest.approx(twice.spread)
    assert taught([Reading(50, 0.3, error=50.0)]).spread == pytest.approx(taught([]).spread)
    # the same depth is suspect or not, by what it is worth
    good = [Reading(t, RATE * t) for t in (30, 50, 70)]
    assert taught([*good, Reading(90, 0.08)]).suspect == (3,)
    assert taught([*good, Reading(90, 0.08, error=0.08)]).suspect == ()


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.floats(0.1, 10.0), st.floats(0.05, 0.5), st.floats(0.02, 1.0))
def test_alone_the_readings_are_believed_however_far_from_the_model(true, depth, prior_depth):
    # three readings of one rate: 1/σ² = Σd²/gauge²; the model may be ten times too fast or too slow
    gauge = 1e-3
    deep = np.array([0.5, 0.75, 1.0]) * depth
    readings = [Reading(d / (RATE * true), d) for d in deep]
    told = taught(readings, prior=ALONE, drift=0.0, gauge=gauge, depth=prior_depth)
    assert told.correction == pytest.approx(true, rel=0.01)
    assert told.spread == pytest.approx(gauge / np.sqrt(np.sum(deep**2)), rel=0.02)


def spent_at_03(depths, wide):
    """Minutes in a bath that slows with the ferric it has left, and has none at 0.3 mm."""
    left = np.maximum(1 - depths / 0.3, 0.0)
    return np.where(left > 0, -0.3 / RATE * np.log(np.maximum(left, 1e-12)), np.inf)


@pytest.mark.parametrize("model", [straight, spent_at_03])
def test_a_job_much_slower_than_believed_is_not_overheard(model):
    # no drift and a fine gauge: the correction is the model's minutes over those it took
    told = learnt([Reading(900, 0.1)], model, 0.25, prior=0.45, drift=0.0, gauge_error=1e-4)
    minutes = 50 if model is straight else -150 * np.log(2 / 3)
    assert told.correction == pytest.approx(minutes / 900, rel=0.01)
    assert told.spread < 0.01


def test_deeper_than_the_model_says_that_the_bath_can_go():
    # the most likely correction by scipy's minimiser; ours reads the model off depths 12 % apart
    found = optimize.minimize_scalar(
        lambda a: (a / 0.45) ** 2 + ((0.3 * (1 - np.exp(-0.4 * np.exp(a))) - 0.32) / 0.02) ** 2,
        bounds=(-2, 4), method="bounded",
    )  # fmt: skip
    told = learnt([Reading(60, 0.32)], spent_at_03, 0.25, prior=0.45, drift=0.0, gauge_error=0.02)
    assert np.log(told.correction) == pytest.approx(found.x, abs=0.2)
    assert told.spread < 0.4


def test_two_readings_that_contradict_each_other_are_taken_in_the_mean():
    # 0.02 and 0.30 mm at 900 minutes: 0.16 mm, where 1.8 mm was believed
    told = taught([Reading(900, 0.02), Reading(900, 0.30)], prior=ALONE, drift=0.0, gauge=1e-3)
    assert told.correction == pytest.approx(0.16 / 1.8, rel=0.01)


@pytest.mark.parametrize(
    ("gauge", "prior"), [(0.02, 0.45), (0.02, 0.6), (0.03, 0.45), (0.01, 0.45)]
)
def test_three_readings_halve_the_range_once_they_are_deep_enough(gauge, prior):
    # without drift 1/σ² grows by Σd²/gauge², which halves the width at √3 of gauge/prior; with a
    # drift of 5 % and the readings' own errors 1.8 is enough
    rng = np.random.default_rng(20260210)
    least = 1.8 * gauge / prior
    widths = []
    for _ in range(300):
        true = RATE * np.exp(rng.normal(0, prior))
        deep = np.array([0.8, 1.0, 1.2]) * rng.uniform(1.0, 1.1) * least / np.sqrt(3.08)
        read = [Reading(d / true, max(d + rng.normal(0, gauge), 0.005)) for d in deep]
        widths.append(taught(read, prior=prior, gauge=gauge).spread)
    assert np.median(widths) <= taught([], prior=prior, gauge=gauge).spread / 2


def test_sections_correct_the_etch_factor():
    # the same as a joint normal distribution conditioned on what was measured (numpy's solver)
    measured, mean, spread, error = [0.8, 1.1, 0.9], 0.05, 0.195, 0.08
    told = spread**2 + error**2 * np.eye(3)
    gain = np.linalg.solve(told, np.full(3, spread**2))
    correction, left = factor_learnt(measured, prior_mean=mean, prior_spread=spread, error=error)
    assert np.log(correction) == pytest.approx(mean + gain @ (np.log(measured) - mean))
    assert left == pytest.approx(np.sqrt(spread**2 - gain @ np.full(3, spread**2)))
    none = factor_learnt([], prior_mean=mean, prior_spread=spread, error=error)
    assert none == pytest.approx((np.exp(mean), spread))


def test_a_blocked_line_is_flagged_and_left_out():
    good = [Reading(t, RATE * t) for t in (30, 50, 70)]
    told = taught([*good, Reading(90, 0.02)])
    assert told.suspect == (3,)
    assert told.correction == pytest.approx(taught(good).correction)


def test_ordinary_scatter_is_taken():
    # a reading a little shallower than the last is 0.01 to 0.03 mm of ordinary scatter
    told = taught([Reading(40, 0.085), Reading(60, 0.12), Reading(66, 0.11)])
    assert told.suspect == ()


@pytest.mark.parametrize("drift", [0.05, 0.10])
def test_the_range_covers_the_truth(drift):
    """Jobs with a drift drawn anew: nine in ten stop times lie in the range, before and after."""
    rng = np.random.default_rng(20260105)
    depth, count = 0.25, 600
    inside = {0: 0, 1: 0, 3: 0}
    widths = {0: [], 1: [], 3: []}
    for _ in range(count):
        a, b = rng.normal(0, 0.45), rng.normal(0, drift)
        times = np.linspace(0, 6, 2401)[1:] * depth / RATE
        stop0 = depth / (RATE * np.exp(a))
        deep = RATE * np.exp(a) * times * np.exp(b * np.minimum(times / stop0, 1.5) / 2)
        stop = float(np.interp(depth, deep, times))
        at = [0.3 * stop, 0.5 * stop, 0.7 * stop]
        read = [Reading(t, float(np.interp(t, times, deep) + rng.normal(0, 0.02))) for t in at]
        for n in inside:
            told = taught([r for r in read[:n] if r.depth > 0.005], drift=drift, depth=depth)
            middle = depth / (RATE * told.correction)
            reach = np.exp(1.645 * told.spread)
            inside[n] += middle / reach <= stop <= middle * reach
            widths[n].append(2 * 1.645 * told.spread)
    for n, hits in inside.items():
        assert 0.85 <= hits / count <= 0.96, n
    assert np.median(widths[3]) < np.median(widths[0]) / 2


# in the commission and the plan

FOUR_HOURS = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "brass"
[lines]
finest_line = "0.6 mm"
depth = "0.25 mm"
"""


def reading(time, depth, film="0 mm", on="finest line"):
    return {"reading_time": time, "reading_depth": depth, "film_under_gauge": film, "gauged_on": on}


def test_film_under_the_gauge_is_taken_off():
    # 0.13 mm read over a 0.050 mm film is 0.080 mm of metal
    over = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.13 mm", "0.050 mm"))
    bare = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.080 mm"))
    wrong = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.13 mm"))
    times = [planned(c).number("etch_time") for c in (over, bare, wrong)]
    assert times[0] == pytest.approx(times[1])
    assert times[2] < 0.75 * times[0]


def test_read_as_bare_metal_the_job_would_stop_at_some_015_instead_of_025():
    # constant rate, no prior: the true rate is 0.080 mm an hour, the one believed 0.13
    told = taught([Reading(60, 0.13)], prior=50.0, drift=0.0, gauge=1e-4)
    minutes = 0.25 / (RATE * told.correction)
    assert 0.080 / 60 * minutes == pytest.approx(0.25 * 0.080 / 0.13, rel=0.01)


def test_three_readings_of_a_four_hour_job_bring_it_within_a_quarter():
    # the truth: 0.25 mm in four hours, evenly; read each hour, one standard deviation off or on
    for signs in ((0, 0, 0), (1, 1, 1), (-1, -1, -1), (1, -1, 1)):
        commission = parsed(FOUR_HOURS)
        for hour, sign in zip((1, 2, 3), signs, strict=True):
            deep = f"{0.25 * hour / 4 + 0.02 * sign:.4f} mm"
            commission = commission.with_row("reading", reading(f"{hour} h", deep))
        time = planned(commission).figures("etch_time")["etch_time"]
        assert time.low / time.value >= 0.75
        assert time.high / time.value <= 1.25
        assert time.low <= Quantity(4, unit("hour")) <= time.high


def test_a_reading_narrows_every_time_and_rests_on_your_own_plates():
    before = planned(parsed(FOUR_HOURS + '[artwork]\nopen_fraction = "12 %"\n'))
    commission = before.commission
    for time, depth in (("30 min", "0.08 mm"), ("50 min", "0.13 mm")):
        commission = commission.with_row("reading", reading(time, depth))
    after = planned(commission)

    def width(plan):
        figure = plan.figures("etch_time")["etch_time"]
        return float(np.log(figure.high / figure.low))

    assert width(after) < 0.6 * width(before)
    assert after.book.basis["fresh_rate"] == "measured here"


def test_readings_are_kept_in_the_file_and_taken_back():
    commission = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.1 mm"))
    text = written(commission, "# mine\n" + FOUR_HOURS)
    assert text.startswith("# mine")
    assert parsed(text).readings == commission.readings
    assert "reading_time" not in written(commission.without_last("reading"), text)
    assert commission.with_one("depth", "0.3 mm").readings == commission.readings
    assert commission.changed(units="US").readings == commission.readings


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (reading("60", "0.1 mm"), "60 of what"),
        (reading("60 min", "-0.1 mm"), "cannot be meant"),
        (reading("60 min", "0.04 mm", "0.05 mm"), "film alone"),
        (reading("", "0.1 mm"), "nothing was typed"),
        (reading("60 min", "0.1 mm", on="the moon"), "wide field"),
        ({**reading("60 min", "0.1 mm"), "depht": "1 mm"}, "depht"),
    ],
)
def test_an_impossible_reading_is_refused_and_says_which(bad, words):
    commission = parsed(FOUR_HOURS).with_row("reading", reading("30 min", "0.05 mm"))
    with pytest.raises(BadInput, match="reading 2") as fault:
        commission.with_row("reading", bad)
    assert words in str(fault.value)


def test_a_suspect_reading_is_said():
    commission = parsed(FOUR_HOURS)
    for time, depth in (("30 min", "0.07 mm"), ("50 min", "0.12 mm"), ("70 min", "0.17 mm")):
        commission = commission.with_row("reading", reading(time, depth))
    commission = commission.with_row("reading", reading("80 min", "0.02 mm"))
    said = {a.key: a.text for a in advice.advice(planned(commission))}
    assert "Gauge reading 4" in said["reading"]


def test_a_plan_worked_from_one_with_readings_forgets_them_when_taken_back():
    commission = parsed(FOUR_HOURS)
    taught_plan = planned(commission.with_row("reading", reading("30 min", "0.10 mm")))
    quick = planned(commission, None, taught_plan)
    assert quick.number("etch_time") == planned(commission).number("etch_time")


def test_past_the_time_it_says_now():
    commission = parsed(FOUR_HOURS)
    early = planned(commission.with_row("reading", reading("20 min", "0.05 mm")))
    late = planned(commission.with_row("reading", reading("100 min", "0.24 mm")))
    assert "**now**" not in answers.lift_answer(early)
    assert "**now**" in answers.lift_answer(late)


@pytest.mark.parametrize("line", ['reading = "0.1 mm"', 'reading = ["0.1 mm"]', "reading = 3"])
def test_a_reading_that_is_no_part_of_its_own_is_refused(line):
    with pytest.raises(BadInput, match=r"write \[\[reading\]\]"):
        parsed(line + FOUR_HOURS)


def test_no_film_said_is_bare_metal():
    blank = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.1 mm", film=""))
    bare = parsed(FOUR_HOURS).with_row("reading", reading("60 min", "0.1 mm"))
    assert planned(blank).number("etch_time") == planned(bare).number("etch_time")
