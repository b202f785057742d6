"""What a job's measurements teach it, and the shop's next job."""

import re

import numpy as np
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job import advice, answers, corrections, learning
from etchcalc.job.commission_file import parsed, written
from etchcalc.job.known import keep_lesson, known_to
from etchcalc.job.plan import planned

ORDER = """
[plate]
plate_width = "100 mm"
plate_height = "100 mm"
plate_count = "1"
metal = "CW508L"
[lines]
finest_line = "0.6 mm"
depth = "0.2 mm"
[artwork]
open_fraction = "40 %"
"""


@pytest.fixture
def order():
    return parsed(ORDER)


def gauged(order, *pairs, **more):
    for minutes, depth in pairs:
        order = order.with_row("reading", {"reading_time": minutes, "reading_depth": depth, **more})
    return order


def width(plan, name="etch_time"):
    figure = plan.figures(name)[name]
    return float((figure.high / figure.low).magnitude)


def test_a_weighing_is_a_mean_depth(order):
    # 6.752 g lost over 40 cm² of CuZn37 (8.44 g/cm³) are 0.200 mm
    told = order.with_row("reading", {"reading_time": "2 h", "weight_lost": "6.752 g"})
    (read,) = planned(told).readings
    assert read.kind == "mean" and read.depth == pytest.approx(0.2, abs=5e-4)
    assert read.error > 0.03 * 0.2, "area and what lines and fields share count"
    assert width(planned(told)) < width(planned(order))
    assert parsed(written(told)).readings == told.readings


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ({"reading_time": "1 h", "weight_lost": "-0.3 g"}, "gains no weight"),
        ({"reading_time": "1 h", "weight_lost": "a bit"}, "weight lost"),
        ({"reading_time": "1 h"}, "reading depth"),
        ({"weight_lost": "2 g"}, "reading time"),
    ],
)
def test_a_reading_that_cannot_be(order, reading, words):
    with pytest.raises(BadInput, match=words):
        order.with_row("reading", reading)


def test_a_measured_groove_corrects_the_etch_factor(order):
    # depth 0.25 over an undercut of (0.70 − 0.30)/2 = 0.20 at each edge: 1.25 (IPC-T-50)
    section = {"section_film": "0.30 mm", "section_line": "0.70 mm", "section_depth": "0.25 mm"}
    once, often = order, order
    once = once.with_row("section", section)
    for _ in range(9):
        often = often.with_row("section", section)
    before, one, nine = (planned(o).number("etch_factor") for o in (order, once, often))
    assert 1.25 < nine < one < before == pytest.approx(1.4)
    assert nine == pytest.approx(1.25, abs=0.01), "the ninth time it is believed"
    assert planned(once).figures()["undercut"].basis == "measured here"
    assert width(planned(often), "undercut") < width(planned(order), "undercut")
    assert parsed(written(once)).sections == once.sections
    with pytest.raises(BadInput, match="no wider than its line on the film"):
        order.with_row("section", {**section, "section_line": "0.3 mm"})
    with pytest.raises(BadInput, match="section depth"):
        order.with_row("section", {"section_film": "0.3 mm", "section_line": "0.5 mm"})


def test_what_a_job_taught_comes_back_with_the_next(tmp_path, order):
    plain = planned(order)
    slow = plain.number("etch_time") / 0.6  # this tray etches at 0.6 of the model
    done = gauged(order, (f"{slow / 2:.1f} min", "0.103 mm"), (f"{slow:.1f} min", "0.2 mm"))
    plan = planned(done, known=known_to(tmp_path, done, "first"))
    keep_lesson(tmp_path, plan, "first", "2026-03-01")
    (entry,) = corrections.opened(tmp_path / "corrections.toml").entries
    assert entry.rate == pytest.approx(0.6, rel=0.06) and entry.readings == 2
    after = planned(order, known=known_to(tmp_path, order, "second"))
    assert after.number("etch_time") == pytest.approx(slow, rel=0.12)
    assert width(after) < 0.7 * width(plain)
    assert after.figures()["etch_rate"].basis != "measured here"
    # a reading of the next job is set against what the first one taught
    third = f"{slow / 2:.1f} min"
    next_job = order.with_row("reading", {"reading_time": third, "reading_depth": "0.103 mm"})
    both = planned(next_job, known=known_to(tmp_path, order, "second"))
    assert both.number("etch_time") == pytest.approx(slow, rel=0.08)
    assert both.number("rate_correction") == pytest.approx(0.6, rel=0.08)
    assert width(both) < width(after)
    # it is of this tray, metal, way and line: others do not take it over
    for other in (
        {"metal": "CW004A"}, {"tray_length": "400 mm"}, {"plate_lies": "on edge"},
        {"moved": "rocked by motor"}, {"finest_line": "1.5 mm"},
    ):  # fmt: skip
        changed = order.changed(**other)
        with_it = planned(changed, known=known_to(tmp_path, changed, "second"))
        assert with_it.number("etch_time") == planned(changed).number("etch_time"), other
    # the job itself, planned again, does not learn from its own entry twice
    again = planned(done, known=known_to(tmp_path, done, "first"))
    assert again.number("etch_time") == plan.number("etch_time")
    # and kept twice it counts once
    keep_lesson(tmp_path, plan, "first", "2026-03-02")
    assert len(corrections.opened(tmp_path / "corrections.toml").entries) == 1
    with pytest.raises(BadInput, match="no gauge reading"):
        keep_lesson(tmp_path, plain, "first", "2026-03-02")


