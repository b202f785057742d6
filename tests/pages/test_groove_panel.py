"""The groove's part of a page: nothing until it is asked for, then picture, sentences, a button."""

import asyncio
import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned
from etchcalc.pages.panels import FilmDesk, JobSheet
from etchcalc.pages.panels import groove_shape as panel
from etchcalc.pages.panels.groove_shape import QUARTERS, GrooveShape
from etchcalc.process.groove import Groove


def line(width, depth):
    return planned(
        parsed(
            '[plate]\nplate_width = "120 mm"\nplate_height = "45 mm"\nmetal = "CW508L"\n'
            f'[lines]\nfinest_line = "{width} mm"\ndepth = "{depth} mm"\n'
        )
    )


PLAN = line(0.6, 0.2)


def grown(plan, **asked):
    """A groove made up for the page: etch factor 1.25, an hour by its clock, two by the rates."""
    depth = np.array([plan.middle("depth").to("mm").magnitude])
    half = 0.1 + depth[0] / 1.25
    box = [[-half, 0], [-half, depth[0]], [0, depth[0]], [half, depth[0]], [half, 0]]
    return Groove(
        depth=Quantity(depth, "mm"),
        undercut=Quantity(depth / 1.25, "mm"),
        bulge=Quantity(0 * depth, "mm"),
        own_time=Quantity(np.array([60.0]), "min"),
        rate_time=Quantity(np.array([120.0]), "min"),
        film_line=Quantity(0.2, "mm"),
        outlines=tuple(Quantity(np.array(box) * share, "mm") for share in QUARTERS),
        mass_error=Quantity(0.0),
    )


@pytest.fixture
def made_up(monkeypatch):
    monkeypatch.setattr(panel.groove_shape, "of_plan", grown)


class Page:
    """What stands round the part: a plan, and what was taken."""

    def __init__(self, plan=PLAN):
        self.plan, self.taken = plan, []
        self.part = GrooveShape(lambda: self.plan, self.taken.append)

    def seen(self):
        part = self.part
        return " ".join((part.picture.value, part.says.value, part.told.value)).strip()

    def offers(self):
        return "etch-hidden" not in self.part.use._dom_classes


def test_nothing_is_worked_until_it_is_asked_for(monkeypatch):
    monkeypatch.setattr(panel.groove_shape, "of_plan", lambda *given, **more: pytest.fail("asked"))
    page = Page()
    page.part.refresh()
    assert page.seen() == "" and not page.offers()


def test_a_plan_grows_its_groove_at_four_depths():
    page = Page()
    page.part.ask.click()
    root = ET.fromstring(page.part.picture.value)
    outlines = [e for e in root.iter() if e.get("class") == "etch-outline"]
    deep = [np.ptp([float(n) for n in re.findall(r" (-?\d+\.?\d*)", e.get("d"))]) for e in outlines]
    assert np.array(deep) / deep[0] == pytest.approx([1, 0.75, 0.5, 0.25], abs=0.04)
    said = float(
        re.search(r"Etch factor (\d\.\d\d) \(.*?\), worked out, not measured", page.seen())[1]
    )
    assert 1.0 < said < 1.9  # common practice, no source: a still tray
    assert f"etch factor {said:.2f}" in page.part.picture.value
    page.part.use.click()
    assert page.taken == [f"{said:.2f}"] and f"etch factor of {said:.2f}" in page.seen()


def test_the_usual_factor_and_both_clocks_stand_beside_it(made_up):
    page = Page()
    page.part.ask.click()
    # the range that a plan gives it once it is used
    used = planned(PLAN.commission.changed(worked_etch_factor="1.25")).figures("etch_factor")
    low, high = (
        float(end.magnitude) for end in (used["etch_factor"].low, used["etch_factor"].high)
    )
    said = re.search(r"Etch factor 1\.25 \((\S+) to (\S+)\), worked out", page.seen())
    assert [float(n) for n in said.groups()] == pytest.approx([low, high], rel=0.02)
    assert page.offers()
    usual = PLAN.middle("usual_etch_factor").magnitude
    assert f"the usual start is {usual:.2f}." in page.seen()
    assert "it would take 1 h 00 min; the rate model says 2 h 00 min" in page.seen()
    assert page.seen().endswith("the time to go by.</p>")


