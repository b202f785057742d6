"""Data files: each value with unit, status and source, or it fails when it is loaded."""

import pytest

from etchcalc.core import tables
from etchcalc.core.units import unit


@pytest.mark.parametrize("name", sorted(tables.constants()))
def test_every_constant_has_status_and_source(name):
    value = tables.constants()[name]
    assert value.status in tables.STATUSES
    assert tables.source(value.source).citation
    assert tables.constant_of(tables.constant(name)).name == name


@pytest.mark.parametrize("key", sorted(tables.load("sources.toml")))
def test_every_source_is_whole(key):
    found = tables.source(key)
    assert len(found.citation) > 10
    assert found.seen in ("read", "library", "memory", "practice", "own")


@pytest.mark.parametrize(
    "key", [k for k, s in tables.load("sources.toml").items() if s["seen"] == "memory"]
)
def test_what_was_recalled_says_so(key):
    # a value nobody has seen in print must not look as if somebody had
    citation = tables.source(key).citation.lower()
    assert "recalled" in citation or "memory" in citation


@pytest.mark.parametrize("name", ["alloys.toml", "cautions.toml"])
def test_every_entry_of_the_data_files_names_a_known_source(name):
    for entry in tables.load(name).values():
        assert tables.source(entry["source"])


def test_standard_gravity_and_baume():
    # 9.80665 m/s² and modulus 145 by definition; 60 °F is 288.7056 K; Perry, Table 1-13
    assert tables.constant("gravity").to(unit("m/s^2")).magnitude == pytest.approx(
        9.80665, abs=1e-12
    )
    assert tables.constant("baume_modulus").magnitude == 145
    kelvin = tables.constant("baume_temperature").to(unit("K")).magnitude
    assert kelvin == pytest.approx((60 - 32) / 1.8 + 273.15, abs=1e-4)


def test_water_at_sixty_fahrenheit():
    # 0.99902 g/mL, CRC Handbook (recalled): 999.016 kg/m³ at 60 °F
    density = tables.constant("water_density_at_60_fahrenheit").to(unit("kg/m^3")).magnitude
    assert density == pytest.approx(999.02, abs=0.01)


def test_an_unknown_source_or_status():
    with pytest.raises(KeyError, match="no source is named 'somebody'"):
        tables.checked("published", "somebody")
    with pytest.raises(KeyError, match="no status is named 'certain'"):
        tables.checked("certain", "geometry")


@pytest.mark.parametrize(
    ("statuses", "weakest"),
    [
        ({"given"}, "given"),
        ({"given", "assumed", "published"}, "assumed"),
        ({"given", "published"}, "worked out"),
        ({"data sheet", "measured here"}, "worked out"),
        ({"common practice", "worked out"}, "common practice"),
        ({"measured here", "given"}, "measured here"),
        (set(), "given"),
    ],
)
def test_a_result_rests_on_its_weakest(statuses, weakest):
    assert tables.weakest(statuses) == weakest


def test_rows_leave_out_remarks():
    rows = tables.rows("kinetics.csv")
    assert [row["temperature"] for row in rows] == ["30", "40", "50"]


def test_the_coefficients_are_the_librarys():
    # a slipped digit shows: sums of the columns of table Laliberte2009 in the library chemicals
    import chemicals
    from chemicals.utils import os_path_join, source_path

    path = os_path_join(source_path, "Electrolytes", "Laliberte2009.tsv")
    assert chemicals
    with open(path, encoding="utf-8") as file:  # noqa: PTH123  a path of the library's own
        lines = [line.rstrip("\n").split("\t") for line in file]
    theirs = {line[2].strip(): set(_numbers(line)) for line in lines if len(line) > 20}
    for row in tables.rows("laliberte.csv"):
        named = next(v for k, v in theirs.items() if k == row["salt"])
        for column in ("c0", "c1", "c2", "c3", "c4", "v1", "v2", "v3", "v4", "v5", "v6"):
            assert float(row[column]) in named, f"{row['salt']} {column}"


def _numbers(cells):
    for cell in cells:
        try:
            yield float(cell)
        except ValueError:
            continue
