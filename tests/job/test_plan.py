"""The whole plan: finite, ordered, whole for every wish, and near what makers report."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.formula import REGISTERED
from etchcalc.core.tables import STATUSES
from etchcalc.core.units import SYSTEMS, Quantity, read, unit
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import advice, answers, ranges, steps
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import DECISIONS, RESULTS, planned
from etchcalc.process import solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=40)


def whole(plan):
    """Every result finite and in order."""
    figures = plan.figures()
    assert {"etch_time", "gauge_time", "etchant_crystals", "undercut", "greatest_depth"} <= set(
        figures
    )
    for name, figure in figures.items():
        value = figure.value.magnitude
        if name != "warm_up_time":  # a heater may never get there: then it says so
            assert np.isfinite(value), name
        if name in DECISIONS:
            assert figure.low is None and figure.high is None
        else:
            slack = 1e-9 * abs(value) if np.isfinite(value) else 0.0
            assert figure.low.magnitude <= value + slack, name
            assert value <= figure.high.magnitude + slack, name
        assert STATUSES[figure.basis]
    return figures


def minutes(plan, name="etch_time"):
    return tuple(
        q if q is None else float(q.to(unit("min")).magnitude)
        for q in (lambda f: (f.low, f.value, f.high))(plan.figures(name)[name])
    )


def test_every_result_is_finite_and_within_its_range(plan):
    whole(plan)


@pytest.mark.parametrize("name", RESULTS)
def test_results_are_words_of_the_trade(name):
    assert term(name).meaning


def test_every_use_is_of_a_formula(plan):
    for _, uses in steps.sequence(plan.commission):
        for use in uses:
            assert use.formula in REGISTERED
            assert term(use.name)
            assert use.name in plan.book.values


@pytest.mark.parametrize("system", SYSTEMS)
def test_units_of_choice_change_no_number(commission, plan, system):
    other = planned(commission.changed(units=system)).figures()
    for name, figure in plan.figures().items():
        assert other[name].value == figure.value


def test_the_same_order_in_other_units_gives_the_same_plan(commission, plan):
    same = planned(
        commission.changed(
            plate_width="4.72440944881889763 in",
            depth="5.905511811023622 thou",
            # 500 g/L by the definitions of the ounce and the imperial gallon
            strength=f"{500 * 4.54609 / 28.349523125} oz/imp gal",
            temperature="107.6 °F",
            tray_length="33 cm",
        )
    ).figures()
    for name, figure in plan.figures().items():
        assert float(same[name].value.to(figure.value.units).magnitude) == pytest.approx(
            figure.value.magnitude, rel=1e-9
        )


# what makers report


@pytest.mark.parametrize("line", ["0.5 mm", "0.7 mm", "1 mm"])
@pytest.mark.parametrize("temperature", ["40 °C", "45 °C", "50 °C"])
def test_four_tenths_deep_takes_about_four_hours(commission, line, temperature):
    # common practice, no source: 0.4 mm in a fresh bath at 40 to 50 °C, some four hours
    plan = planned(commission.changed(finest_line=line, depth="0.4 mm", temperature=temperature))
    low, _, high = minutes(plan)
    assert low <= 240 <= high


def test_a_printed_circuit_takes_about_a_quarter_of_an_hour(commission):
    # 70 g in 100 mL, w 0.247 if hexahydrate, 40 to 50 °C: 15 to 20 min (vintage-radio.net, t=161710)
    # w × density / 0.6001 g/L of crystals, density by Laliberté & Cooper 2004
    density = solutions.etchant_density(mass_fraction=Quantity(0.247), temperature=read("20 °C"))
    strength = 0.247 * float(density.to(unit("g/L")).magnitude) / 0.6001
    plan = planned(
        commission.changed(
            metal="copper",
            depth="35 um",
            finest_line="1 mm",
            plate_count="1",
            strength=f"{strength} g/L",
            temperature="45 °C",
        )
    )
    assert plan.number("etchant_mass_fraction") == pytest.approx(24.7, abs=0.02)
    assert 10 <= minutes(plan)[1] <= 35
    low, _, high = minutes(plan)
    assert low < 20 and high > 15


def test_the_weaker_bath_is_the_faster_for_copper(commission):
    # Sharpe & Garn, Ind. Eng. Chem. 51 (1959) 293: 2.25 mol/L beats the commercial 3.75
    weak, strong = (
        planned(
            commission.changed(
                metal="copper", temperature="20 °C", strength=f"{molar * 270.295} g/L"
            )
        )
        for molar in (2.25, 3.75)
    )
    assert weak.number("etch_rate") > strong.number("etch_rate")


def test_what_the_plan_mixes(commission):
    # 500 g made up to 1 L: w 0.2441, 1229 kg/m³, 27.3 °Bé, 729 g of water (Laliberté & Cooper 2004)
    plan = planned(
        commission.changed(
            tray_length="100 mm",
            tray_width="100 mm",
            liquid_depth="100 mm",
            mixing_temperature="20 °C",
        )
    )
    assert plan.number("etchant_volume") == pytest.approx(1.0)
    assert plan.number("etchant_crystals") == pytest.approx(500)
    assert plan.number("etchant_water") == pytest.approx(729, abs=0.5)
    assert plan.number("etchant_baume") == pytest.approx(27.3, abs=0.05)
    assert plan.number("etchant_density") == pytest.approx(1229, rel=0.0025)


def test_what_the_plan_takes_out_of_the_bath(commission):
    # 100 × 100 mm, 40 % open, 0.20 mm, CuZn37 (8.44): 6.752 g, 56.8 g of hexahydrate, from molar masses
    plan = planned(
        commission.changed(
            plate_width="100 mm",
            plate_height="100 mm",
            open_fraction="40 %",
            depth="0.20 mm",
            plate_count="1",
        )
    )
    assert plan.number("metal_removed") == pytest.approx(6.752, abs=5e-4)
    assert plan.number("ferric_used") == pytest.approx(56.8, abs=0.05)
    balance = plan.number("ferric_used") + plan.number("ferric_left")
    assert balance == pytest.approx(plan.number("etchant_crystals"))
    assert plan.number("bath_copper_after") * plan.number("etchant_volume") == pytest.approx(
        4.254, abs=5e-4
    )


# the chance of being too deep


@pytest.mark.parametrize("chance", ["1 %", "5 %", "20 %", "50 %"])
def test_the_accepted_share_of_the_ways_is_too_deep_at_gauging(commission, chance):
    plan = planned(commission.changed(chance_too_deep=chance))
    ways = plan.book.values["too_deep_time"].to(unit("min")).magnitude[1:]
    assert len(ways) == ranges.WAYS
    too_deep = np.sum(ways < plan.number("gauge_time"))
    share = float(read(chance).to(unit("")).magnitude)
    assert abs(too_deep - share * len(ways)) <= 0.5 + 1e-9


def test_the_gauge_is_read_against_depth_and_allowance(commission):
    # at 5 % it is the early end of the range of times to a depth of 0.15 + 0.03 mm
    plan = planned(commission.changed(depth_allowance="0.03 mm", chance_too_deep="5 %"))
    early, middle, _ = plan.depth_against_time(Quantity(np.array([0.18]), unit("mm")))[:, 0]
    assert plan.number("gauge_time") == pytest.approx(early)
    assert plan.number("too_deep_time") == pytest.approx(middle)
    assert plan.number("too_deep_time") > plan.number("etch_time")


def test_a_more_careful_maker_gauges_sooner(commission):
    careful, bold = (
        planned(commission.changed(chance_too_deep=chance)).number("gauge_time")
        for chance in ("1 %", "20 %")
    )
    assert careful < bold


def test_the_middle_of_a_plan_is_the_formulas_own(plan):
    for use in plan.book.uses.values():
        if use.formula == "gauge_time":
            continue
        single = {
            key: Quantity(float(np.ravel(q.magnitude)[0]), q.units)
            for key, q in plan.book.inputs(use).items()
        }
        expected = REGISTERED[use.formula].function(**single).to(term(use.name).unit).magnitude
        if use.name != "open_area":
            assert plan.number(use.name) == pytest.approx(float(expected), rel=1e-9)


# monotony


def number(commission, name, **said):
    return planned(commission.changed(**said)).number(name)


def rising(commission, name, key, typed):
    found = [number(commission, name, **{key: text}) for text in typed]
    return all(a < b for a, b in pairwise(found))


def falling(commission, name, key, typed):
    return rising(commission, name, key, typed[::-1])


def test_what_goes_with_what(commission):
    depths = ["0.05 mm", "0.1 mm", "0.15 mm", "0.2 mm", "0.4 mm"]
    assert rising(commission, "etch_time", "depth", depths)
    assert rising(commission, "undercut", "depth", depths)
    assert falling(
        commission, "etch_time", "temperature", ["15 °C", "25 °C", "35 °C", "42 °C", "50 °C"]
    )
    assert rising(commission, "ferric_used", "plate_count", ["1", "2", "3", "10"])
    assert falling(commission, "plates_to_come", "plate_count", ["1", "2", "3", "10"])
    assert falling(commission, "etch_rate", "plate_count", ["1", "10", "30"])
    assert falling(commission, "etch_rate", "finest_line", ["0.7 mm", "1 mm", "2 mm", "4 mm"])
    assert rising(commission, "greatest_depth", "finest_line", ["0.2 mm", "0.4 mm", "1 mm"])
    assert rising(commission, "stop_out_paint", "coats", ["1", "2", "3"])


def test_depth_against_time_rises_and_passes_through_the_ordered_depth(plan):
    depths = Quantity(np.linspace(0.01, 0.3, 30), unit("mm"))
    early, middle, late = plan.depth_against_time(depths)
    for curve in (early, middle, late):
        assert np.all(np.diff(curve) > 0)
    assert np.all(early < middle) and np.all(middle < late)
    at = plan.depth_against_time(Quantity(np.array([0.15]), unit("mm")))[:, 0]
    assert at == pytest.approx(minutes(plan))


# wishes that cannot be had

IMPOSSIBLE = [
    ({"finest_line": "0.15 mm", "depth": "0.4 mm"}, "too fine", "Etch to"),
    ({"finest_line": "0.08 mm"}, "too fine", "Ask for lines of"),
    ({"plate_count": "12"}, "tray", "batches"),
    ({"plate_width": "600 mm", "plate_height": "400 mm"}, "tray", "No plate fits this tray"),
    ({"plate_count": "20", "open_fraction": "90 %", "depth": "0.3 mm"}, "bath", "refresh"),
    ({"liquid_depth": "15 mm", "heater_cover": "30 mm"}, "level", "cover the heater"),
    ({"liquid_depth": "8 mm", "heater_cover": "0 mm"}, "level", "touch the under face"),
]


@pytest.mark.parametrize(
    ("said", "key", "words"), IMPOSSIBLE, ids=[f"{i[1]}-{i[2]}" for i in IMPOSSIBLE]
)
def test_a_wish_that_cannot_be_had_gets_a_way_out_and_a_whole_plan(commission, said, key, words):
    plan = planned(commission.changed(**said))
    whole(plan)
    found = {a.key: a for a in advice.advice(plan)}
    assert found[key].way_out
    assert words in found[key].text
    assert advice.advice(plan)[0].way_out, "ways out come first"
    assert all(answers.answers(plan))


def test_batches_are_counted(commission):
    # a tray of 330 × 250 mm with gaps of 10 mm holds six blanks of 144 × 69 mm
    plan = planned(commission.changed(plate_count="13"))
    assert plan.plates_at_once == 6
    (found,) = [a for a in advice.advice(plan) if a.key == "tray"]
    assert "holds 6 of 13 at once: etch 3 batches" in found.text


def test_an_ordinary_wish_has_no_way_out(plan):
    assert [a.key for a in advice.advice(plan) if a.way_out] == []


def test_no_plate_goes_in_hot_without_a_word(commission):
    keys = {a.key for a in advice.advice(planned(commission.changed(temperature="55 °C")))}
    assert {"hot", "tables"} <= keys


# bases


def test_a_result_says_what_it_rests_on(commission, plan):
    figures = plan.figures()
    assert figures["etchant_volume"].basis == "common practice"  # tray size was not said
    assert figures["open_area"].basis == "given"
    said = planned(
        commission.changed(
            **{name: str(term(name).quantity(float(term(name).start)).magnitude) + " mm" for name in (
                "tray_length", "tray_width", "liquid_depth", "spacer_height", "touching_margin",
                "heater_cover")},
            heater_volume="0 mL", waste_margin="12 mm",
        )
    )  # fmt: skip
    assert said.figures()["etchant_volume"].basis == "given"
    assert said.figures()["etchant_density"].basis == "worked out"
    assert figures["undercut"].basis == "common practice"
    own = planned(commission.changed(etch_factor="1.3")).figures()
    assert own["undercut"].basis == "measured here"
    guessed = planned(commission.changed(open_fraction="")).figures()
    assert guessed["open_area"].basis == "assumed"


def test_a_guess_is_marked_in_every_working_that_uses_it(commission):
    plan = planned(commission.changed(open_fraction=""))
    for name, use in plan.book.uses.items():
        inputs = [use.inputs.get(key, key) for key in REGISTERED[use.formula].inputs]
        shown = dict(plan.working(name).inputs)
        for key in inputs:
            if plan.book.basis[key] == "assumed":
                assert shown[key.replace("_", " ")].endswith("(a guess)")


# with a drawing


def drawing(**sizes):
    area = Quantity(8.1, unit("cm^2"))
    lengths = {k: v if v is None else read(v) for k, v in sizes.items()}
    return Drawing(area, Quantity(0.15, unit("")), digest="0" * 64, **lengths)


def test_a_drawing_measures_the_open_area(commission):
    plan = planned(commission, drawing(narrowest_line="0.4 mm", narrowest_land="0.6 mm"))
    figures = whole(plan)
    assert float(figures["open_area"].value.to(unit("cm^2")).magnitude) == pytest.approx(8.1)
    assert figures["open_area"].basis == "drawing"
    assert float(figures["narrowest_land"].value.to(unit("mm")).magnitude) == pytest.approx(0.6)


def test_a_drawing_that_disagrees_with_the_order_says_so(commission):
    plan = planned(commission, drawing(narrowest_line="0.25 mm", narrowest_land="0.6 mm"))
    assert "line" in {a.key for a in advice.advice(plan)}


def test_a_film_as_it_is_takes_the_lesser_of_line_and_land(commission):
    asked = commission.changed(shows="film as it is", etch_factor="1.4")
    # line: 1.4 (0.4 − 0.2)/2 = 0.14 mm; land: 1.4 (0.6 − 0.1)/2 = 0.35 mm
    plan = planned(asked, drawing(narrowest_line="0.2 mm", narrowest_land="0.6 mm"))
    assert plan.number("greatest_depth") == pytest.approx(0.14)
    # land: 1.4 (0.2 − 0.1)/2 = 0.07 mm
    plan = planned(asked, drawing(narrowest_line="0.2 mm", narrowest_land="0.2 mm"))
    assert plan.number("greatest_depth") == pytest.approx(0.07)
    whole(plan)
    assert "too fine" in {a.key for a in advice.advice(plan)}


@pytest.mark.parametrize("shows", ["finished plate", "film as it is"])
def test_a_drawing_without_lines_or_lands(commission, shows):
    asked = commission.changed(shows=shows)
    whole(planned(asked, drawing(narrowest_line=None, narrowest_land=None)))
    whole(planned(asked, drawing(narrowest_line="0.3 mm", narrowest_land=None)))


# whatever may be meant

MAY = {
    "plate_width": (5, 600), "plate_height": (5, 600), "finest_line": (0.05, 5), "depth": (0.01, 0.19),
    "depth_allowance": (0, 0.2), "narrowest_film_line": (0.01, 1), "open_fraction": (0.5, 100),
    "strength": (50, 1100), "temperature": (5, 60), "mixing_temperature": (5, 40),
    "practical_stop": (5, 95), "tray_length": (50, 1000), "tray_width": (50, 1000),
    "liquid_depth": (3, 200), "spacer_height": (1, 100), "heater_cover": (0, 400),
    "tilt_habit": (1, 120), "coat_thickness": (2, 500), "fill_solids": (5, 100),
    "paint_loss": (0, 90), "chance_too_deep": (0.5, 50),
}  # fmt: skip


@TRIED
@given(st.data())
def test_whatever_may_be_meant_gets_a_whole_plan(commission, data):
    names = data.draw(st.sets(st.sampled_from(sorted(MAY)), min_size=3))
    said = {}
    for name in sorted(names):
        entry = VOCABULARY[name]
        value = data.draw(st.floats(*MAY[name]), label=name)
        said[name] = f"{value:.6g} {_written_unit(entry)}"
    said["plate_thickness"] = "0.2 mm"
    said["depth"] = said.get("depth", "0.1 mm")
    plan = planned(commission.changed(**said))
    whole(plan)
    assert all(answers.answers(plan))
    for found in advice.advice(plan):
        assert "nan" not in found.text


def _written_unit(entry):
    from etchcalc.core.units import KINDS

    return KINDS[entry.kind].words[0]


# how sure

UNSURE = (
    "undercut", "film_line_compensation", "greatest_depth", "etchant_baume", "etch_rate", "etch_time",
    "metal_removed", "ferric_used", "plates_to_come", "bath_copper_after", "stop_out_paint",
    "fill_paint",
)  # fmt: skip


@pytest.mark.parametrize("said", [{}, {"etch_factor": "1.3"}], ids=["usual", "own etch factor"])
def test_every_predicted_figure_carries_a_range(commission, said):
    figures = planned(commission.changed(**said)).figures(*UNSURE)
    for name, figure in figures.items():
        assert figure.low.magnitude < figure.value.magnitude < figure.high.magnitude, name


def test_before_calibration_the_time_is_known_within_a_factor_of_two(plan):
    # exp(1.645 · 0.45) = 2.1 by the rate alone; strength, temperature and width add a little
    low, value, high = minutes(plan)
    assert 2.0 < value / low < 2.35
    assert 2.0 < high / value < 2.35


def test_an_own_etch_factor_is_known_better_than_the_usual(commission):
    def spread(**said):
        figure = planned(commission.changed(**said)).figures("undercut")["undercut"]
        return float((figure.high / figure.low).to("").magnitude)

    assert 1 < spread(etch_factor="1.35") < spread()


def test_the_usual_etch_factor_lies_between_one_and_two(commission):
    # common practice, no source: 90 % from 1.0 to 1.9 about 1.4 for lines of 0.5 mm and more
    plan = planned(commission.changed(finest_line="0.6 mm"))
    low, high = ranges.ends(plan.book.values["etch_factor"].magnitude)
    assert (low, high) == (pytest.approx(1.0, abs=0.05), pytest.approx(1.9, abs=0.05))


@pytest.mark.parametrize("loss", ["0 %", "12 %", "50 %", "75 %", "90 %"])
def test_no_range_of_paint_is_negative_or_endless(commission, loss):
    for figure in (
        planned(commission.changed(paint_loss=loss))
        .figures("stop_out_paint", "fill_paint")
        .values()
    ):
        low, value, high = (float(q.magnitude) for q in (figure.low, figure.value, figure.high))
        assert 0 < low < value < high < 20 * value


def test_a_plan_worked_from_the_one_before_is_the_same_plan(commission):
    before = planned(commission)
    for said in ({"depth": "0.31 mm"}, {"temperature": "33 °C"}, {"plate_width": "200 mm"}):
        changed = commission.with_one(*next(iter(said.items())))
        anew, quick = planned(changed), planned(changed, None, before)
        assert list(anew.book.values) == list(quick.book.values)
        for name, quantity in anew.book.values.items():
            assert np.array_equal(quantity.magnitude, quick.book.values[name].magnitude), name
        assert anew.book.basis == quick.book.basis
        before = quick
