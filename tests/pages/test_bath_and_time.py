"""The panel of bath and time driven in-process: every choice, every box, the file between panels."""

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from etchcalc.core.units import show
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import BathAndTime, JobSheet
from etchcalc.pages.panels.bath_and_time import FACTS, OF_STATE
from etchcalc.pages.panels.controls import Typed

NEW, WRITTEN, SHELF = OF_STATE
BOOK = Path(__file__).parents[2] / "workbooks" / "3-bath-and-time.ipynb"


@pytest.fixture(autouse=True)
def without_plots(monkeypatch):
    """Leave out what tests/pages/test_figures.py draws, for speed."""
    for name in ("rate_against_strength", "time_against_temperature"):
        monkeypatch.setattr(f"etchcalc.pages.figures.{name}", lambda plan: "<svg>")


@pytest.fixture
def panel(shop):
    return BathAndTime(shop)


def typed(panel, **texts):
    for name, text in texts.items():
        panel.boxes[name].box.value = text


def chosen(panel, state, reading="27"):
    panel.bath_is.box.value = state
    if state == SHELF:
        typed(panel, hydrometer_reading=reading)


def visible(panel):
    return {n for n, w in panel.fields.items() if "etch-hidden" not in w._dom_classes}


def said(panel):
    return panel.answers.value


def test_it_reads_as_the_committed_output(panel):
    cells = json.loads(BOOK.read_text(encoding="utf-8"))["cells"]
    output = next(c for c in cells if c["cell_type"] == "code")["outputs"][0]
    assert panel.text() == "".join(output["data"]["text/plain"])


def test_only_the_boxes_of_a_choice_are_seen(panel):
    always = {"heater_rating", "room_temperature", "starting_temperature", "lid_cover"}
    always |= {"second_line", "second_depth", "cleared_late", "temperature_log", "gauge_tip"}
    assert visible(panel) - always == {"strength"}
    chosen(panel, WRITTEN)
    assert visible(panel) - always == set(OF_STATE[WRITTEN])
    chosen(panel, SHELF)
    panel.second.box.value = "copper_lost"
    assert visible(panel) - always == {*OF_STATE[SHELF], "copper_lost", "sample_volume"}
    assert "etch-hidden" in panel.sliders["strength"].row._dom_classes


def test_a_bath_on_the_shelf_waits_for_its_reading(panel):
    before = panel.text()
    chosen(panel, SHELF, reading="")
    assert panel.commission.words["bath_is"] == NEW and panel.text() == before
    assert "hydrometer_reading" in visible(panel) and "Type what the hydrometer" in panel.note.value
    typed(panel, reading_temperature="30 °C")  # in any order
    assert panel.commission.words["bath_is"] == NEW
    typed(panel, hydrometer_reading="12 bananas")
    assert "bananas" in panel.boxes["hydrometer_reading"].says.value
    assert panel.boxes["hydrometer_reading"].says.value.count("hydrometer reading:") == 1
    typed(panel, hydrometer_reading="27")
    assert panel.commission.words["bath_is"] == SHELF and panel.text() != before
    assert panel.commission.typed["reading_temperature"] == "30 °C"


def test_a_change_of_mind_before_the_reading_leaves_the_bath_as_it_was(panel):
    before = panel.text()
    chosen(panel, SHELF, reading="")
    chosen(panel, NEW)
    assert panel.text() == before and panel.state == NEW


def test_a_second_fact_takes_the_place_of_another_and_comes_back(panel):
    chosen(panel, SHELF)
    alone = panel.text()
    panel.second.box.value = "metal_dissolved"
    typed(panel, metal_dissolved="40 g")
    by_metal = panel.text()
    panel.second.box.value = "strip_share"
    assert panel.text() == alone and "metal_dissolved" not in panel.commission.typed
    typed(panel, strip_share="60 %")
    assert panel.text() not in (alone, by_metal)
    panel.second.box.value = "metal_dissolved"
    assert panel.text() == by_metal
    panel.second.box.value = ""
    assert panel.text() == alone


def test_the_strength_is_taken_in_any_measure(panel):
    # 500 g/L made up at 20 °C, in the measures that tests/job/test_strengths.py holds to tables
    typed(panel, strength="SG 1.2323")
    assert panel.plan.number("strength") == pytest.approx(500, rel=2e-3)
    assert panel.boxes["strength"].box.value == "SG 1.2323"
    typed(panel, strength="24 %")
    assert "of what?" in panel.boxes["strength"].says.value


