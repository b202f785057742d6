"""Baths that are not new: written down, logged, or found on the shelf with one reading and a fact."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.job import advice, answers, baths, known
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned

ORDER = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "CW508L"
[lines]
finest_line = "0.4 mm"
depth = "0.15 mm"
[bath]
strength = "500 g/L"
temperature = "20 °C"
"""
TRIED = settings(deadline=None, derandomize=True, max_examples=15)


def of(**said):
    return planned(parsed(ORDER).changed(**said))


def used(grams_per_litre, **said):
    litres = of().number("whole_bath")
    grams = f"{grams_per_litre * litres:.6f} g"
    return of(bath_is="used and written down", metal_dissolved=grams, **said)


def shelf(reading, **said):
    return of(
        bath_is="found on the shelf",
        hydrometer_reading=reading,
        **{"reading_temperature": "60 °F", **said},
    )


def texts(plan):
    return {a.key: a.text for a in advice.advice(plan)}


def test_a_used_bath_that_has_dissolved_nothing_is_the_fresh_one():
    fresh, nothing = of(), used(0)
    for name in ("fresh_rate", "etch_time", "etchant_baume", "ferric_left", "plates_to_come"):
        assert nothing.number(name) == pytest.approx(fresh.number(name), rel=1e-9), name
    assert nothing.number("etchant_density") == pytest.approx(fresh.number("etchant_density"))


@pytest.mark.parametrize(("spent", "rate"), [(0.1, 0.90), (0.25, 0.75), (0.5, 0.48), (0.75, 0.21)])
def test_the_rate_falls_close_to_first_order_in_the_ferric_left(spent, rate):
    # an independent model at 20 °C, computed apart from this project; 59.4 g/L spend 500 g/L in all
    plan, fresh = used(59.44 * spent), of()
    assert plan.number("bath_spent_share") == pytest.approx(100 * spent, abs=0.2)
    for name in ("fresh_rate", "field_fresh_rate"):
        assert plan.number(name) / fresh.number(name) == pytest.approx(rate, abs=0.025)


def test_what_a_hydrometer_reads_after_thirteen_grams_of_brass():
    # about 28.5 °Bé against 27.3 fresh, with 22 % of the ferric gone (Laliberté & Cooper 2004;
    # computed apart from this project)
    plan = used(13)
    assert plan.number("etchant_baume") == pytest.approx(28.5, abs=0.1)
    assert plan.number("bath_spent_share") == pytest.approx(22, abs=0.2)


@TRIED
@given(st.floats(0, 45), st.sampled_from([15, 20, 35]))
def test_reading_and_metal_give_the_bath_back(grams_per_litre, celsius):
    there = used(grams_per_litre)
    litres = there.number("whole_bath")
    back = shelf(
        f"{there.number('etchant_baume'):.8f}",
        metal_dissolved=f"{grams_per_litre * litres + 1e-9:.9f} g",
        mixing_temperature="20 °C",
    )
    # the temperature correction of 60 °F is none; what is left is rounding
    assert back.number("strength") == pytest.approx(500, rel=1e-3)
    assert back.number("ferric_in_bath") == pytest.approx(there.number("ferric_in_bath"), rel=3e-3)


def test_the_bottle_trial_and_the_strip_are_second_facts_too():
    # copper lost × 8.51 / sample: 4 g in 100 mL leave 340 g/L, Cu + 2 FeCl3
    trial = shelf("28.5", copper_lost="4 g", sample_volume="100 mL")
    left = trial.number("strength") * (1 - trial.number("bath_spent_share") / 100)
    assert left == pytest.approx(340.3, abs=0.3)
    assert "at most" in texts(trial)["trial"]
    strip = shelf("28.5", strip_share="70 %")
    assert strip.number("bath_spent_share") == pytest.approx(30)


