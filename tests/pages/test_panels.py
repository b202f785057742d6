"""The job sheet driven in-process: what a callback does, without a browser."""

import re
import subprocess
import sys

import pytest

from etchcalc.job.shop import Shop
from etchcalc.pages.panels import JobSheet

VIEW = "application/vnd.jupyter.widget-view+json"


@pytest.fixture
def sheet(shop):
    return JobSheet(shop)


def test_bundle_holds_the_view_and_the_whole_result(sheet):
    bundle = sheet._repr_mimebundle_()
    assert bundle[VIEW]["model_id"] == sheet.box.model_id
    assert "gauge time" in bundle["text/plain"] and "fill paint" in bundle["text/plain"]


def test_a_slider_moves_every_figure(sheet):
    before, picture = sheet.text(), sheet.answers.value
    sheet.sliders["depth"].slider.value = 0.15
    assert sheet.text() != before and sheet.answers.value != picture
    assert sheet.commission.typed["depth"] == "0.15 mm"
    assert sheet.typed["depth"].box.value == "0.15 mm"


def test_what_is_typed_is_not_rounded_by_the_step(sheet):
    sheet.sliders["finest_line"].box.value = "12 thou"
    assert sheet.plan.middle("finest_line").to("thou").magnitude == pytest.approx(12)
    near = sheet.sliders["finest_line"].slider.value
    assert near == pytest.approx(0.30)
    sheet.sliders["finest_line"].slider.value = near  # the view's echo
    assert sheet.sliders["finest_line"].box.value == "12 thou"
    assert sheet.plan.middle("finest_line").to("thou").magnitude == pytest.approx(12)


def test_a_slider_keeps_how_far_off_a_value_was_said_to_be(sheet):
    warmth = sheet.sliders["temperature"]
    warmth.box.value = "42 ± 2 °C (95 %)"
    warmth.slider.value = 45.0
    assert warmth.box.value == sheet.commission.typed["temperature"] == "45 °C ± 2 °C (95 %)"
    sheet.units.value = "US"
    assert warmth.box.value == "113 °F ± 3.6 °F (95 %)"
    warmth.slider.value = 40.0
    assert sheet.commission.off("temperature", "metric") == " ± 2 °C (95 %)"
    warmth.box.value = "104 °F"
    assert sheet.commission.off("temperature") == ""


def test_nonsense_keeps_the_last_good_value_and_says_one_sentence(sheet):
    before = sheet.text()
    sheet.sliders["temperature"].box.value = "12 bananas"
    assert "bananas" in sheet.sliders["temperature"].says.value
    assert sheet.sliders["temperature"].box.value == "12 bananas"
    assert sheet.text() == before
    sheet.sliders["temperature"].slider.value = 45
    assert sheet.sliders["temperature"].says.value == ""


def test_nonsense_is_escaped(sheet):
    sheet.typed["depth"].box.value = "<img src=x onerror=alert(1)>"
    assert "<img" not in sheet.typed["depth"].says.value


def test_tapping_a_groove_sets_the_depth(sheet):
    sheet.grooves.value = "0.08 mm"
    assert sheet.plan.number("depth") == pytest.approx(0.08)


def test_another_size_sets_the_drawing_aside_and_keeps_its_share(sheet):
    share = sheet.plan.number("open_fraction")
    sheet.sides["plate_width"].box.value = "240 mm"
    assert "set aside" in sheet.under_plate.value
    assert sheet.plan.number("open_fraction") == pytest.approx(share, rel=1e-3)
    area = share / 100 * 24 * 4.5
    assert sheet.plan.number("open_area") == pytest.approx(area, rel=1e-3)
    sheet.sides["plate_width"].box.value = "120 mm"
    assert "set aside" not in sheet.under_plate.value


def test_units_and_metal(sheet):
    sheet.units.value = "imperial"
    assert "oz" in sheet.answers.value and "thou" in sheet.typed["depth"].box.value
    sheet.metal.value = "CW409J"
    assert sheet.commission.metal == "CW409J"
    assert "nickel" in sheet.cautions.body.value


def test_a_change_is_kept_in_the_commission_and_opens_again(sheet, tmp_path):
    sheet.sliders["temperature"].slider.value = 45
    again = JobSheet(Shop(tmp_path / "shop"))
    assert again.plan.number("temperature") == pytest.approx(45)
    text = (tmp_path / "shop/commissions/rain-gauge-scale/commission.toml").read_text(
        encoding="utf-8"
    )
    assert "# An invented demonstration" in text