def test_metal_in_the_bath_slows_it(panel):
    chosen(panel, WRITTEN)
    fresh = panel.plan.number("etch_time")
    typed(panel, metal_dissolved="30 g")
    assert panel.plan.number("etch_time") > 1.1 * fresh
    typed(panel, metal_dissolved="")
    assert panel.plan.number("etch_time") == pytest.approx(fresh)


def test_what_cannot_all_be_so_is_one_sentence_and_the_last_plan_holds(panel):
    chosen(panel, WRITTEN)
    before = panel.text()
    typed(panel, metal_dissolved="5 kg")
    assert "more than the ferric" in panel.boxes["metal_dissolved"].says.value
    assert panel.text() == before


def ends_of(term):
    for end in (term.low, term.high):
        if np.isfinite(end):
            yield show(term.quantity(end), term.kind, fixed=False, count=6)
    yield from ("-1e9", "1e12 kg", "nan", "0", "", "<img src=x onerror=alert(1)>")


@pytest.mark.parametrize("state", OF_STATE)
def test_every_box_to_both_ends_and_beyond(panel, state):
    chosen(panel, state)
    controls = [*panel.boxes.values(), *panel.sliders.values()]
    for control in controls:
        if not isinstance(control, Typed):
            continue
        for text in ends_of(control.term):
            control.box.value = text
            assert "<img" not in control.says.value
        assert panel.text()
    for slider in panel.sliders.values():
        for end in (slider.slider.max, slider.slider.min):
            slider.slider.value = end
            assert slider.says.value or slider.name in panel.commission.typed


def test_every_toggle_gives_a_plan(panel):
    chosen(panel, SHELF)
    for fact in FACTS.values():
        panel.second.box.value = fact
        for way in panel.ways.values():
            for answer in way.box.options.values():
                way.box.value = answer
                assert panel.commission.words[way.name] == answer and panel.text()


def test_a_bath_without_a_log_is_asked_about_and_one_with_a_log_tells(panel, shop):
    panel.log.name.box.value = "Tub A"
    assert panel.enter("2026-02-01").startswith("Entered in tub-a.toml")
    assert "2026-02-01" in panel.log.list.value and "500 g/L" in panel.log.list.value
    chosen(panel, WRITTEN)
    assert panel.plan.known.bath is not None and "Its log says" in panel.note.value
    assert "strength" not in visible(panel)
    before = panel.text()
    typed(panel, bath_name="Tub <b>B</b>")
    assert "no log of" in panel.boxes["bath_name"].says.value
    assert "<b>B" not in panel.boxes["bath_name"].says.value
    assert panel.text() == before
    # the log goes: the panel opens all the same, and says so
    (shop.root / "baths" / "tub-a.toml").unlink()
    assert "no log of" in BathAndTime(shop).saved.value


def test_written_down_under_a_name_that_has_no_log_waits_for_another(panel):
    panel.log.name.box.value = "Tub A"
    chosen(panel, WRITTEN)
    assert panel.commission.words["bath_is"] == NEW
    assert "no log of" in panel.bath_is.says.value and "bath_name" in visible(panel)
    typed(panel, bath_name="")
    assert panel.commission.words["bath_is"] == WRITTEN and panel.bath_is.says.value == ""


def put_in(panel, **said):
    for key, box in panel.log.topping.items():
        box.box.value = said.get(key, "")
    panel.log.put_in.click()
    return panel.log.topped.value


def test_what_was_put_into_a_bath_is_entered_in_its_log(panel, shop):
    panel.log.name.box.value = "Tub A"
    assert "no log of" in put_in(panel, water="300 g")
    panel.enter("2026-02-01")
    chosen(panel, WRITTEN)
    before = panel.plan.known.bath
    assert put_in(panel, crystals="500 g", water="300 g") == "Entered in tub-a.toml."
    assert "500 g of crystals put in, 300 g of water put in" in panel.log.list.value
    assert panel.log.topping["crystals"].box.value == ""
    now = panel.plan.known.bath  # by mass balance half a kilogram of hexahydrate more
    held, holds = (float((b.strength * b.volume).to("g").magnitude) for b in (before, now))
    assert holds - held == pytest.approx(500.0, rel=1e-6)
    text = (shop.root / "baths" / "tub-a.toml").read_text()
    for wrong, sentence in (
        ({}, "type taken_out, crystals or water"),
        ({"crystals": "some <i>"}, "some &lt;i&gt;"),
        ({"taken_out": "250 %"}, "taken_out"),
    ):
        told = put_in(panel, **wrong)
        assert sentence in told and "role='alert'" in told
        assert panel.log.topping["crystals"].box.value == wrong.get("crystals", "")
    assert (shop.root / "baths" / "tub-a.toml").read_text() == text


