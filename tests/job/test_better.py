"""What may go wrong and what to measure better, against closed forms of the normal and of Bayes."""

import numpy as np
import pytest
from scipy import integrate, stats

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, clock, read, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import better, chances
from etchcalc.job.book import Book
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import planned
from etchcalc.job.tolerances import Tolerance


def drawing(**sizes):
    area = Quantity(8.1, unit("cm^2"))
    return Drawing(area, Quantity(0.15, unit("")), **{k: read(v) for k, v in sizes.items()})


def ways(plan, name):
    magnitude = plan.book.values[name].to(term(name).unit).magnitude
    return np.broadcast_to(magnitude, 257)


# ---- chances


def test_the_chance_that_a_line_closes(plan):
    # w − 2 d/(F exp(0.195 z)) < 0.1 exp(0.1 y), z and y normal: integrated by scipy; F of a line of
    # 0.4 mm is 1.35, straight between 1.25 at 0.2 mm and 1.4 at 0.5 mm
    def below(z):
        line = 0.40 - 2 * 0.15 / (1.35 * np.exp(0.195 * z))
        chance = stats.norm.sf(np.log(line / 0.1) / 0.1) if line > 0 else 1.0
        return chance * stats.norm.pdf(z)

    expected = integrate.quad(below, -8, 8)[0]
    found = chances.line_closes(plan)
    assert found.share == pytest.approx(expected, abs=0.01)
    assert found.text == (
        "The chance is 5.9 % that the finest line, corrected for its undercut, is narrower on the film "
        "than film and resist resolve."
    )


def test_the_chance_that_a_land_closes(commission):
    # a film as it is: 0.4 − 2 · 0.15/(1.35 exp(0.195 z)) < 0.2 where exp(0.195 z) < 1.5/1.35
    asked = commission.changed(shows="film as it is", narrowest_resist_land="0.2 mm")
    plan = planned(asked, drawing(narrowest_line="0.2 mm", narrowest_land="0.4 mm"))
    expected = stats.norm.cdf(np.log(1.5 / 1.35) / 0.195)
    assert chances.land_closes(plan).share == pytest.approx(expected, abs=0.005)
    assert chances.line_closes(plan) is None


def test_a_land_of_a_corrected_film_closes_by_more_undercut_than_it_was_drawn_for(commission):
    # 0.18 − 2 (u − 0.1111) < 0.1 where u = 0.15/(1.35 e^x) > 0.1511, by hand
    plan = planned(commission, drawing(narrowest_line="0.4 mm", narrowest_land="0.18 mm"))
    expected = stats.norm.cdf(np.log(0.15 / 1.35 / (0.15 / 1.35 + 0.04)) / 0.195)
    assert chances.land_closes(plan).share == pytest.approx(expected, abs=0.005)
    assert chances.land_closes(planned(commission)) is None


@pytest.mark.parametrize("accepted", [5, 10, 25])
def test_at_the_planned_lift_it_is_too_deep_with_the_accepted_chance(commission, accepted):
    # the lift is set so (JCGM 101, propagation of distributions)
    plan = planned(commission.changed(chance_too_deep=f"{accepted} %"))
    too_deep, too_shallow = chances.depth_misses(plan)
    assert too_deep.share == pytest.approx(accepted / 100, abs=1.5 / 256)
    assert too_deep.share + too_shallow.share <= 1
    assert "deeper than 0.17 mm after" in too_deep.text


def test_a_lift_at_the_middle_time_is_as_likely_too_deep_as_too_shallow(plan):
    at = float(np.median(ways(plan, "etch_time")[1:]))
    pair = chances.depth_misses(plan, at, 0.0)
    assert [chance.share for chance in pair] == pytest.approx([0.5, 0.5], abs=2 / 256)


def test_a_tolerance_said_with_the_depth_is_what_it_may_miss_by(commission, monkeypatch):
    say = Book.say
    monkeypatch.setattr(
        Book,
        "say",
        lambda self, n, q, s, t=None: say(self, n, q, s, Tolerance(n, 0.05) if n == "depth" else t),
    )
    plan = planned(commission)
    too_deep, _ = chances.depth_misses(plan)
    assert "deeper than 0.20 mm" in too_deep.text
    assert too_deep.share == chances.depth_misses(plan, half_width=0.05)[0].share


def test_the_depth_at_a_time_is_the_time_to_a_depth_turned_round(plan):
    minutes = chances.minutes_to(plan, np.array([0.12]))[0]
    for at, way in ((minutes[0], 0), (minutes[7], 7), (minutes[200], 200)):
        assert chances.depth_at(plan, at)[way] == pytest.approx(0.12, rel=2e-3)
    # and the plan's own curve
    curve = plan.depth_against_time(Quantity(np.array([0.12]), unit("mm")))
    assert minutes[0] == pytest.approx(curve[1, 0])


def test_a_bath_that_warms_up_is_followed(commission):
    plan = planned(commission.changed(plates_go_in="while it warms up"))
    at = plan.number("etch_time")
    assert chances.depth_at(plan, at)[0] == pytest.approx(0.15, rel=5e-3)


