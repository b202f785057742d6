"""Bath and time as a maker meets it: opened live, the bath said, another page beside it."""

import pytest

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
SENTENCE = ".etch-sentence"
BOOK = "3-bath-and-time.ipynb"


def box(page, name, where=".etch"):
    return page.locator(f"{where} .etch-in-{name} input").first


def enter(field, text):
    field.fill(text)
    field.press("Enter")


def live(page, address):
    page.goto(address)
    page.wait_for_selector(SENTENCE, timeout=LIVE_WITHIN)
    page.wait_for_selector(".etch-slider .noUi-handle", timeout=LIVE_WITHIN)
    return page


@pytest.fixture
def bath(page, live_server):
    return live(page, live_server.page_address(BOOK))


def changes(page, before, selector=SENTENCE):
    page.wait_for_function(
        "([s, b]) => { const n = document.querySelector(s); return n && n.textContent !== b; }",
        arg=[selector, before],
        timeout=20_000,
    )


def test_a_bath_found_on_the_shelf(bath, outside_requests, console_errors):
    said = bath.locator(SENTENCE).text_content()
    bath.get_by_role("button", name="found on the shelf").click()
    box(bath, "hydrometer_reading").wait_for(state="visible")
    assert bath.locator(SENTENCE).text_content() == said
    assert not box(bath, "metal_dissolved").is_visible()
    enter(box(bath, "hydrometer_reading"), "27 bananas")
    told = bath.locator(".etch-say b")
    told.wait_for(timeout=20_000)
    assert "bananas" in told.text_content() and bath.locator(SENTENCE).text_content() == said
    enter(box(bath, "hydrometer_reading"), "27")
    changes(bath, said)
    now = bath.locator(SENTENCE).text_content()
    assert "of the used bath" in now and box(bath, "hydrometer_reading").input_value() == "27"
    bath.get_by_role("button", name="a test strip").click()
    box(bath, "strip_share").wait_for(state="visible")
    enter(box(bath, "strip_share"), "60 %")
    changes(bath, now)
    now = bath.locator(SENTENCE).text_content()
    # at the very edge of the page, where JupyterLab would fold the output away
    bath.get_by_role("button", name="new", exact=True).click()
    changes(bath, now)
    assert bath.locator(SENTENCE).text_content() == said
    assert outside_requests(bath) == []
    assert console_errors(bath) == []


def test_the_keyboard_alone_says_what_the_bath_is(bath):
    said = bath.locator(SENTENCE).text_content()
    bath.get_by_role("button", name="used and written down").focus()
    bath.keyboard.press("Enter")
    box(bath, "metal_dissolved").wait_for(state="visible")
    changes(bath, said)
    for _ in range(20):
        bath.keyboard.press("Tab")
        if box(bath, "metal_dissolved").evaluate("node => node === document.activeElement"):
            break
    now = bath.locator(SENTENCE).text_content()
    bath.keyboard.type("30 g")
    bath.keyboard.press("Enter")
    changes(bath, now)
    assert "Pour" in bath.locator(SENTENCE).text_content()


def test_readings_come_from_a_table(bath, tmp_path):
    table = tmp_path / "gauged.csv"
    table.write_text("time in min;depth in mm\n20;0,03\n", encoding="utf-8")
    said = bath.locator(SENTENCE).text_content()
    with bath.expect_file_chooser() as chooser:
        bath.locator(".etch-upload").click()
    chooser.value.set_files(table)
    changes(bath, said)
    bath.locator(".etch-reading").first.wait_for(state="attached")
    bath.get_by_role("button", name="Take back the last").click()
    bath.locator(".etch-reading").first.wait_for(state="detached", timeout=20_000)


def test_a_link_leads_on_in_the_same_plain_view(bath):
    bath.locator(".jp-MarkdownOutput a", has_text="job sheet").first.click()
    bath.wait_for_selector(".etch-job-sheet .etch-slider .noUi-handle", timeout=LIVE_WITHIN)
    assert bath.url.split("?")[0].endswith("/doc/tree/workbooks/1-job-sheet.ipynb")
    assert bath.title().startswith("Job sheet")


def test_what_is_entered_here_reaches_the_job_sheet(bath, context, live_server):
    sheet = context.new_page()
    sheet.goto(live_server.page_address("1-job-sheet.ipynb"))
    sheet.wait_for_selector(SENTENCE, timeout=LIVE_WITHIN)
    sheet.wait_for_selector(".etch-slider .noUi-handle", timeout=LIVE_WITHIN)
    assert sheet.locator(".jp-Toolbar:visible").count() == 0  # the same plain view
    enter(box(bath, "temperature", ".etch-row"), "47 °C")
    sheet.wait_for_function(
        "document.querySelector('.etch-row .etch-in-temperature input').value === '47 °C'",
        timeout=20_000,
    )
    half_typed = box(sheet, "depth", ".etch-row")
    half_typed.fill("0.1")  # not entered yet
    enter(box(bath, "temperature", ".etch-row"), "44 °C")
    sheet.wait_for_function(
        "document.querySelector('.etch-row .etch-in-temperature input').value === '44 °C'",
        timeout=20_000,
    )
    assert half_typed.input_value() == "0.1"


def test_the_phone_page_does_not_scroll_sideways(bath):
    bath.set_viewport_size({"width": 390, "height": 800})
    for fold in bath.locator(".etch-fold summary").all():
        fold.click()
    bath.get_by_role("button", name="found on the shelf").click()
    bath.wait_for_timeout(800)
    outer = bath.locator(".jp-WindowedPanel-outer")
    assert outer.evaluate("node => node.scrollWidth <= node.clientWidth")
    inputs = [b.bounding_box() for b in bath.locator(".etch input:visible").all()]
    assert all(b["x"] >= 0 and b["x"] + b["width"] <= 390 for b in inputs if b)
