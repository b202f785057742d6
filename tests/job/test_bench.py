"""The bench in the plan: notes kept, what they teach, what waits until it is read, what is advised."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.faults import BadInput
from etchcalc.core.units import unit
from etchcalc.job import bench_words, learning, record
from etchcalc.job.advice import advice
from etchcalc.job.commission_file import parsed, written
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import RESULTS, planned

TRIED = settings(deadline=None, derandomize=True, max_examples=25)
BENCH = ("exposure_time", "developer_soda", "stripper_soda", "stop_out_paint", "fill_paint", "fill_coats",
         "soda_taken_up", "rinse_copper", "spacer_count")  # fmt: skip


def said(plan, key):
    return " ".join(next(s for s in record.steps(plan) if s["key"] == key)["do"])


def seconds(plan):
    return plan.middle("exposure_time").to("s").magnitude


# what waits


def test_the_bench_waits_until_it_is_read(commission):
    plan = planned(commission)
    waiting = set(plan.book.values.waiting)
    assert set(BENCH) <= waiting, "no answer asks for them"
    assert {"etch_time", "gauge_time", "film_line", "ferric_left"}.isdisjoint(waiting)
    assert "exposure_time" in plan.book.values and plan.has_working("exposure_time")
    assert plan.working("fill_paint").result and "fill_paint" not in plan.book.values.waiting
    assert set(BENCH) <= set(plan.figures()) <= set(RESULTS)


def test_read_late_or_at_once_is_the_same(commission):
    late, soon = planned(commission), planned(commission)
    soon.book.finish()
    assert not soon.book.values.waiting
    assert record.results(late) == record.results(soon)
    moved = planned(commission.with_one("depth", "0.2 mm"), before=soon)
    anew = planned(commission.with_one("depth", "0.2 mm"))
    assert record.results(moved) == record.results(anew)


def test_the_demonstration_carries_the_whole_bench(plan):
    found = {w["name"] for step in record.steps(plan) for w in step["workings"]}
    assert set(BENCH) <= found
    assert all(
        step["workings"] for step in record.steps(plan) if step["key"] not in ("film", "clean")
    )


# wedges: a step of 0.15 is a factor 10^0.15 (definition of optical density)


def test_wedges_make_todays_exposure(commission):
    one = commission.with_row("wedge", {"test_exposure": "60 s", "held_step": "5"})
    # read 5, want 8, 60 s: 169.1 s by 10^0.15 a step (worked from the definition of density)
    assert seconds(planned(one)) == pytest.approx(169.103, abs=0.01)
    two = one.with_row("wedge", {"test_exposure": "170 s", "held_step": "8"})
    assert seconds(planned(two)) == pytest.approx((169.103 * 170) ** 0.5, rel=1e-4)
    wide, narrow = (planned(c).figures("exposure_time")["exposure_time"] for c in (one, two))
    span = [(f.high / f.low).magnitude for f in (wide, narrow)]
    assert span[1] < span[0] and narrow.basis == "assumed"
    assert "from 2 wedges of your own" in said(planned(two), "expose")


@TRIED
@given(st.integers(1, 8), st.floats(0, 2))
def test_wedges_that_agree_narrow_and_scatter_widens(commission, count, apart):
    some = commission
    for number in range(count):
        held = 8 + (apart if number % 2 else -apart)
        some = some.with_row("wedge", {"test_exposure": "100 s", "held_step": f"{held:.4f}"})
    exposure, error = learning.wedges(some)
    assert error >= 0.3 / count**0.5 - 1e-9
    if count % 2 == 0:
        assert exposure.to("s").magnitude == pytest.approx(100, rel=1e-3)
        assert error >= apart / count**0.5 - 1e-3


def test_a_dose_takes_the_place_of_the_wedge(commission):
    dosed = commission.changed(wanted_dose="60 mJ/cm²", irradiance="2 mW/cm²")
    assert seconds(planned(dosed)) == pytest.approx(30)
    with pytest.raises(BadInput, match="irradiance"):
        commission.changed(wanted_dose="60 mJ/cm²")


def test_a_moved_lamp_gets_both_bounds(commission):
    moved = planned(commission.changed(lamp_distance="300 mm", test_distance="200 mm"))
    # inverse square: 200 mm to 300 mm is 2.25 times
    assert "2.25" in said(moved, "expose") and "no change" in said(moved, "expose")
    assert "square" not in said(planned(commission), "expose")


# notes in the file


NOTES = {
    "wedge": {"test_exposure": "60 s", "held_step": "5"},
    "blemish": {"blemish": "pinhole", "place": "by the 5", "mended": "touched out"},
    "section": {
        "section_film": "0.20 mm", "developed_line": "0.18 mm", "section_line": "0.40 mm", "section_depth": "0.15 mm",
    },
    "reading": {"reading_time": "30 min", "reading_depth": "0.05 mm"},
}  # fmt: skip


@pytest.mark.parametrize("part", NOTES)
def test_a_note_is_kept_and_taken_back(commission, order, part):
    noted = commission.with_row(part, NOTES[part])
    again = parsed(written(noted, order))
    assert again.rows(part) == (NOTES[part],)
    assert "# as the client calls it" in written(noted, order)
    assert again.changed(depth="0.2 mm").rows(part) == (NOTES[part],)
    assert again.without_last(part).rows(part) == ()


@pytest.mark.parametrize(
    ("part", "row", "words"),
    [
        ("wedge", {"test_exposure": "60 s"}, "wedge 1, held step: nothing was typed"),
        ("wedge", {"test_exposure": "60", "held_step": "5"}, "wedge 1, test exposure"),
        ("wedge", {**NOTES["wedge"], "wedge": "x"}, "wedge 1 knows no “wedge”"),
        ("blemish", {"place": "left"}, "blemish 1: say what it is"),
        ("blemish", {"blemish": "x", "colour": "red"}, "blemish 1 knows no “colour”"),
        ("section", {**NOTES["section"], "developed_line": "0.5 mm"}, "no wider than its line in the resist"),
    ],
)  # fmt: skip
def test_a_bad_note_gets_one_sentence(commission, part, row, words):
    with pytest.raises(BadInput, match=re.escape(words)):
        commission.with_row(part, row)


def test_an_error_of_exposure_is_no_undercut(commission):
    # film 0.20, resist 0.24, etched 0.44, 0.14 deep: 0.14 / ((0.44 − 0.24) / 2) = 1.4 (IPC-T-50)
    row = {"section_film": "0.20 mm", "section_line": "0.44 mm", "section_depth": "0.14 mm"}
    blind, seen = (
        learning.factors(commission.with_row("section", r))[0]
        for r in (row, {**row, "developed_line": "0.24 mm"})
    )
    assert seen / blind == pytest.approx(0.24 / 0.20)
    told = bench_words.strip_said({**row, "developed_line": "0.24 mm"}, "metric")
    assert "0.04 mm wider" in told and "0.10 mm under each edge" in told
    assert "narrower" in bench_words.strip_said({**row, "developed_line": "0.18 mm"}, "metric")


def test_blemishes_stand_in_the_record(commission):
    noted = commission.with_row("blemish", NOTES["blemish"])
    assert "Noted: pinhole, by the 5, touched out." in said(planned(noted), "develop")


# depth after rubbing down


def test_rubbing_down_is_etched_too(commission):
    meant = commission.changed(depth_is="after rubbing down", rub_down="0.02 mm", depth="0.15 mm")
    plan, deeper = planned(meant), planned(commission.changed(depth="0.17 mm"))
    assert plan.number("depth") == pytest.approx(0.17)
    assert plan.number("undercut") == pytest.approx(deeper.number("undercut"))
    assert plan.number("etch_time") == pytest.approx(deeper.number("etch_time"), rel=1e-6)
    assert plan.ordered("depth").to("mm").magnitude == pytest.approx(0.15)
    assert record.record(plan)["understood"]["depth"]["value"] == pytest.approx(0.15)
    assert "0.15 mm is left" in said(plan, "finish")
    assert "after rubbing down" in said(planned(commission), "finish")


# fill: the profile, not just area times depth


@TRIED
@given(st.floats(0.05, 0.19))
def test_fill_follows_the_section_of_the_groove(commission, depth):
    """One straight line, 0.4 mm wide finished: two quarter ellipses and what lies between them."""
    order = commission.changed(depth=f"{depth:.4f} mm", plate_count="1", paint_loss="0 %")
    area, edges = 0.4 * 1000, 2 * 1000  # mm², mm: a line a metre long
    found = {"edge_length": edges, "shares": None}
    face = 120 * 45
    drawing = Drawing(
        area * unit("mm^2"), area / face * unit(""), 0.4 * unit("mm"), 1 * unit("mm"), None, found
    )
    plan = planned(order, drawing)
    side = plan.number("undercut")
    volume = (0.4 - 2 * side) * depth + 2 * (3.141592653589793 / 4) * side * depth  # mm² of section
    solids = plan.number("fill_solids") / 100
    wet = plan.middle("fill_paint").to("mm^3").magnitude
    assert wet == pytest.approx(volume * 1000 / solids, rel=2e-3)
    assert wet < area * depth / solids


# advice


def keys(commission):
    return {a.key for a in advice(planned(commission))}


def test_a_resist_that_never_stood_so_long_is_said(commission):
    assert "resist" not in keys(commission)
    assert "resist" in keys(commission.changed(resist_held_time="20 min"))
    assert "resist" not in keys(commission.changed(resist_held_time="24 h"))
    warm = {"resist_held_time": "24 h", "resist_held_temperature": "30 °C"}
    assert "resist" in keys(commission.changed(**warm))


@pytest.mark.parametrize(
    "material", ["ABS", "PVC", "glass", "enamel", "wood", "a nesting tray of ABS"]
)
def test_a_tray_that_is_not_known_is_to_be_tried(commission, material):
    found = [
        a
        for a in advice(planned(commission.changed(tray_material=material)))
        if a.key == "tray_material"
    ]
    assert len(found) == 1 and "cold" in found[0].text and "Chipped enamel" in found[0].text


@pytest.mark.parametrize("material", ["polypropylene", "Polyethylene"])
def test_a_tray_that_is_known_is_not_talked_about(commission, material):
    assert "tray_material" not in keys(commission.changed(tray_material=material))


def test_spacers_too_low_for_the_ferric_are_said(commission):
    thin = {"spacer_height": "1 mm", "depth": "0.3 mm", "finest_line": "2 mm", "open_fraction": "40 %",
            "liquid_depth": "40 mm"}  # fmt: skip
    found = [a for a in advice(planned(commission.changed(**thin))) if a.key == "spacers"]
    assert found and found[0].way_out
    assert "spacers" not in keys(commission)


def test_soda_not_said_is_asked_and_gives_the_range_of_all(commission):
    open_range = planned(commission).figures("developer_soda")["developer_soda"]
    lumps, mono, dry = (
        planned(commission.changed(soda_waters=w)).middle("developer_soda").to("g").magnitude
        for w in ("10", "1", "0")
    )
    # 2.6997 and 1.1700 of the anhydrous mass (molar masses 286.141, 124.004, 105.988)
    assert lumps / dry == pytest.approx(2.6997, rel=1e-4)
    assert mono / dry == pytest.approx(1.1700, rel=1e-4)
    low, high = (e.to("g").magnitude for e in (open_range.low, open_range.high))
    assert low < 1.05 * dry and high > 0.9 * lumps
    assert "Look at the label" in said(planned(commission), "develop")
    assert "Look at the label" not in said(planned(commission.changed(soda_waters="10")), "develop")


@pytest.mark.parametrize(
    ("metric", "imperial"),
    [
        ({"developer_volume": "2.273045 L"}, {"developer_volume": "0.5 imp gal"}),
        ({"tin_volume": "473.176473 mL"}, {"tin_volume": "1 US pint"}),
        ({"waste_margin": "12.7 mm"}, {"waste_margin": "1/2 in"}),
        ({"rub_down": "0.0254 mm"}, {"rub_down": "1 thou"}),
        ({"room_temperature": "20 °C"}, {"room_temperature": "68 °F"}),
        ({"rinse_volume": "4.54609 L"}, {"rinse_volume": "1 imperial gallon"}),
    ],
)
def test_typed_in_either_system_the_bench_is_the_same(commission, metric, imperial):
    one, other = (
        record.results(planned(commission.changed(**said))) for said in (metric, imperial)
    )
    for name in BENCH:
        assert one[name]["value"] == pytest.approx(other[name]["value"], rel=1e-9), name


@pytest.mark.parametrize("units", ["metric", "imperial", "US"])
def test_every_step_says_its_figures_in_the_makers_units(commission, units):
    steps = record.steps(planned(commission.changed(units=units)))
    text = " ".join(line for step in steps for line in step["do"])
    assert "{" not in text and "nan" not in text and "**" not in text
    assert (" mm" in text) == (units == "metric")


# the etch factor of a simulated groove: before the start value, after anything measured


def test_a_worked_etch_factor_stands_between_start_and_measured(commission):
    start = planned(commission)
    worked = planned(commission.changed(worked_etch_factor="1.5"))
    assert start.book.basis["etch_factor"] == "common practice"
    assert worked.book.basis["etch_factor"] == "worked out"
    assert worked.number("etch_factor") == pytest.approx(1.5)
    # undercut is depth over etch factor (IPC-T-50)
    assert worked.number("undercut") == pytest.approx(0.15 / 1.5)
    row = {"section_film": "0.20 mm", "section_line": "0.44 mm", "section_depth": "0.14 mm"}
    measured = planned(commission.changed(worked_etch_factor="1.5").with_row("section", row))
    assert measured.book.basis["etch_factor"] == "measured here"
    said = planned(commission.changed(worked_etch_factor="1.5", etch_factor="1.2"))
    assert said.number("etch_factor") == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("depth", "line", "counts"),
    [("0.15 mm", "0.4 mm", True), ("0.16 mm", "0.42 mm", True), ("0.19 mm", "0.4 mm", False),
     ("0.15 mm", "0.5 mm", False)],
)  # fmt: skip
def test_a_simulated_groove_speaks_only_for_one_like_it(commission, depth, line, counts):
    taken = commission.changed(
        worked_etch_factor="1.5", worked_depth="0.15 mm", worked_line="0.4 mm"
    )
    plan = planned(taken.changed(depth=depth, finest_line=line))
    usual = planned(commission.changed(depth=depth, finest_line=line)).number("etch_factor")
    told = " ".join(a.text for a in advice(plan) if a.key == "simulated")
    assert plan.number("etch_factor") == pytest.approx(1.5 if counts else usual)
    assert plan.book.basis["etch_factor"] == ("worked out" if counts else "common practice")
    assert (told == "") == counts and ("0.15 mm deep in a line of 0.40 mm" in told) != counts


def test_a_measured_groove_hushes_the_simulated_one(commission):
    row = {"section_film": "0.20 mm", "section_line": "0.44 mm", "section_depth": "0.14 mm"}
    taken = commission.changed(
        worked_etch_factor="1.5", worked_depth="0.05 mm", worked_line="0.4 mm"
    )
    assert "simulated" not in {a.key for a in advice(planned(taken.with_row("section", row)))}
