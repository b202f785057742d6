"""The job sheet as a maker meets it: opened live, slid, typed into, saved."""

import json

import pytest

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
SENTENCE = ".etch-sentence"


def slider(page, name):
    return page.locator(f".etch-band-{name} .noUi-handle")


def box(page, name, where=".etch-row"):
    return page.locator(f"{where} .etch-in-{name} input, {where}.etch-in-{name} input").first


@pytest.fixture
def sheet(page, live_server):
    page.goto(live_server.address)
    page.wait_for_selector(".etch-slider .noUi-handle", timeout=LIVE_WITHIN)
    page.wait_for_selector(SENTENCE, timeout=LIVE_WITHIN)
    return page


def changes(page, selector, before, attribute=None):
    """Wait until a text or attribute is no longer what it was."""
    page.wait_for_function(
        "([s, a, b]) => { const n = document.querySelector(s);"
        " return n && (a ? n.getAttribute(a) : n.textContent) !== b; }",
        arg=[selector, attribute, before],
        timeout=20_000,
    )


def test_a_slider_moves_number_and_picture(sheet, outside_requests, console_errors):
    said = sheet.locator(SENTENCE).text_content()
    wall = sheet.locator(".etch-wall").get_attribute("d")
    slider(sheet, "depth").focus()
    sheet.keyboard.press("ArrowLeft")
    changes(sheet, SENTENCE, said)
    changes(sheet, ".etch-wall", wall, "d")
    assert "0.19 mm" in sheet.locator(".etch-groove title").text_content()
    assert outside_requests(sheet) == []
    assert console_errors(sheet) == []


@pytest.mark.parametrize("key", ["b", "m", "x", "a", "d"])
def test_keys_on_a_slider_reach_no_cell(sheet, key):
    cells = sheet.locator(".jp-Cell").count()
    slider(sheet, "temperature").focus()
    sheet.keyboard.press(key)
    sheet.keyboard.press(key)
    sheet.wait_for_timeout(300)
    assert sheet.locator(".jp-Cell").count() == cells
    assert slider(sheet, "temperature").count() == 1


def test_what_is_typed_stays_as_typed(sheet):
    said = sheet.locator(SENTENCE).text_content()
    line = box(sheet, "finest_line")
    line.fill("12 thou")
    line.press("Enter")
    changes(sheet, SENTENCE, said)
    sheet.wait_for_timeout(800)  # the slider has sent back its snapped value by then
    assert line.input_value() == "12 thou"
    assert "ordered 0.30 mm" in sheet.locator(".etch-groove").text_content()


def test_nonsense_is_answered_in_one_sentence(sheet):
    line = box(sheet, "finest_line")
    before = sheet.locator(SENTENCE).text_content()
    line.fill("12 bananas")
    line.press("Enter")
    told = sheet.locator(".etch-say b")
    told.wait_for(timeout=20_000)
    assert "bananas" in told.text_content() and told.text_content().count(".") >= 1
    assert line.input_value() == "12 bananas"
    assert sheet.locator(SENTENCE).text_content() == before
    slider(sheet, "finest_line").focus()
    sheet.keyboard.press("ArrowRight")
    told.wait_for(state="detached", timeout=20_000)
    assert "bananas" not in line.input_value()


def test_sums_stay_open_while_a_slider_moves(sheet):
    sheet.locator(".etch-fold summary", has_text="how to draw the film").click()
    body = sheet.locator(".etch-sum-film")
    body.wait_for(state="visible")
    before = body.text_content()
    slider(sheet, "depth").focus()
    sheet.keyboard.press("ArrowRight")
    changes(sheet, ".etch-sum-film", before)
    assert body.is_visible()


def test_a_plate_of_another_size_sets_the_drawing_aside(sheet):
    width = box(sheet, "plate_width", ".etch-plate-box")
    width.fill("200 mm")
    width.press("Enter")
    sheet.locator(".etch-aside").wait_for(timeout=30_000)
    assert "200" in sheet.locator(".etch-aside").text_content()
    width.fill("120 mm")
    width.press("Enter")
    sheet.locator(".etch-aside").wait_for(state="detached", timeout=30_000)


def test_units_switch_the_whole_page(sheet):
    sheet.get_by_role("button", name="imperial").click()
    sheet.wait_for_function(f"document.querySelector('{SENTENCE}').textContent.includes('oz')")
    assert "thou" in sheet.locator(SENTENCE).text_content()
    sheet.get_by_role("button", name="metric").click()
    sheet.wait_for_function(f"!document.querySelector('{SENTENCE}').textContent.includes('oz')")


def test_save_leaves_a_record_that_opens_offline(sheet, live_server, context, outside_requests):
    sheet.get_by_role("button", name="Save the record").click()
    sheet.locator(".etch-saved a").wait_for(timeout=30_000)
    folder = live_server.shop / "commissions" / "rain-gauge-scale"
    record = json.loads((folder / "record.json").read_text(encoding="utf-8"))
    assert record["results"]["etch_time"]["value"] > 0
    with context.expect_page() as opened:
        sheet.locator(".etch-saved a").click()
    opened.value.wait_for_load_state()
    assert opened.value.locator("h1").text_content() == "Rain gauge scale"
    offline = context.new_page()
    context.set_offline(True)
    offline.goto((folder / "record.html").as_uri())
    assert offline.locator(".step").count() == 12
    assert offline.locator("svg").count() == 4
    assert [u for u in outside_requests(offline) if not u.startswith("file:")] == []
    assert offline.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_phone_page_does_not_scroll_sideways(sheet):
    sheet.set_viewport_size({"width": 390, "height": 800})
    sheet.wait_for_timeout(400)
    assert sheet.evaluate("document.documentElement.scrollWidth") <= 390
    boxes = sheet.locator(".etch-row input").all()
    assert all(b.bounding_box()["x"] + b.bounding_box()["width"] <= 390 for b in boxes)


def test_what_was_changed_is_there_after_a_reload(sheet):
    said = sheet.locator(SENTENCE).text_content()
    slider(sheet, "temperature").focus()
    sheet.keyboard.press("ArrowRight")
    changes(sheet, SENTENCE, said)
    now = sheet.locator(SENTENCE).text_content()
    sheet.reload()
    sheet.wait_for_selector(SENTENCE, timeout=LIVE_WITHIN)
    assert sheet.locator(SENTENCE).text_content() == now


def test_a_gauge_reading_corrects_the_forecast(sheet):
    said = sheet.locator(SENTENCE).text_content()
    sheet.locator(".etch-fold summary", has_text="Gauged the plate").click()
    for name, text in (("reading_time", "20 min"), ("reading_depth", "0.03 mm")):
        field = sheet.locator(f".etch-in-{name} input")
        field.fill(text)
        field.press("Tab")
    sheet.get_by_role("button", name="Add the reading").click()
    changes(sheet, SENTENCE, said)
    sheet.locator(".etch-reading").first.wait_for(state="attached")
    sheet.get_by_role("button", name="Take back the last").click()
    sheet.locator(".etch-reading").first.wait_for(state="detached", timeout=20_000)
    assert sheet.locator(SENTENCE).text_content() == said
