"""The printed record: one page, whole in itself, nothing in it that runs."""

import json
import re
from html import unescape

import pytest

from etchcalc.core.units import Quantity
from etchcalc.job import commission_file, keeping, record
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import planned
from etchcalc.pages import sheet

TEXT = """
[commission]
title = "{title}"
client = "{title}"
[plate]
metal = "{metal}"
plate_width = "120 mm"
plate_height = "45 mm"
[lines]
finest_line = "0.4 mm"
depth = "0.2 mm"
"""


def plan_of(title="Trial", metal="brass", **changes):
    order = commission_file.parsed(TEXT.format(title=title, metal=metal))
    return planned(order.changed(**changes) if changes else order)


def page_of(plan):
    return sheet.page(json.loads(keeping.text(record.record(plan, "2026-01-02"))))


def test_page_asks_nobody_for_anything():
    html = page_of(plan_of())
    assert not re.findall(r"(?:src|href)\s*=\s*[\"'](?!data:)", html)
    assert "<script" not in html and "url(" not in html and "@import" not in html


@pytest.mark.parametrize(
    "title", ["<script>alert(1)</script>", "**<img src=x onerror=alert(1)>**", "{{ 7*7 }}"]
)
def test_what_was_typed_cannot_run(title):
    html = page_of(plan_of(title))
    assert "<script" not in html and "<img" not in html
    assert "49" not in re.findall(r"<h1>(.*?)</h1>", html)[0]


def test_three_answers_come_first_and_steps_carry_boxes_and_cautions():
    html = page_of(plan_of())
    order = [
        html.index(part)
        for part in (
            'class="answers"',
            'class="step"',
            "<h2>Figures",
            "<h2>The sums",
            "<h2>Sources",
        )
    ]
    assert order == sorted(order)
    assert html.count('class="box"') == 12
    assert "local rules and licensed practice come first" in html
    for words in (
        "stainless",
        "bleach",
        "fifteen minutes",
        "RCD",
        "never down a drain",
        "Ultraviolet",
    ):
        assert words in html


@pytest.mark.parametrize(
    ("metal", "words"), [("engraving brass", "holds lead"), ("nickel silver", "holds nickel")]
)
def test_a_hazardous_alloy_says_so(metal, words):
    assert words in page_of(plan_of(metal=metal))
    assert words not in page_of(plan_of())


@pytest.mark.parametrize(
    ("units", "words"), [("imperial", "imperial pints"), ("US", "US quarts"), ("metric", "µm/min")]
)
def test_page_speaks_the_makers_units(units, words):
    assert words in page_of(plan_of(units=units))


def test_film_as_it_is_shows_what_its_line_becomes():
    order = commission_file.parsed(
        TEXT.format(title="t", metal="brass") + '[artwork]\nshows = "film as it is"\n'
    )
    drawing = Drawing(
        Quantity(600, "mm^2"), Quantity(0.11, ""), Quantity(0.25, "mm"), Quantity(0.5, "mm")
    )
    plan = planned(order, drawing)
    # the lesser of EF (0.4 - 0.25)/2 and EF (0.5 - 0.1)/2 with EF = 1.35: geometry, by hand
    assert plan.number("greatest_depth") == pytest.approx(1.35 * 0.15 / 2, rel=1e-9)
    assert "finishes <b>0.55 mm</b>" in page_of(plan)


def test_every_working_of_the_plan_stands_in_the_page():
    plan = plan_of()
    html = unescape(page_of(plan))
    for step in record.steps(plan):
        for working in step["workings"]:
            assert working["meaning"] in html
    assert "film line = finest line − 2 · undercut" in html
