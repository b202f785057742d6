"""The record, its steps and their cautions."""

import json

import pytest

from etchcalc.core.tables import STATUSES, load
from etchcalc.core.units import unit
from etchcalc.core.vocabulary import term
from etchcalc.job import placeholders, record, steps
from etchcalc.job.plan import DECISIONS, RESULTS, planned

STEP_LIST = load("steps.toml")["step"]
CAUTIONS = load("cautions.toml")
ALLOYS = load("alloys.toml")


def test_the_record_is_json_without_holes(plan):
    text = json.dumps(record.record(plan), allow_nan=False)
    assert json.loads(text)["schema"] == record.SCHEMA
    assert "NaN" not in text and "Infinity" not in text


def test_made_twice_it_is_the_same_bytes(commission):
    once, twice = (
        json.dumps(record.record(planned(commission), "2030-01-02"), sort_keys=True)
        for _ in range(2)
    )
    assert once == twice


def test_results_promise_value_unit_low_high_basis(plan):
    found = record.results(plan)
    assert set(found) <= set(RESULTS)
    for name, entry in found.items():
        assert set(entry) == {"value", "unit", "low", "high", "basis"}
        assert unit(entry["unit"]).dimensionality == term(name).unit.dimensionality
        assert entry["basis"] in STATUSES.values()
        if name in DECISIONS:
            assert entry["low"] is None and entry["high"] is None
        else:
            assert entry["low"] <= entry["value"] <= entry["high"] or entry["low"] == pytest.approx(
                entry["value"]
            )


@pytest.mark.parametrize(
    ("name", "written"),
    [("etch_time", "min"), ("undercut", "mm"), ("etchant_volume", "L"), ("open_fraction", "dimensionless"),
     ("etch_rate", "um/min"), ("bath_copper_after", "g/L"), ("stop_out_paint", "mL")],
)  # fmt: skip
def test_units_of_the_results(plan, name, written):
    entry = record.results(plan, name)[name]
    assert entry["unit"] == written
    assert entry["value"] == pytest.approx(float(plan.middle(name).to(unit(written)).magnitude))


def test_a_share_is_recorded_as_a_fraction(plan):
    assert record.results(plan, "open_fraction")["open_fraction"]["value"] == pytest.approx(0.15)


def test_what_was_said_and_what_was_not(plan):
    found = record.record(plan)["understood"]
    assert found["depth"]["source"] == "" and found["depth"]["basis"] == STATUSES["given"]
    assert found["depth"]["value"] == pytest.approx(0.15)
    assert found["coats"]["source"] and found["coats"]["basis"] == STATUSES["common practice"]
    assert found["temperature"] == {
        "value": 42.0,
        "unit": "degC",
        "basis": "what you said",
        "source": "",
    }


def test_the_curve_passes_through_the_plan(plan):
    found = record.curve(plan)
    assert len(found["depth"]) == len(found["early"]) == len(found["late"])
    assert found["depth"] == sorted(found["depth"])
    for early, middle, late in zip(found["early"], found["middle"], found["late"], strict=True):
        assert early < middle < late


def test_steps_in_the_order_of_the_job(plan):
    found = record.steps(plan)
    assert [step["key"] for step in found] == [step["key"] for step in STEP_LIST]
    order = [step["key"] for step in found]
    for before, after in (("film", "coat"), ("coat", "expose"), ("expose", "develop"), ("mix", "etch"),
                          ("stop_out", "etch"), ("etch", "strip"), ("strip", "fill"),
                          ("etch", "put_away")):  # fmt: skip
        assert order.index(before) < order.index(after)
    for step in found:
        assert set(step) >= {"title", "workings", "cautions"}
        for line in step["do"]:
            assert "{" not in line and "nan" not in line


def test_every_result_that_a_formula_gave_is_worked_in_a_step(plan):
    worked = {w["name"] for step in record.steps(plan) for w in step["workings"]}
    for name in record.results(plan):
        if name in plan.book.uses and name != "open_area":
            assert name in worked
    keys = {key for key, _ in steps.sequence(plan.commission)}
    assert keys <= {step["key"] for step in STEP_LIST}


# cautions


@pytest.mark.parametrize("step", STEP_LIST, ids=[step["key"] for step in STEP_LIST])
def test_every_hazard_of_a_step_has_a_caution(step):
    for hazard in step["hazards"]:
        assert [c for c in CAUTIONS.values() if c["hazard"] == hazard]
    shown = record.cautions(step)
    assert len(shown) == sum(c["hazard"] in step["hazards"] for c in CAUTIONS.values())


def test_no_caution_is_left_unused():
    hazards = {hazard for step in STEP_LIST for hazard in step["hazards"]}
    hazards |= {alloy["hazard"] for alloy in ALLOYS.values() if "hazard" in alloy}
    assert {caution["hazard"] for caution in CAUTIONS.values()} == hazards


HARMFUL = [key for key, alloy in ALLOYS.items() if "hazard" in alloy]


@pytest.mark.parametrize("metal", HARMFUL)
def test_what_a_harmful_metal_asks_for_is_shown(commission, metal):
    plan = planned(commission.changed(metal=metal))
    hazard = ALLOYS[metal]["hazard"]
    (caution,) = [c["text"] for c in CAUTIONS.values() if c["hazard"] == hazard]
    shown = {s["key"] for s in record.steps(plan) if caution in [c["text"] for c in s["cautions"]]}
    # in bath, rinse, dust and waste
    assert {"etch", "strip", "finish", "put_away"} <= shown


def test_a_metal_with_lead_or_nickel_is_marked_harmful():
    for alloy in ALLOYS.values():
        if alloy.get("lead", 0) > 0.001:
            assert alloy["hazard"] == "leaded"
        if alloy.get("nickel", 0) > 0.001:
            assert alloy["hazard"] == "nickel"


def test_plain_brass_shows_no_lead(plan):
    text = json.dumps(record.steps(plan))
    assert "holds lead" not in text and "holds nickel" not in text


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ("mix", "Crystals into water"),
        ("mix", "never metal"),
        ("mix", "Goggles"),
        ("etch", "residual-current"),
        ("etch", "Ventilate"),
        ("expose", "Ultraviolet"),
        ("strip", "Carbonate never meets ferric chloride"),
        ("put_away", "never down a drain"),
        ("put_away", "bleach"),
        ("stop_out", "away from heat, flame"),
    ],
)
def test_the_cautions_that_matter_most(plan, step, words):
    (found,) = [s for s in record.steps(plan) if s["key"] == step]
    assert any(words in c["text"] for c in found["cautions"])
    assert all(c["source"] and c["short"] for c in found["cautions"])


@pytest.mark.parametrize("units", ["metric", "imperial", "US"])
def test_every_step_can_be_said_in_the_makers_units(commission, units):
    plan = planned(commission.changed(units=units))
    text = " ".join(line for step in record.steps(plan) for line in step["do"])
    assert ("thou" in text) == (units != "metric")
    assert "**" not in text
    assert placeholders.placeholders(plan)["plates_left"].endswith(".")


def test_a_metal_key_of_the_record(plan):
    found = record.record(plan)
    assert found["metal"]["key"] == "CW508L"
    assert found["title"] == "Tide table"
    assert found["files"] == {}
