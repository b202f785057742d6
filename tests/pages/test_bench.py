"""The bench's panel driven in-process: every box, every choice, what is noted, what cannot be meant."""

import pytest

from etchcalc.job.schema import OPTIONAL
from etchcalc.pages.panels import Bench, JobSheet
from etchcalc.pages.panels.bench_words import BOXES, SODAS


@pytest.fixture
def panel(shop):
    return Bench(shop)


NAMES = [name for boxes in BOXES.values() for name in boxes]


@pytest.mark.parametrize("name", NAMES)
def test_every_box_takes_both_ends_and_refuses_beyond(panel, name):
    box = panel.boxes[name]
    before = panel.text()
    box.box.value = "many bananas"
    assert "alert" in box.says.value and panel.text() == before, "one sentence, nothing lost"
    assert box.box.value == "many bananas"
    low = box.term.low
    box.box.value = f"{low - abs(low) - 1:g} {box.term.unit:~}".replace("degC", "°C").strip()
    assert "alert" in box.says.value and panel.text() == before


def test_a_box_moves_its_sums(panel):
    before = panel.said["stop_out"].value
    panel.boxes["coats"].box.value = "3"
    assert panel.said["stop_out"].value != before and "3 coats" in panel.said["stop_out"].value
    assert "stop out paint" in panel.sums["stop_out"].body.value
    panel.boxes["coats"].box.value = "2"
    assert panel.said["stop_out"].value == before


def test_the_soda_is_asked_and_never_assumed(panel):
    assert panel.soda.box.value == "" and "Look at the label" in panel.said["develop"].value
    panel.soda.box.value = SODAS["clear lumps"]
    assert panel.commission.typed["soda_waters"] == "10"
    assert "Look at the label" not in panel.said["develop"].value
    panel.soda.box.value = ""
    assert "soda_waters" not in panel.commission.typed
    assert "Look at the label" in panel.said["develop"].value


def test_spray_loses_more_and_asks_its_own_loss(panel):
    brushed = panel.plan.number("stop_out_paint")
    assert "etch-hidden" in panel.fields["spray_loss"]._dom_classes
    panel.ways["painted"].box.value = "by spray"
    # half is lost in a conventional spray, 12 % of a brush: (1 − 0.12) / (1 − 0.5)
    assert panel.plan.number("stop_out_paint") / brushed == pytest.approx(0.88 / 0.5, rel=1e-6)
    assert "etch-hidden" in panel.fields["paint_loss"]._dom_classes


def test_what_is_noted_reaches_file_and_other_panels(panel, shop):
    for name, text in {"test_exposure": "60 s", "held_step": "5"}.items():
        panel.wedges.boxes[name].box.value = text
    panel.wedges.add.click()
    assert "60 s held step 5" in panel.wedges.list.value
    assert "a wedge of your own" in panel.said["expose"].value
    panel.blemishes.boxes["blemish"].box.value = "<img src=x onerror=alert(1)>"
    panel.blemishes.add.click()
    assert "<img" not in panel.blemishes.list.value + panel.said["develop"].value
    again = JobSheet(shop)
    assert again.commission.wedges == panel.commission.wedges != ()
    assert again.commission.blemishes == panel.commission.blemishes
    panel.wedges.back.click()
    assert panel.commission.wedges == () and "usual start" in panel.said["expose"].value


def test_a_dose_counts_when_its_light_is_typed_too(panel):
    before = panel.said["expose"].value
    panel.boxes["wanted_dose"].box.value = "60 mJ/cm²"
    assert panel.said["expose"].value == before
    assert panel.boxes["wanted_dose"].box.value == "60 mJ/cm²", "it stays as typed"
    panel.boxes["irradiance"].box.value = "2 mW/cm²"
    assert "30.0 s" in panel.said["expose"].value and "dose" in panel.said["expose"].value
    panel.boxes["irradiance"].box.value = ""
    assert panel.said["expose"].value == before
    assert panel.boxes["wanted_dose"].box.value == "60 mJ/cm²"


def test_an_empty_note_gets_a_sentence(panel):
    panel.wedges.add.click()
    panel.blemishes.add.click()
    assert "wedge 1" in panel.wedges.says.value and "blemish 1" in panel.blemishes.says.value
    assert panel.commission.wedges == panel.commission.blemishes == ()


def test_what_is_left_empty_is_not_said(panel):
    box = panel.boxes["resist_held_time"]
    box.box.value = "20 min"
    assert "stood up for 20 min" in panel.said["coat"].value and "stood up" in panel.told.value
    box.box.value = ""
    assert "nobody has noted" in panel.said["coat"].value and panel.told.value == ""
    assert set(OPTIONAL) >= {"resist_held_time", "wanted_dose"}


def test_every_step_of_the_bench_has_its_cautions_or_none(panel):
    assert "Ultraviolet" in panel.cautions["expose"].value
    assert "never down a drain" in panel.cautions["put_away"].value
    assert "never a knock" in panel.said["strip"].value and "flies" in panel.cautions["strip"].value
    assert "etch-hidden" in panel.cautions["coat"]._dom_classes


def test_units_switch_the_whole_bench(panel):
    panel.units.value = "imperial"
    text = panel.text()
    assert " mm" not in text.split("Put the bath away")[0] and " in" in text