def test_rocked_by_motor_is_less_sure(order):
    rocked = planned(order.changed(moved="rocked by motor"))
    by_hand = planned(order)
    assert rocked.number("etch_time") < by_hand.number("etch_time")
    # spreads of ln(rate) 0.6 and 0.45: 90 % ranges differ by exp(3.29 · 0.15)
    assert width(rocked) / width(by_hand) == pytest.approx(np.exp(2 * 1.645 * 0.15), rel=0.15)


def test_readings_say_how_much_longer_and_when_to_stop(order):
    plan = planned(order)
    half = f"{plan.number('etch_time') / 2:.0f} min"
    said = {a.key: a.text for a in advice.advice(planned(gauged(order, (half, "0.1 mm"))))}
    assert re.match(
        r"From the last reading about .* more; the finest line is about", said["shallow"]
    )
    deep = planned(gauged(order, (half, "0.24 mm")))
    assert answers.lift_answer(deep).startswith("**Stop**")
    assert "deeper than ordered" in {a.key: a.text for a in advice.advice(deep)}["too deep"]
    thin = planned(gauged(order.changed(plate_thickness="0.4 mm"), (half, "0.24 mm")))
    assert "half the sheet" in {a.key: a.text for a in advice.advice(thin)}["too deep"]


def test_a_late_line_and_the_three_choices(order):
    plan = planned(order)
    late = plan.number("etch_time") / 4
    told = planned(order.changed(cleared_late=f"{late:.3f} min"))
    # at a constant rate a quarter of the time is a quarter of the depth
    assert told.number("late_depth") == pytest.approx(0.15, abs=1e-3)
    assert told.number("shared_depth") == pytest.approx(0.225, abs=1e-3)
    assert told.number("shared_extra_width") == pytest.approx(0.05 / 1.4, abs=1e-3)
    text = {a.key: a.text for a in advice.advice(told)}["late"]
    assert "Accept it" in text and "stop the others out" in text and "share the difference" in text


def test_two_depths_on_one_plate(order):
    plan = planned(order.changed(second_line="1.2 mm", second_depth="0.35 mm"))
    assert plan.number("second_time") > plan.number("etch_time")
    # film of the numerals: 1.2 − 2 · 0.35/1.4
    assert plan.number("second_film_line") == pytest.approx(0.7)
    assert plan.number("film_line") == pytest.approx(0.6 - 2 * 0.2 / 1.4)
    alone = planned(order.changed(finest_line="1.2 mm", depth="0.35 mm"))
    assert plan.number("second_time") == pytest.approx(alone.number("etch_time"), rel=0.01)
    assert plan.number("metal_removed") == pytest.approx(alone.number("metal_removed"))
    for said, words in (
        ({"second_depth": "0.3 mm"}, "both"), ({"second_line": "1 mm", "second_depth": "0.1 mm"}, "deeper"),
        ({"second_line": "1 mm", "second_depth": "1.7 mm"}, "through the plate"),
    ):  # fmt: skip
        with pytest.raises(BadInput, match=words):
            order.changed(**said)


def test_the_trays_name_says_what_and_how_large(order):
    assert learning.tray_name(order) == "polypropylene 330 × 250 mm"


def test_a_reading_a_little_shallower_is_taken_and_a_lot_is_queried(order):
    # gauge error 0.02 mm: two gaugings differ by more than 0.057 mm once in twenty times
    for second, queried in (("0.12 mm", False), ("0.06 mm", True)):
        plan = planned(gauged(order, ("30 min", "0.13 mm"), ("40 min", second)))
        assert ("shallower" in {a.key for a in advice.advice(plan)}) == queried
        assert len(plan.readings) == 2


def test_what_the_range_comes_from_and_the_plan_before_any_reading(order):
    plan = planned(order)
    assert answers.range_reason(plan).startswith(
        "The range of the time comes mostly from the rate itself"
    )
    told = planned(gauged(order, ("60 min", "0.1 mm")))
    assert told.before.number("etch_time") == plan.number("etch_time")
    assert plan.before is None
    guide = " ".join(answers.strip_guide(plan))
    # a line drawn as wide as the film of the job, gauged twice in the first half hour
    assert f"{plan.number('film_line'):.2f} mm on the film" in guide.replace(" ", " ")
    assert "15 min" in guide and "30 min" in guide


@pytest.mark.parametrize(
    ("tip", "over", "on", "told"),
    [
        ("0.4 mm", "0.05 mm", "finest line", True),  # the film's opening is 0.31 mm
        ("0.4 mm", "0 mm", "finest line", False),  # the groove itself grows to 0.6 mm
        ("0.4 mm", "0.05 mm", "wide field", False),
        ("0.7 mm", "0 mm", "finest line", True),
    ],
)
def test_a_tip_too_wide_for_the_line_is_said(order, tip, over, on, told):
    order = order.changed(gauge_tip=tip)
    read = gauged(order, ("60 min", "0.15 mm"), film_under_gauge=over, gauged_on=on)
    assert ("tip" in {a.key for a in advice.advice(planned(read))}) == told


def test_a_reading_that_does_not_fit_stops_nothing(order):
    slip = gauged(
        order,
        ("30 min", "0.05 mm"),
        ("60 min", "0.1 mm"),
        ("70 min", "0.8 mm"),
        ("90 min", "0.145 mm"),
    )
    plan = planned(slip)
    assert plan.told.suspect == (2,) and len(plan.trusted) == 3
    assert not answers.lift_answer(plan).startswith("**Stop**")
    keys = {a.key for a in advice.advice(plan)}
    assert "reading" in keys and "too deep" not in keys, "left out, and said"