def test_another_depth_takes_it_away_another_film_does_not(made_up):
    page = Page()
    page.part.ask.click()
    page.plan = planned(PLAN.commission.changed(etch_factor="1.25"))
    page.part.refresh()
    assert page.offers() and "Etch factor 1.25" in page.seen()
    page.plan = line(0.6, 0.15)
    page.part.refresh()
    assert page.seen() == panel.STALE and not page.offers()


def test_faults_are_one_sentence(made_up, monkeypatch):
    page = Page()
    page.part.ask.click()

    def refuse(*given, **more):
        raise BadInput("Too <narrow>.")

    page.part._take = refuse
    page.part.use.click()
    assert "Too &lt;narrow&gt;." in page.part.told.value and page.offers()
    monkeypatch.setattr(panel.groove_shape, "of_plan", refuse)
    page.part.ask.click()
    assert page.seen() == "<b role='alert'>Too &lt;narrow&gt;.</b>"
    assert not page.offers() and not page.part.ask.disabled


def test_it_is_worked_beside_the_page(monkeypatch):
    running = asyncio.events._get_running_loop  # what the folder's tests do without
    monkeypatch.setattr("etchcalc.pages.panels.latest.asyncio.get_running_loop", running)
    monkeypatch.setattr(panel.groove_shape, "of_plan", grown)

    async def asked():
        page = Page()
        page.part.ask.click()
        during = page.seen(), page.part.ask.disabled
        page.plan = line(0.6, 0.15) if stale else PLAN
        for _ in range(500):
            if not page.part.ask.disabled:
                return page, during
            await asyncio.sleep(0.01)
        raise AssertionError("never done")

    for stale in (False, True):
        # in a thread of its own: a browser test may have left a loop in this one
        with ThreadPoolExecutor(1) as pool:
            page, (seen, waits) = pool.submit(lambda: asyncio.run(asked())).result()
        assert panel.WAITING in seen and waits
        assert (page.seen() == panel.STALE) == stale and page.offers() != stale


@pytest.mark.parametrize("make", [JobSheet, FilmDesk], ids=lambda m: m.__name__)
def test_job_sheet_and_film_take_the_factor(make, shop, made_up):
    desk = make(shop)
    desk.shape.ask.click()
    desk.shape.use.click()
    assert desk.plan.middle("etch_factor").magnitude == pytest.approx(1.25)
    assert desk.plan.book.basis["etch_factor"] == "worked out"
    assert "etch factor of 1.25" in desk.shape.told.value
    kept = shop.open(desk.name).typed  # in the job's file
    assert kept["worked_etch_factor"] == "1.25"
    assert (kept["worked_depth"], kept["worked_line"]) == ("0.2 mm", "0.4 mm")


@pytest.mark.parametrize("make", [JobSheet, FilmDesk], ids=lambda m: m.__name__)
def test_a_factor_that_was_taken_can_be_let_go(make, shop, made_up):
    desk = make(shop)
    part = desk.shape
    hidden = [lambda b=b: "etch-hidden" in b._dom_classes for b in (part.use, part.back)]
    assert hidden[1]()
    usual = desk.plan.middle("etch_factor").magnitude
    part.ask.click()
    part.use.click()
    assert hidden[0]() and not hidden[1]()
    part.back.click()
    assert desk.plan.middle("etch_factor").magnitude == pytest.approx(usual)
    assert "no longer counts" in part.told.value and not hidden[0]() and hidden[1]()
    assert not {"worked_etch_factor", "worked_depth", "worked_line"} & set(
        shop.open(desk.name).typed
    )


def test_the_job_sheet_works_no_groove_out_while_its_fold_is_closed(shop, monkeypatch):
    for place, name in ((panel.groove_shape, "of_plan"), (panel, "_of")):
        monkeypatch.setattr(place, name, lambda *given, **more: pytest.fail("asked"))
    sheet = JobSheet(shop)
    sheet.sliders["depth"].slider.value = 0.15
    assert "How the groove grows" in sheet.grows.head.value
    assert sheet.shape.picture.value == "" and sheet.grows.body is sheet.shape.body


def test_another_depth_takes_the_groove_of_the_job_sheet_away(shop, made_up):
    sheet = JobSheet(shop)
    sheet.shape.ask.click()
    assert "Etch factor 1.25" in sheet.shape.says.value
    sheet.sliders["depth"].slider.value = 0.15
    assert sheet.shape.picture.value == "" and sheet.shape.told.value == panel.STALE