def test_saving_says_where_or_why_not(sheet, tmp_path, monkeypatch):
    assert "open the record" in sheet.save()
    folder = tmp_path / "shop/commissions/rain-gauge-scale"
    assert (folder / "record.json").exists() and (folder / "record.html").exists()
    monkeypatch.setattr(
        "os.fsync", lambda handle: (_ for _ in ()).throw(OSError(28, "No space left on device"))
    )
    before = (folder / "record.json").read_bytes()
    assert "No space left" in sheet.save()
    assert (folder / "record.json").read_bytes() == before
    assert not list(folder.glob(".record*"))


def test_a_gauge_reading_moves_the_forecast_and_can_be_taken_back(sheet, tmp_path):
    before = sheet.text()
    boxes = sheet.readings.boxes
    boxes["reading_time"].box.value = "30 min"
    boxes["reading_depth"].box.value = "0.14 mm"
    boxes["film_under_gauge"].box.value = "0.050 mm"
    sheet.readings.take()
    assert sheet.text() != before and "0.14 mm over 0.050 mm of resist" in sheet.readings.list.value
    assert "etch-reading" in sheet.answers.value
    assert JobSheet(Shop(tmp_path / "shop")).text() == sheet.text()
    sheet.readings.back.click()
    assert sheet.text() == before


def test_what_is_told_of_a_save_stays_when_a_choice_comes_after_it(sheet):
    sheet._on_save(None)
    assert "open the record" in sheet.saved.value
    sheet.choose(units="US")
    assert "open the record" in sheet.saved.value
    sheet._tell("a fault")
    sheet.choose(units="metric")
    assert sheet.saved.value == ""


def test_what_was_refused_stays_in_its_box_while_another_is_typed_in(sheet):
    wide, high = sheet.sides["plate_width"], sheet.sides["plate_height"]
    wide.box.value = "200"
    high.box.value = "80 mm"
    assert wide.box.value == "200" and "200 of what" in wide.says.value
    assert sheet.plan.number("plate_width") == 120
    wide.box.value = "200 mm"
    assert not wide.says.value and sheet.plan.number("plate_width") == 200


def test_what_was_refused_gives_way_to_a_newer_value(sheet):
    box = sheet.typed["depth"]
    box.box.value = "3"
    sheet.sliders["depth"].slider.value = 0.15
    assert box.box.value == "0.15 mm" and not box.says.value
    box.box.value = "3"
    sheet.units.value = "imperial"
    assert "thou" in box.box.value and not box.says.value


def test_what_was_refused_for_one_job_is_not_shown_in_another(sheet):
    sheet.typed["depth"].box.value = "3"
    sheet.turn_to(sheet.shop.begin("another"))
    assert "mm" in sheet.typed["depth"].box.value and not sheet.typed["depth"].says.value


def test_a_reading_that_cannot_be_is_answered_in_one_sentence(sheet):
    before = sheet.text()
    sheet.readings.boxes["reading_time"].box.value = "12 bananas"
    sheet.readings.boxes["reading_depth"].box.value = "0.1 mm"
    sheet.readings.take()
    assert "bananas" in sheet.readings.says.value
    assert sheet.readings.boxes["reading_time"].box.value == "12 bananas"
    assert sheet.text() == before


def test_a_sum_and_its_range_stand_in_the_same_units(sheet):
    sheet.units.value = "imperial"
    assert "thou" not in sheet.folds["lift"].body.value
    assert "µm/min" in sheet.folds["lift"].body.value


def test_of_a_bath_that_was_read_no_strength_is_asked(sheet):
    row = sheet.sliders["strength"].row
    assert "etch-hidden" not in row._dom_classes
    sheet.choose(bath_is="found on the shelf", hydrometer_reading="27")
    assert "etch-hidden" in row._dom_classes and "of the used bath" in sheet.answers.value
    sheet.choose(bath_is="used and written down", bath_name="no such bottle")
    assert "no log of" in sheet.saved.value and "of the used bath" in sheet.answers.value


def test_what_another_panel_wrote_is_taken_over_unless_something_is_to_be_written(sheet, tmp_path):
    other = JobSheet(Shop(tmp_path / "shop"))
    other.typed["depth"].box.value = "0.15 mm"
    other.sides["plate_width"].box.value = "240 mm"
    sheet._keep._handle = object()  # what a person does here is about to be written
    sheet.look()
    assert sheet.plan.number("depth") == pytest.approx(0.20)
    sheet._keep._handle = None
    sheet.look()
    assert sheet.plan.number("depth") == pytest.approx(0.15)
    assert sheet.typed["depth"].box.value == "0.15 mm"
    assert "set aside" in sheet.under_plate.value
    assert sheet.text() == other.text()


# which job