def test_a_job_of_a_nameless_bath_is_not_entered(panel):
    assert "what is written on the bottle" in panel.enter("2026-02-01")
    assert "what is written on the bottle" in put_in(panel, water="1 L")


def test_readings_come_from_a_table_once(panel):
    before = panel.text()
    table = b"time,depth\n20 min,0.05 mm\n30 min,0.07 mm\n"
    assert panel.from_file.take(table) == "2 added."
    assert panel.text() != before and "0.07 mm" in panel.readings.list.value
    assert "2 were there already" in panel.from_file.take(table)
    assert len(panel.commission.readings) == 2


def test_a_table_that_cannot_be_read_is_one_sentence(panel):
    content = memoryview(b"time,depth\n20 min,<img src=x>\n")
    panel.from_file.upload.value = (
        {
            "name": "a.csv",
            "type": "",
            "size": 3,
            "content": content,
            "last_modified": datetime.now(UTC),
        },
    )
    assert "line 2" in panel.from_file.says.value and "<img" not in panel.from_file.says.value
    assert panel.commission.readings == () and panel.from_file.upload.value == ()


def test_two_depths_wait_for_each_other(panel):
    before = panel.text()
    typed(panel, second_line="0.8 mm")
    assert panel.text() == before and "Type both" in panel.two.value
    typed(panel, second_depth="0.3 mm")
    assert "Two depths" in panel.two.value and panel.boxes["second_line"].box.value == "0.8 mm"
    typed(panel, second_depth="0.1 mm")
    assert "not the deeper" in panel.boxes["second_depth"].says.value
    typed(panel, second_depth="")
    assert panel.text() == before and panel.boxes["second_line"].box.value == "0.8 mm"


def test_the_folds_hold_measures_rates_sums_and_cautions(panel):
    bodies = {
        key: fold.body.value
        for key, fold in panel.folds.items()
        if key not in ("log", "strip", "tray", "map")
    }
    assert "1.850 mol/L" in bodies["measures"]  # 500 g/L over 270.295 g/mol
    assert "<svg>" in bodies["rates"] and "50 °C" in bodies["rates"]
    assert "gauge time" in bodies["etch"] and "etchant mass fraction" in bodies["bath"]
    assert "warm up time" in bodies["warm"] and "Usual cautions" in bodies["cautions"]


def test_the_tray_is_drawn_and_says_how_the_plates_stand(panel):
    above = panel.tray.above.value
    assert above.count("tray-above") == 1 and "3 spacers of 10 mm" in panel.tray.said.value
    panel.tray.boxes["heater_length"].box.value = "120 mm"
    panel.tray.boxes["heater_width"].box.value = "40 mm"
    assert panel.tray.above.value != above and panel.commission.typed["heater_width"] == "40 mm"
    panel.tray.boxes["bench_slope"].box.value = "12 %"
    assert "lay a shim" in panel.tray.said.value
    panel.tray.boxes["tray_depth"].box.value = "38 mm"
    assert "too full to be tilted" in panel.tray.said.value
    panel.tray.boxes["tray_material"].box.value = "stainless steel"
    assert "refused for safety" in panel.tray.boxes["tray_material"].says.value
    panel.tray.boxes["tray_material"].box.value = "enamel"
    assert panel.commission.words["tray_material"] == "enamel"
    assert "sag" in panel.tray.sums.value and "EN 631-1" in panel.tray.sizes.value


def test_a_map_is_drawn_over_two_inputs_or_refused_in_a_sentence(panel):
    assert panel.map.picture.value == ""
    panel.map.draw()
    assert "<svg" in panel.map.picture.value and "goes from" in panel.map.says.value
    panel.map.up.value = "temperature"
    assert "two different inputs" in panel.map.says.value and panel.map.picture.value == ""
    panel.map.across.value, panel.map.up.value, panel.map.shows.value = "depth", "finest_line", ""
    assert "Safe is" in panel.map.says.value


