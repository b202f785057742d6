"""Maps of a result over two inputs, against the plan worked a setting at a time and by hand."""

import numpy as np
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import maps
from etchcalc.job.drawing import Drawing
from etchcalc.job.maps import mapped, said, survives
from etchcalc.job.plan import RESULTS, planned

DRAWN = Drawing(
    Quantity(8.1, unit("cm^2")), Quantity(0.15, unit("")), read("0.15 mm"), read("0.6 mm")
)
JOBS = {
    "new": ({}, None),
    "used": ({"bath_is": "used and written down", "metal_dissolved": "9 g"}, None),
    "rubbed down": ({"depth_is": "after rubbing down"}, None),
    "two depths": ({"second_line": "0.8 mm", "second_depth": "0.7 mm"}, None),
    "face up": ({"plate_lies": "face up", "moved": "rocked by motor"}, None),
    "drawn": ({}, DRAWN),
    "film as it is": ({"shows": "film as it is"}, DRAWN),
}
PAIRS = [
    ("temperature", "strength"),
    ("depth", "finest_line"),
    ("room_temperature", "open_fraction"),
]


def typed(name, value):
    return show(term(name).quantity(float(value)), term(name).kind, count=12, fixed=False)


@pytest.mark.parametrize("job", JOBS)
def test_each_setting_is_the_plan_with_that_setting(commission, job):
    changes, drawn = JOBS[job]
    order = commission.changed(**changes)
    plan = planned(order, drawn)
    seen = 0
    for across, up in PAIRS:
        places, worked = [(0, 0), (1, 2), (2, 1)], []
        axes = [np.linspace(*term(name).reach, 3) for name in (across, up)]
        for row, column in places:
            other = order.with_one(across, typed(across, axes[0][column]), "metric")
            other = other.with_one(up, typed(up, axes[1][row]), "metric")
            worked.append(planned(other, drawn))
        for result in set(RESULTS) & set(plan.book.values):
            expected = [other.number(result) for other in worked]
            try:
                found = mapped(plan, across, up, result, columns=3, rows=3)
            except BadInput as fault:
                unmoved = "moves it" in str(fault) and len(set(expected)) == 1
                assert unmoved or "it is not said in this job" in str(fault), result
                continue
            values = [found.values[place] for place in places]
            assert values == pytest.approx(expected, rel=1e-9, abs=1e-12, nan_ok=True), result
            seen += 1
    assert seen > 20


def test_what_readings_taught_stays(plan):
    row = {"reading_time": "30 min", "reading_depth": "0.1 mm"}
    gauged = planned(plan.commission.with_row("reading", row))
    before, after = (
        mapped(p, "temperature", "strength", "etch_time", columns=4, rows=4) for p in (plan, gauged)
    )
    assert after.values / before.values == pytest.approx(
        gauged.number("etch_time") / plan.number("etch_time"), rel=0.02
    )


def test_what_survives(plan):
    # by hand: F(w) (w − 0.1)/2 − d, F straight from 1.25 at 0.2 mm to 1.4 at 0.5 mm
    found = survives(plan)
    assert found.values.shape == (100, 100) == found.safe.shape
    factor = np.interp(found.ys, [0.2, 0.5], [1.25, 1.4])
    expected = (factor * (found.ys - 0.1) / 2)[:, None] - found.xs
    assert found.values == pytest.approx(expected, abs=1e-12)
    assert np.array_equal(found.safe, expected >= 0)
    # more line is never less safe, more depth never safer
    assert np.all(np.diff(found.safe.astype(int), axis=0) >= 0)
    assert np.all(np.diff(found.safe.astype(int), axis=1) <= 0)


