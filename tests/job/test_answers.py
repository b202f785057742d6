"""The three answers, and that what the advice says to do can be done."""

import re

import numpy as np
import pytest

from etchcalc.core.units import Quantity, read, unit
from etchcalc.job import advice, answers
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import planned


def keys(plan):
    return {a.key for a in advice.advice(plan) if a.way_out}


def text(plan, key):
    (found,) = [a.text for a in advice.advice(plan) if a.key == key]
    return found.replace(" ", " ")


def test_the_three_answers(plan):
    film, bath, lift = (answers.plain(a) for a in answers.answers(plan))
    # 0.40 − 2 · 0.15/1.35 = 0.178 mm
    assert film == "Draw the fine lines 0.18 mm wide on the film; they finish 0.40 mm."
    # 33 × 25 × 3.6 cm less three blanks of 144 × 69 × 1.6 mm, at 500 g/L; 729 g of water a litre
    assert bath == "Weigh 1460 g of crystals and make up to 2.92 L with 2130 g of water."
    assert re.match(r"Lift and gauge after \d+ min; done at about .* \(.* to .*\)\.$", lift)


@pytest.mark.parametrize(
    ("units", "film"), [("metric", "0.18 mm"), ("imperial", "7.0 thou"), ("US", "7.0 thou")]
)
def test_answers_in_the_makers_units(commission, units, film):
    plan = planned(commission.changed(units=units))
    assert film in answers.film_answer(plan)
    assert ("oz" in answers.bath_answer(plan)) == (units != "metric")


def test_no_answer_promises_a_film_that_cannot_be(commission):
    for said in ({"finest_line": "0.15 mm", "depth": "0.4 mm"}, {"finest_line": "0.08 mm"}):
        film = answers.film_answer(planned(commission.changed(**said)))
        assert "Draw" not in film and "−" not in film


# what the advice says to do, done with the very figures that it shows

LINES = [f"{w:.2f} mm" for w in np.arange(0.14, 0.36, 0.03)]


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("line", LINES)
def test_etching_to_the_depth_that_it_names(commission, line, units):
    closed = planned(commission.changed(finest_line=line, depth="0.35 mm", units=units))
    depth = re.search(r"Etch to ([\d.]+ \w+),", text(closed, "too fine"))[1]
    opened = planned(commission.changed(finest_line=line, depth=depth, units=units))
    assert "too fine" not in keys(opened)


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("line", LINES)
def test_drawing_no_line_finer_than_it_names(commission, line, units):
    closed = planned(commission.changed(finest_line=line, depth="0.35 mm", units=units))
    wider = re.search(r"no line finer than ([\d.]+ \w+) ", text(closed, "too fine"))[1]
    opened = planned(commission.changed(finest_line=wider, depth="0.35 mm", units=units))
    assert "too fine" not in keys(opened)


@pytest.mark.parametrize("depth", ["0.21 mm", "0.25 mm", "0.29 mm", "0.33 mm", "0.37 mm"])
def test_pouring_what_it_names(commission, depth):
    said = {"plate_count": "20", "open_fraction": "90 %", "depth": depth, "finest_line": "1 mm"}
    spent = planned(commission.changed(**said))
    volume = read(re.search(r"or pour ([\d.]+ L) of", text(spent, "bath"))[1])
    volume = volume + spent.middle("plates_volume")
    level = volume / (Quantity(330.0, unit("mm")) * Quantity(250.0, unit("mm")))
    poured = commission.changed(**said, liquid_depth=f"{level.to(unit('mm')).magnitude} mm")
    assert "bath" not in keys(planned(poured))


@pytest.mark.parametrize("cover", ["31 mm", "33.3 mm", "41 mm"])
def test_covering_the_heater_as_it_says(commission, cover):
    said = {"liquid_depth": "20 mm", "heater_cover": cover}
    bared = planned(commission.changed(**said))
    more, level = re.search(r"pour ([\d.]+ L) more, to ([\d.]+ mm);", text(bared, "level")).groups()
    # 33 × 25 cm of tray; the volume shown is rounded up to the next 0.01 L, 0.12 mm of level
    rise = read(more) / read("825 cm2")
    assert float(rise.to(unit("mm")).magnitude) == pytest.approx(float(cover[:-3]) - 20, abs=0.13)
    assert read(level) == read(cover)
    assert "level" not in keys(planned(commission.changed(**{**said, "liquid_depth": level})))


