"""The map of the rate: the plan's own figures, a band that is what it says, in the maker's units."""

import numpy as np
import pytest

from etchcalc.core.units import read
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned
from etchcalc.job.rate_map import rate_map, said, table

USED = {"bath_is": "used and written down", "metal_dissolved": "30 g"}
WAYS = [
    {},
    {"plate_lies": "on edge"},
    {"plate_lies": "face up", "moved": "rocked by motor"},
    {"metal": "Cu-ETP", "finest_line": "2 mm", "depth": "0.3 mm"},
]
SPANS = np.linspace(100, 1000, 12), np.linspace(15, 60, 10)


def names(way):
    return " ".join(way.values()) or "as ordered"


@pytest.mark.parametrize("way", WAYS, ids=names)
def test_every_point_is_a_plan(commission, way):
    plan = planned(commission.changed(**way))
    found = rate_map(plan, [120, 500, 980], [15, 42, 60])
    assert found.rates.shape == (3, 3)
    for i, celsius in enumerate(found.temperatures):
        for j, strength in enumerate(found.strengths):
            moved = commission.changed(
                **way, strength=f"{strength} g/L", temperature=f"{celsius} °C"
            )
            assert found.rates[i, j] == pytest.approx(planned(moved).number("fresh_rate"), rel=1e-9)


def test_it_is_of_a_fresh_bath_and_of_the_shops_own_rate(commission, plan):
    fresh = rate_map(plan, *SPANS).rates
    used = planned(commission.changed(**USED))
    assert used.number("fresh_rate") < 0.99 * plan.number("fresh_rate")
    assert rate_map(used, *SPANS).rates == pytest.approx(fresh, rel=1e-9)
    gauged = planned(
        commission.with_row("reading", {"reading_time": "30 min", "reading_depth": "0.03 mm"})
    )
    own = gauged.number("rate_correction")
    assert own < 0.9
    assert rate_map(gauged, *SPANS).rates == pytest.approx(own * fresh, rel=1e-9)


@pytest.mark.parametrize("way", WAYS, ids=names)
def test_the_band_is_within_five_per_cent_of_the_best(commission, way):
    plan = planned(commission.changed(**way))
    fine = np.linspace(50, 1100, 2101)
    found = rate_map(plan, fine, [*SPANS[1], plan.number("temperature")])
    for rates, (low, high) in zip(found.rates, found.best, strict=True):
        share = rates / rates.max()
        assert share[(fine > low + 2) & (fine < high - 2)].min() > 0.949
        assert share[(fine < low - 2) | (fine > high + 2)].max() < 0.951
    assert found.here == pytest.approx(found.best[-1])


@pytest.mark.parametrize("celsius", [15, 20, 25, 30])
def test_the_published_strengths_of_copper(commission, celsius):
    # Sharpe & Garn, Ind. Eng. Chem. 51 (1959) 293: 2.25 mol/L etches copper faster than 3.75
    plan = planned(commission.changed(metal="Cu-ETP"))
    found = rate_map(plan, [2.25 * 270.295, 3.75 * 270.295], [celsius])
    low, high = found.best[0]
    assert low < found.strengths[0] < high < found.strengths[1]
    assert found.rates[0, 0] > found.rates[0, 1]


@pytest.mark.parametrize("system", ["metric", "imperial", "US"])
def test_it_is_said_in_the_makers_units(commission, system):
    plan = planned(commission.changed(units=system))
    found = rate_map(plan, *SPANS)
    sentence = said(found, plan)
    at = "108 °F" if system == "US" else "42 °C"
    first, certain = sentence.split(". ", 1)
    assert first.startswith(f"At {at} a fresh bath of ")
    assert certain.startswith("Above 86 °F" if system == "US" else "Above 30 °C")
    low, high = (
        read(text) for text in first.split(" bath of ")[1].split(" etches")[0].split(" to ")
    )
    ends = [q.to("g/L").magnitude for q in (low, high)]
    # rounded inwards, to two figures
    assert found.here[0] <= ends[0] < 1.11 * found.here[0]
    assert 0.9 * found.here[1] < ends[1] <= found.here[1]


def test_the_table_is_the_map(plan):
    found = rate_map(plan, *SPANS)
    heading, *rows = table(found)
    assert len(rows) == len(found.temperatures)
    assert heading[0] == "temperature" and {len(r) for r in rows} == {len(heading)}
    for row, celsius, rates in zip(rows, found.temperatures, found.rates, strict=True):
        assert row[0] == f"{celsius:.0f} °C"
        for column in (1, -2):  # the ends of the strengths stand at the ends of the row
            assert read(row[column]).to("um/min").magnitude == pytest.approx(
                rates[0 if column == 1 else -1], rel=0.005
            )


def test_few_strengths_are_all_shown(plan):
    heading = table(rate_map(plan, [300, 500], [20]), "imperial")[0]
    assert heading == ("temperature", "48 oz/imp gal", "80 oz/imp gal", "within 5 %")


def test_a_bare_order_has_a_map():
    plan = planned(
        parsed(
            '[plate]\nmetal = "CuZn37"\nplate_width = "60 mm"\nplate_height = "40 mm"\n'
            '[lines]\nfinest_line = "0.5 mm"\ndepth = "0.2 mm"\n'
        )
    )
    assert np.all(rate_map(plan, *SPANS).rates > 0)
