"""What it would take: one input solved for, with one answer, two, or none."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.job import what_if
from etchcalc.job.plan import planned

TRIED = settings(deadline=None, derandomize=True, max_examples=12)


@pytest.fixture(scope="module")
def plan(commission):
    return planned(commission)


@TRIED
@given(st.floats(22, 53))
def test_a_temperature_that_was_taken_is_found_again(commission, plan, celsius):
    """Round trip: the time at a temperature asks for that temperature."""
    time = planned(commission.with_one("temperature", f"{celsius:.6f} °C")).number("etch_time")
    found = what_if.taking(plan, "temperature", "etch_time", time)
    assert len(found) == 1 and found[0] == pytest.approx(celsius, abs=0.01)


@TRIED
@given(st.floats(0.05, 0.4))
def test_a_depth_that_was_taken_is_found_again(commission, plan, depth):
    time = planned(commission.with_one("depth", f"{depth:.6f} mm")).number("etch_time")
    found = what_if.taking(plan, "depth", "etch_time", time)
    assert any(value == pytest.approx(depth, abs=1e-4) for value in found)


def test_a_strength_has_two_answers_on_both_sides_of_the_best(plan):
    """The rate rises with the strength and falls again as the etchant thickens."""
    best = min(what_if.against(plan, "strength", range(200, 1000, 50), "etch_time")[1])
    found = what_if.taking(plan, "strength", "etch_time", 1.05 * best)
    assert len(found) == 2 and found[0] < found[1]
    assert "there are 2 answers" in what_if.in_time(plan, "strength", 1.05 * best)


def test_what_no_value_gives_is_said_with_both_ends(plan):
    assert what_if.taking(plan, "temperature", "etch_time", 1.0) == []
    said = what_if.in_time(plan, "temperature", 1.0)
    assert said.startswith("No temperature has it done in 1.0 min") and " at " in said