def test_the_chance_to_run_past_closing_time(plan):
    times = np.sort(ways(plan, "etch_time")[1:])
    assert chances.runs_late(plan, float(times[127]) + 1e-9).share == 0.5
    figure = plan.figures("etch_time")["etch_time"]
    assert chances.runs_late(plan, figure.high.magnitude).share == pytest.approx(0.05, abs=1 / 256)
    assert chances.runs_late(plan, 1e6).text.startswith("It is less likely than 1 in 256 that")
    assert chances.runs_late(plan, 0.0).text.startswith("It is likelier than 255 in 256 that")


def test_every_chance_of_a_plan(plan):
    assert [c.key for c in chances.chances(plan)] == ["line closes", "too deep", "too shallow"]
    more = chances.chances(plan, 60.0)
    assert more[-1].key == "runs late"
    assert all(0 <= c.share <= 1 and c.text.endswith(".") for c in more)


# ---- what to measure better


def test_a_measured_groove_narrows_the_undercut_as_bayes_has_it(plan):
    # a prior of 0.195 and a reading of 0.08: what is left is 1/√(1 + (0.195/0.08)²)
    found = better.ranked(plan, "undercut")
    assert [f.name for f in found] == ["etch_factor_correction"]
    expected = 1 - 1 / (1 + (0.195 / 0.08) ** 2) ** 0.5
    assert found[0].narrowing == pytest.approx(expected, abs=0.01)
    assert found[0].text == (
        "A groove of a test strip, measured, would narrow the range of the undercut by 62 %."
    )


def test_halving_one_of_several_causes(plan):
    # paint = area · coats · film / solids / (1 − loss): ln variances 0.2², 0.1² and, by its slope,
    # (0.15 · 0.12/0.88)²; of a cause with the share s half the spread leaves √(1 − ¾ s)
    parts = np.array([0.2, 0.1, 0.15 * 0.12 / 0.88]) ** 2
    expected = 1 - (1 - 0.75 * parts / parts.sum()) ** 0.5
    found = better.ranked(plan, "stop_out_paint")
    assert [f.name for f in found][:2] == ["coat_thickness", "stop_out_solids"]
    assert [f.narrowing for f in found][:2] == pytest.approx(expected[:2], abs=0.012)
    assert found[0].text.startswith("Knowing the coat thickness twice as well would narrow")


def test_a_gauge_reading_narrows_the_time_by_what_it_then_does(plan):
    best = better.ranked(plan)[0]
    assert best.name == "rate_correction"
    # read where the plan foretells it, by its own curve
    depths = Quantity(np.linspace(0.005, 0.3, 600), unit("mm"))
    curve = plan.depth_against_time(depths)[1]
    at = plan.number("gauge_time")
    row = {
        "reading_time": f"{at} min",
        "reading_depth": f"{np.interp(at, curve, depths.magnitude)} mm",
    }
    after = planned(plan.commission.with_row("reading", row))
    before, then = (p.figures("etch_time")["etch_time"] for p in (plan, after))
    width = [np.log(f.high.magnitude / f.low.magnitude) for f in (before, then)]
    assert best.narrowing == pytest.approx(1 - width[1] / width[0], abs=2e-3)
    # and roughly by Bayes alone: 0.45 before; 0.02 mm of 0.10 mm read, and the drift of 0.05
    left = (0.45**-2 + (0.05**2 / 4 + 0.2**2) ** -1) ** -0.5
    assert best.narrowing == pytest.approx(1 - left / 0.45, abs=0.1)
    said = f"A gauge reading after {clock(at, -1)} would narrow the range of the etch time by"
    assert said in best.text  # a minute early rather than late, as the sheet says it


def test_a_second_reading_tells_less_than_the_first(plan):
    first = better.ranked(plan)[0].narrowing
    row = {"reading_time": "30 min", "reading_depth": "0.08 mm"}
    again = planned(plan.commission.with_row("reading", row))
    second = {f.name: f.narrowing for f in better.ranked(again)}
    assert 0 < second["rate_correction"] < first


def test_the_list_begins_with_what_tells_most(plan):
    for result in ("heater_power", "etch_time", "film_line", "evaporation_rate"):
        found = [f.narrowing for f in better.ranked(plan, result)]
        assert found == sorted(found, reverse=True)
        assert all(0 < narrowing < 1 for narrowing in found)


def test_an_input_said_with_a_wide_tolerance_comes_first(commission, monkeypatch):
    # the thickness of the liquid is nothing to the undercut; the depth is: 0.15 ± 0.12 mm
    say = Book.say
    monkeypatch.setattr(
        Book,
        "say",
        lambda self, n, q, s, t=None: say(self, n, q, s, Tolerance(n, 0.12) if n == "depth" else t),
    )
    assert better.ranked(planned(commission), "undercut")[0].name == "depth"


def test_a_result_without_a_range_asks_for_nothing(plan):
    assert better.ranked(plan, "gauge_time") == []


@pytest.mark.parametrize(
    ("name", "words"), [("narrowest_land", "narrowest land"), ("nothing", "nothing")]
)
def test_a_result_that_is_not_worked_out(plan, name, words):
    with pytest.raises(BadInput, match=f"^{words}: this plan does not work it out; choose another"):
        better.ranked(plan, name)