def test_it_reaches_from_end_to_end_of_the_sliders(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", columns=5, rows=7)
    assert (found.xs[0], found.xs[-1], len(found.xs)) == (15, 60, 5)
    assert (found.ys[0], found.ys[-1], len(found.ys)) == (200, 900, 7)
    assert found.values.shape == (7, 5)


def test_a_warmer_bath_is_faster_everywhere(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", columns=12, rows=12)
    assert np.all(np.diff(found.values, axis=1) < 0)


def test_a_map_turned_round_is_the_same(plan):
    one = mapped(plan, "temperature", "strength", "etch_time", columns=6, rows=4)
    other = mapped(plan, "strength", "temperature", "etch_time", columns=4, rows=6)
    assert one.values == pytest.approx(other.values.T, rel=1e-12)


def test_the_same_map_again(plan):
    assert np.array_equal(survives(plan).values, survives(plan).values)


def test_a_groove_through_the_plate_is_no_setting(commission):
    plan = planned(commission.changed(plate_thickness="0.3 mm"))
    found = survives(plan, columns=30, rows=5)
    assert np.array_equal(np.isnan(found.values[0]), found.xs >= 0.3)
    assert not found.safe[:, found.xs >= 0.3].any()


def test_what_a_map_tells(plan):
    over = "temperature from 15 °C to 60 °C and strength from 200 g/L to 900 g/L"
    found = mapped(plan, "temperature", "strength", "etch_time", most=60.0)
    part = round(100 * np.mean(found.values <= 60))
    assert (
        said(found)
        == f"Safe is {part} % of this map, {over}: there the etch time is at most 1 h 00 min."
    )
    every = mapped(plan, "temperature", "strength", "etch_time", most=6000.0)
    assert said(every).startswith(f"All of this map is safe, {over}: the etch time is at most")
    free = mapped(plan, "temperature", "strength", "etch_time")
    assert said(free).startswith(f"Over {over} the etch time goes from ")
    assert not free.limited and free.safe.all()
    american = said(free, "US")
    assert "temperature from 59 °F to 140 °F" in american


def test_nothing_safe_is_one_sentence(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", most=6.0)
    assert not found.safe.any()
    assert said(found) == (
        "Nothing is safe on this map, temperature from 15 °C to 60 °C and strength from 200 g/L to 900 g/L: "
        "nowhere is the etch time at most 6.0 min; change another input or ask for less."
    )


@pytest.mark.parametrize(
    ("across", "up", "result", "sentence"),
    [
        ("plate_width", "depth", "etch_time", "plate width: a map runs over what has a slider; choose finest line, depth,"),
        ("depth", "nonsense", "etch_time", "nonsense: a map runs over what has a slider"),
        ("depth", "depth", "etch_time", "depth: choose two different inputs"),
        ("temperature", "depth", "narrowest_land", "narrowest land: this plan does not work it out"),
        ("temperature", "depth", "nonsense", "nonsense: this plan does not work it out"),
        ("temperature", "strength", "greatest_depth", "greatest depth: neither temperature nor strength moves it"),
    ],
)  # fmt: skip
def test_one_sentence_for_a_map_that_cannot_be(plan, across, up, result, sentence):
    with pytest.raises(BadInput) as fault:
        mapped(plan, across, up, result)
    assert str(fault.value).startswith(sentence)
    assert str(fault.value).count(".") == 1


def test_only_like_is_taken_off_like(plan):
    with pytest.raises(BadInput, match="etch time: it cannot be taken off greatest depth"):
        mapped(plan, "depth", "finest_line", "greatest_depth", less="etch_time")


def test_what_is_drawn_or_worked_out_is_no_input(commission):
    plan = planned(commission, DRAWN)
    with pytest.raises(BadInput, match="open fraction: it is not said in this job"):
        mapped(plan, "depth", "open_fraction", "metal_removed")
    shelf = planned(commission.changed(bath_is="found on the shelf", hydrometer_reading="27"))
    with pytest.raises(BadInput, match="strength: it is not said in this job"):
        mapped(shelf, "temperature", "strength", "etch_time")


def test_a_bath_with_a_history_has_no_map_of_the_time(commission):
    plan = planned(commission.changed(plates_go_in="while it warms up"))
    with pytest.raises(BadInput, match="etch time: this bath does not keep its temperature"):
        mapped(plan, "temperature", "strength", "etch_time")
    assert survives(plan).safe.any()


def test_every_slider_of_a_commission():
    assert {"temperature", "strength", "depth", "finest_line", "open_fraction"} <= set(maps.SLIDERS)