def test_a_tray_as_large_as_it_says(commission):
    said = {"plate_width": "601.3 mm", "plate_height": "400.2 mm", "plate_count": "1"}
    small = planned(commission.changed(**said))
    sides = re.search(r"at least ([\d.]+ mm) by ([\d.]+ mm)", text(small, "tray")).groups()
    large = commission.changed(**said, tray_length=sides[0], tray_width=sides[1])
    assert "tray" not in keys(planned(large))


def test_the_bath_does_as_many_plates_as_it_says(commission):
    said = {"open_fraction": "90 %", "depth": "0.3 mm", "finest_line": "1 mm"}
    spent = planned(commission.changed(**said, plate_count="40"))
    count = int(re.search(r"This bath does (\d+) of 40 plates", text(spent, "bath"))[1])
    assert "bath" not in keys(planned(commission.changed(**said, plate_count=str(count))))
    assert "bath" in keys(planned(commission.changed(**said, plate_count=str(count + 1))))


def test_how_many_more_plates(commission):
    plan = planned(commission.changed(plate_count="6"))  # as many as the tray holds at once
    words = answers.plates_left(plan)
    count = int(re.search(r"about (\d+) more plates", words)[1])
    assert count == int(plan.number("plates_to_come"))
    assert "to 50 % of its ferric used" in words.replace(" ", " ")
    # the job's six and those to come are just what the bath does
    assert "bath" not in keys(planned(commission.changed(plate_count=str(count + 6))))
    assert "bath" in keys(planned(commission.changed(plate_count=str(count + 7))))


def test_fields_lag_behind_the_finest_line(commission):
    deep = planned(commission.changed(depth="0.2 mm"))
    assert deep.number("field_depth") < 0.2
    assert f"about {deep.number('field_depth'):.2f} mm deep" in text(deep, "fields")


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ({"depth": "0.9 mm", "finest_line": "3 mm"}, "thin"),
        ({"temperature": "55 °C"}, "hot"),
        ({"temperature": "25 °C"}, "tables"),
        ({"temperature": "42 °C"}, "tables"),
    ],
)
def test_what_the_maker_should_read(commission, said, key):
    plan = planned(commission.changed(**said))
    assert text(plan, key).endswith(".")
    assert key not in keys(plan)


def test_within_the_tables_nothing_is_said(commission):
    plan = planned(commission.changed(temperature="32 °C"))
    assert "tables" not in {a.key for a in advice.advice(plan)}


def film_as_it_is(commission, line, land, **said):
    drawing = Drawing(
        Quantity(600.0, unit("mm^2")),
        Quantity(0.11, unit("dimensionless")),
        Quantity(line, unit("mm")),
        Quantity(land, unit("mm")),
    )
    order = commission.changed(shows="film as it is", **said)
    return planned(order, drawing)


def test_a_film_that_spreads_too_far_says_how_to_draw_it(commission):
    # etch factor 1.4 from 0.5 mm: 0.60 − 2 · 0.20/1.4 = 0.31, by hand
    plan = film_as_it_is(commission, 0.4, 2.0, finest_line="0.6 mm", depth="0.2 mm")
    assert "finest line 0.31 mm wide" in text(plan, "too fine")


def test_a_film_with_too_little_land_says_so(commission):
    plan = film_as_it_is(commission, 0.2, 0.3, finest_line="0.8 mm", depth="0.3 mm")
    assert "land lets go" in text(plan, "too fine")


def test_a_film_that_cannot_be_narrower_says_what_the_line_becomes(commission):
    plan = film_as_it_is(commission, 0.2, 2.0, finest_line="0.3 mm", depth="0.3 mm")
    assert "let the finest line finish" in text(plan, "too fine")