def test_one_reading_alone_says_what_it_allows_and_asks():
    plan = shelf("38.2")
    said = texts(plan)["hydrometer"]
    ends = [float(x) for x in re.findall(r"(\d+) g/L", said)]
    fresh = of(strength=f"{ends[1]} g/L")
    assert fresh.number("etchant_baume") == pytest.approx(38.2, abs=0.5)
    assert ends[0] < ends[1] and "second fact" in said
    # the strength that the commission starts from counts for nothing
    assert ends[0] < plan.number("strength") < ends[1]
    share = plan.figures("bath_spent_share")["bath_spent_share"]
    assert share.low.magnitude < 5 and share.high.magnitude > 80, "any share may be spent"
    known_more = shelf("38.2", metal_dissolved="60 g").figures("etch_time", "ferric_in_bath")
    for name, figure in plan.figures("etch_time", "ferric_in_bath").items():
        width = (figure.high - figure.low).magnitude
        assert width > (known_more[name].high - known_more[name].low).magnitude
    assert "hydrometer" not in texts(shelf("38.2", metal_dissolved="60 g"))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"bath_is": "found on the shelf"}, "a bath found on the shelf needs one"),
        ({"bath_is": "used and written down", "metal_dissolved": "2 kg"}, "more than the ferric"),
        (
            {"bath_is": "found on the shelf", "hydrometer_reading": "12", "metal_dissolved": "600 g"},
            "do not go together",
        ),
        (
            {"bath_is": "found on the shelf", "hydrometer_reading": "1.4"},
            "looks like a specific gravity",
        ),
        (
            {"bath_is": "found on the shelf", "hydrometer_reading": "28.5", "copper_lost": "0 g"},
            "no ferric is left",
        ),
        ({"bath_is": "old"}, "type new, used and written down or found on the shelf"),
    ],
)  # fmt: skip
def test_what_cannot_be_so_gets_one_sentence(said, words):
    with pytest.raises(BadInput, match=re.escape(words)) as fault:
        of(**said)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize("typed", ["1.850 mol/L", "27.33 °Bé", "SG 1.2323", "24.41 % FeCl3", "40.67 % crystals"])  # fmt: skip
def test_a_strength_in_any_measure(typed):
    # 500 g of crystals made up to a litre at 20 °C: w 0.2441, 1.850 mol/L, 27.3 °Bé
    plan = of(strength=typed, mixing_temperature="20 °C")
    assert plan.number("strength") == pytest.approx(500, rel=2e-3)
    assert plan.commission.typed["strength"] == typed


def test_a_bath_past_its_stop_and_one_too_small():
    past = used(40)
    assert "past its stop" in texts(past)["bath"]
    little = of(bath_volume="2 L")
    assert "this bath has 2.00 L" in texts(little)["volume"].replace(" ", " ")
    assert "volume" not in texts(of(bath_volume="5 L"))
    # a whole bottle holds more plates than what is poured of it
    assert of(bath_volume="5 L").number("plates_to_come") > of().number("plates_to_come")


@TRIED
@given(st.floats(0, 28))
def test_more_metal_before_leaves_fewer_plates_and_takes_longer(grams_per_litre):
    less, more = used(grams_per_litre), used(grams_per_litre + 1)
    assert more.number("plates_to_come") < less.number("plates_to_come")
    assert more.number("etch_time") > less.number("etch_time")
    # the metal is kept account of: copper after, of this alloy
    assert more.number("bath_copper_after") > less.number("bath_copper_after")


def test_every_figure_of_a_used_bath_has_its_range_and_its_sum():
    for plan in (used(10), shelf("30"), shelf("30", metal_dissolved="40 g")):
        for name, figure in plan.figures().items():
            assert np.isfinite(figure.value.magnitude), name
        assert "etchant_crystals" not in plan.figures(), "nothing is weighed into a used bath"
        names = plan.worked_in("mix")
        assert "ferric_fraction" in names and "used_viscosity" not in names
        for name in names:
            assert plan.working(name).result
        assert "Pour" in answers.bath_answer(plan)


def test_a_logged_bath_is_carried_from_job_to_job(tmp_path):
    first = planned(parsed(ORDER).changed(bath_name="Big bottle", plate_count="20"))
    known.enter_in_log(tmp_path, first, "one", "2026-03-01")
    second = parsed(ORDER).changed(bath_is="used and written down", bath_name="Big bottle")
    plan = planned(second, known=known.known_to(tmp_path, second, "two"))
    spent = first.number("spent_share")
    assert plan.number("bath_spent_share") == pytest.approx(spent, rel=1e-3)
    assert plan.number("strength") == pytest.approx(500)
    # planned again, the first job's own entry does not count
    again = planned(second, known=known.known_to(tmp_path, second, "one"))
    assert again.number("bath_spent_share") == pytest.approx(0, abs=1e-9)
    # entered twice it counts once
    known.enter_in_log(tmp_path, first, "one", "2026-03-02")
    log = baths.opened(baths.path_of(tmp_path, "Big bottle"))
    assert len([e for e in log.entries if e.part == "job"]) == 1
    with pytest.raises(BadInput, match="there is no log of “Small”"):
        known.known_to(tmp_path, second.changed(bath_name="Small"))
    with pytest.raises(BadInput, match="type what is written on the bottle"):
        known.enter_in_log(tmp_path, planned(parsed(ORDER)), "one", "2026-03-01")
