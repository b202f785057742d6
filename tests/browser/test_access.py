"""What an automated check of accessibility (axe-core) finds on the pages: nothing serious."""

import subprocess
import sys

import pytest

axe = pytest.importorskip("axe_playwright_python.sync_playwright")
LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
SERIOUS = ("serious", "critical")


def found(page, within=None):
    """What is serious, as (rule, first place), within a part of the page or on all of it."""
    report = axe.Axe().run(page, context=within).response
    return [
        (v["id"], v["nodes"][0]["html"][:120])
        for v in report["violations"]
        if v["impact"] in SERIOUS
    ]


@pytest.mark.parametrize(
    "book",
    ["1-job-sheet", "2-film", "3-bath-and-time", "4-bench", "5-records-and-price", "running-etch"],
)
def test_a_workbook_has_no_serious_finding(page, live_server, book):
    if book == "running-etch":
        page.set_viewport_size({"width": 390, "height": 850})
    page.goto(live_server.page_address(f"{book}.ipynb"))
    page.wait_for_selector(".etch button", timeout=LIVE_WITHIN)
    page.wait_for_timeout(2000)  # names are given to sliders a moment after they come
    assert found(page, ".etch") == []


def test_the_record_has_no_serious_finding(page, tmp_path):
    command = [sys.executable, "-m", "etchcalc.pages.cli", "plan", "--out", str(tmp_path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    page.goto((tmp_path / "record.html").as_uri())
    assert found(page) == []