def test_a_bath_with_nothing_left_is_refused(panel):
    chosen(panel, SHELF)
    panel.second.box.value = "copper_lost"
    before = panel.text()
    typed(panel, copper_lost="0 g")
    assert "no ferric is left" in panel.boxes["copper_lost"].says.value and panel.text() == before


def test_no_heater_is_said_so(panel):
    assert "warms it from 20 °C to 42 °C" in panel.heat.value
    typed(panel, heater_rating="0 W")
    assert "Without a heater" in panel.heat.value and "bare" not in panel.heat.value


def test_a_reading_entered_in_one_panel_reaches_the_other(panel, shop):
    sheet = JobSheet(shop)
    for name, text in (("reading_time", "20 min"), ("reading_depth", "0.03 mm")):
        panel.readings.boxes[name].box.value = text
    panel.readings.take()
    sheet.look()
    assert sheet.commission.readings == panel.commission.readings
    assert sheet.plan.number("etch_time") == pytest.approx(panel.plan.number("etch_time"))
    assert "0.03 mm" in sheet.readings.list.value
    sheet.units.value = "imperial"
    panel.look()
    assert panel.units.value == "imperial" and "thou" in panel.sliders["depth"].box.value


def test_what_two_panels_change_at_once_is_both_kept(panel, shop):
    sheet = JobSheet(shop)
    panel.sliders["temperature"].slider.value = 45
    sheet.typed["plate_count"].box.value = "5"  # not having looked at the file since
    assert sheet.plan.number("temperature") == pytest.approx(45)
    again = shop.open()
    assert (again.typed["temperature"], again.typed["plate_count"]) == ("45 °C", "5")


def test_a_file_spoilt_by_hand_is_said_and_not_written_over(panel, shop):
    path = shop.folder(shop.current) / "commission.toml"
    path.write_text("[plate]\nmetal = ", encoding="utf-8")
    before = panel.text()
    panel.look()
    assert "cannot be read as TOML" in panel.saved.value and panel.text() == before
    panel.sliders["temperature"].slider.value = 45
    assert path.read_text(encoding="utf-8") == "[plate]\nmetal = "


def test_a_weighing_a_groove_and_what_is_kept(panel):
    panel.readings.boxes["reading_time"].box.value = "40 min"
    panel.readings.boxes["reading_depth"].box.value = "1.6 g"
    panel.readings.take()
    assert panel.commission.readings[-1] == {"reading_time": "40 min", "weight_lost": "1.6 g"}
    assert "1.6 g of metal gone, weighed" in panel.readings.list.value
    panel.readings.boxes["reading_time"].box.value = "50 min"
    panel.readings.boxes["reading_depth"].box.value = "-1.6 g"
    panel.readings.take()
    assert "gains no weight" in panel.readings.says.value and len(panel.commission.readings) == 1
    factor = panel.plan.number("etch_factor")
    for name, text in {"section_film": "0.3 mm", "section_line": "0.7 mm", "section_depth": "0.2 mm"}.items():  # fmt: skip
        panel.lessons.boxes[name].box.value = text
    panel.lessons.take()
    assert panel.plan.number("etch_factor") < factor, "0.2 over 0.2 is an etch factor of 1"
    panel.lessons.take()
    assert "section" in panel.lessons.notes.says.value, "empty boxes get a sentence"
    panel.lessons._on_keep()
    assert "corrections.toml" in panel.lessons.kept.value
    assert (panel.shop.root / "corrections.toml").exists()
    assert "15 min" in panel.lessons.guide.value
    again = BathAndTime(Shop(panel.shop.root))
    assert again.commission.sections == panel.commission.sections


def test_a_late_line_and_how_the_plates_go_in(panel):
    typed(panel, cleared_late="15 min")
    assert "cleared 15 min late" in panel.answers.value
    typed(panel, cleared_late="")
    assert "cleared" not in panel.answers.value
    before = panel.plan.number("etch_time")
    panel.ways["plates_go_in"].box.value = "while it warms up"
    assert panel.plan.number("etch_time") > before
    typed(panel, temperature_log="none.csv")
    assert "no thermometer" in panel.boxes["temperature_log"].says.value


def test_the_pace_and_what_the_range_comes_from_are_said(panel):
    assert "by habit; spent liquor takes" in panel.answers.value
    assert (
        "on the clock" in panel.answers.value
        and "mostly from the rate itself" in panel.answers.value
    )
    panel.ways["plates_go_in"].box.value = "while it warms up"
    assert "24 slices" in panel.folds["etch"].body.value, "an integration shows how it was done"
