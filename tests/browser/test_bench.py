"""The bench as a maker meets it: a soda said, a wedge added, nonsense typed, the record told."""

import pytest

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
BENCH = ".etch-bench"


@pytest.fixture
def bench(page, live_server):
    page.goto(live_server.page_address("4-bench.ipynb"))
    page.wait_for_selector(f"{BENCH} .etch-do b", timeout=LIVE_WITHIN)
    return page


def says(page, text, selector=BENCH):
    page.wait_for_function(
        "([s, t]) => document.querySelector(s).textContent.includes(t)",
        arg=[selector, text],
        timeout=30_000,
    )


def typed(page, name, text):
    box = page.locator(f".etch-in-{name} input").first
    box.fill(text)
    box.press("Enter")


def test_a_day_at_the_bench(bench, outside_requests, console_errors):
    page = bench
    says(page, "Look at the label")
    page.get_by_role("button", name="clear lumps").click()
    says(page, "Of a soda that is 37")
    typed(page, "coats", "3 bananas")
    says(page, "bananas")
    assert page.locator(".etch-in-coats input").first.input_value() == "3 bananas"
    typed(page, "coats", "3")
    says(page, "3 coats")
    wedge = page.locator(".etch-notes-wedge")
    wedge.locator("input").nth(0).fill("60 s")
    wedge.locator("input").nth(1).fill("5")
    wedge.locator("input").nth(1).press("Tab")
    wedge.get_by_role("button", name="Add the wedge").click()
    says(page, "60 s held step 5")
    says(page, "a wedge of your own")
    page.locator("summary", has_text="The sums").first.click()
    says(page, "blank area")
    assert outside_requests(page) == [] and console_errors(page) == []