def test_a_new_job_begins_with_the_shops_own_tray(sheet, tmp_path):
    sheet.which.title.box.value = "Tide table <b>"
    assert sheet.name == "tide-table-b" == sheet.shop.current
    assert sheet.commission.title == "Tide table <b>" and "<b>" not in sheet.title.value.replace(
        "<h2>", ""
    )
    assert sheet.commission.typed["tray_length"] == "330 mm"
    assert "client" not in sheet.commission.typed and not sheet.commission.words["file"]
    assert sheet.drawing is None and "your own drawing" not in sheet.text()
    sheet.which.title.box.value = "Tide table <b>"
    assert sheet.name == "tide-table-b-2", "a second of the same name is another"
    sheet.which.others.value = "rain-gauge-scale"
    assert sheet.commission.title == "Rain gauge scale" and sheet.drawing is not None


def test_name_and_client_are_typed(sheet):
    sheet.which.boxes["client"].box.value = "<img src=x onerror=alert(1)>"
    sheet.which.boxes["title"].box.value = "Scale for the mill"
    assert "Scale for the mill" in sheet.title.value and "<img" not in sheet.title.value
    assert sheet.shop.open().words["client"].startswith("<img")


def test_other_panels_follow_to_the_job(sheet):
    other = JobSheet(sheet.shop)
    sheet.which.title.box.value = "Tide table"
    other.look()
    assert other.name == "tide-table" and other.commission.title == "Tide table"


def test_two_windows_on_one_job_lose_nothing(sheet):
    other = JobSheet(sheet.shop)
    assert "Saved in" in sheet.save()
    other.type("depth", "0.15 mm")
    said = other.save()
    assert "Another window saved version 1" in said and "earlier/record-0001.json" in said
    folder = sheet.shop.folder(sheet.name)
    assert len(list((folder / "earlier").iterdir())) == 1
    assert "Another window" not in other.save()


def test_another_way_stands_beside_the_one_kept(sheet):
    sheet.other_way.keep.click()
    assert "nothing is changed yet" in sheet.other_way.beside.value
    sheet.type("depth", "0.15 mm")
    sheet.choose(metal="CW024A")
    shown = sheet.other_way.beside.value
    assert "depth 0.2 mm → 0.15 mm" in shown and "metal Brass sheet, CuZn37 → " in shown
    assert shown.count("<tr>") == 4


def test_a_reading_is_a_change_from_the_setting_kept(sheet):
    sheet.other_way.keep.click()
    sheet.readings.boxes["reading_time"].box.value = "40 min"
    sheet.readings.boxes["reading_depth"].box.value = "0.09 mm"
    sheet.readings.take()
    assert "gauge readings 0 → 1" in sheet.other_way.beside.value


def test_a_long_line_of_a_sum_is_broken_under_itself(sheet):
    shown = sheet.folds["film"].body.value
    names = re.findall(
        r"--in:0'>([a-z ]+) = [^<]*</span><span class='etch-line' style='--in:(\d+)'>= ", shown
    )
    assert names and all(len(name) + 1 == int(indent) for name, indent in names)


def test_what_it_would_take_is_solved_or_refused_in_a_sentence(sheet):
    sheet.other_way.time.box.value = "2 h"
    assert "bath" in sheet.other_way.solved.value or "temperature" in sheet.other_way.solved.value
    before = sheet.other_way.solved.value
    sheet.other_way.time.box.value = "two bananas"
    assert "alert" in sheet.other_way.time.says.value and sheet.other_way.solved.value == before


def test_how_sure_is_said_with_what_to_measure_better(sheet):
    shown = sheet.sure.body.value
    assert "gauge reading" in shown and "etch-narrows" in shown and "The chance is" in shown


def test_what_is_folded_away_can_be_hidden(sheet):
    for fold in (sheet.another, sheet.another_way, sheet.how_sure, sheet.gauged, sheet.warmer):
        assert "etch-body" in fold.body._dom_classes


SETTLED = """
import asyncio, gc, pathlib, sys

async def opened():
    from etchcalc.job.shop import Shop
    from etchcalc.pages.panels import desk
    from etchcalc.pages.panels.job_sheet import JobSheet
    desk.SETTLED_AFTER, before = 0.01, gc.get_threshold()
    JobSheet(Shop(pathlib.Path(sys.argv[1])))
    assert gc.get_freeze_count() == 0
    await asyncio.sleep(0.1)
    assert gc.get_freeze_count() > 50_000 and gc.get_threshold()[0] > before[0]

asyncio.run(opened())
"""


def test_what_a_page_stands_on_is_left_out_of_the_sweeps_once_it_is_open(tmp_path):
    # a process of its own, whose sweeps are nobody else's
    subprocess.run([sys.executable, "-c", SETTLED, str(tmp_path)], check=True, timeout=120)
