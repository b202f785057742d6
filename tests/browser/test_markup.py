"""Markup typed as words is shown as words: it runs on no page, in no record and on no paper."""

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job.lesson_progress import Done, keep
from etchcalc.job.schema import WORDS
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import RecordsAndPrice

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
EVIL = "<img src=x onerror=window.ran=1>"
FILES = ("file", "temperature_log", "photographs")  # that must be there when a record is saved
PAGES = (
    "1-job-sheet", "2-film", "3-bath-and-time", "4-bench", "5-records-and-price", "running-etch",
    "lessons/guess-the-width",
)  # fmt: skip


def everywhere(commission):
    """Return a commission with markup in each word that takes any text, and their names."""
    found = []
    for section, words in WORDS.items():
        for name in (n for n, accepted in words.items() if accepted is None and n not in FILES):
            try:
                commission = commission.changed(**{name: EVIL})
                found.append(f"{section}.{name}")
            except BadInput:
                continue  # a file's name, a date, a price
    return commission, found


@pytest.fixture(scope="module")
def server(start_server, tmp_path_factory):
    shop = Shop(tmp_path_factory.mktemp("evil"))
    commission, found = everywhere(shop.open(shop.current).changed(file=""))
    assert {"commission.title", "commission.client", "commission.notes", "done.done_notes"} <= set(
        found
    )
    shop.keep(commission, shop.current)
    keep(shop.root, Done(EVIL, "guess-the-width", 1, 4, 5, "2027-03-26"))
    panel = RecordsAndPrice(shop)
    for part in panel.parts:
        if hasattr(part, "make"):
            for kind in part.kind.box.options.values():
                part.kind.box.value = kind
                part.make.click()
    return start_server(shop=shop.root)


def nothing_ran(page):
    assert page.evaluate("window.ran === undefined")
    assert page.locator("img[src='x']").count() == 0


def test_markup_runs_on_no_page(page, server):
    for name in PAGES:
        page.goto(server.page_address(f"{name}.ipynb"))
        page.wait_for_selector(".etch", timeout=LIVE_WITHIN)
        page.wait_for_timeout(1500)
        for fold in page.locator(".etch-fold summary").all():
            if fold.is_visible():
                fold.click()
        page.wait_for_timeout(500)
        nothing_ran(page)
    page.get_by_role("button", name="Print the progress sheet").click()
    page.wait_for_selector(".etch-saved a", timeout=LIVE_WITHIN)
    page.goto(server.page_address("1-job-sheet.ipynb"))
    page.wait_for_selector(".etch", timeout=LIVE_WITHIN)
    assert EVIL in page.locator(".etch-title").inner_text()
    page.get_by_role("button", name="Save the record").click()
    page.wait_for_selector(".etch-saved a", timeout=LIVE_WITHIN)
    records = sorted(server.shop.rglob("*.html"))
    assert len(records) > 3 and "record.html" in {path.name for path in records}
    for path in records:
        assert "onerror" in path.read_text(encoding="utf-8")
        page.goto(path.as_uri())
        nothing_ran(page)
