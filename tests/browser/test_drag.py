"""The groove's floor, pulled by mouse and moved by keys on the job sheet."""

import pytest

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
HANDLE = ".etch-one .etch-drag"


def opened(page, server):
    """Open the job sheet at a depth of 0.2 mm, whatever was pulled before."""
    page.goto(server.address)
    page.wait_for_selector(".etch-slider .noUi-handle", timeout=LIVE_WITHIN)
    page.wait_for_selector(HANDLE, timeout=LIVE_WITHIN)
    type_depth(page, 0.2)
    return page


def type_depth(page, depth):
    box = page.locator(".etch-row .etch-in-depth input")
    box.fill(f"{depth} mm")
    box.press("Enter")
    stands_at(page, depth)


@pytest.fixture
def sheet(page, live_server):
    return opened(page, live_server)


def depth_of(page):
    return float(page.locator(HANDLE).get_attribute("aria-valuenow"))


def stands_at(page, depth):
    """Wait until the groove is drawn at a depth, in mm."""
    page.wait_for_function(
        "([s, d]) => Math.abs(document.querySelector(s)?.getAttribute('aria-valuenow') - d) < 1e-6",
        arg=[HANDLE, depth],
        timeout=20_000,
    )


def test_a_pull_by_mouse_sets_the_depth(sheet, console_errors):
    handle = sheet.locator(HANDLE)
    handle.scroll_into_view_if_needed()
    said = sheet.locator(".etch-sentence").text_content()
    before = depth_of(sheet)
    per_unit = float(handle.get_attribute("data-mm-per-unit"))
    wide = sheet.locator(".etch-groove").bounding_box()["width"]
    pull = 0.12 / per_unit * wide / 440  # px: 0.12 mm up at the scale that it has now
    place = handle.bounding_box()
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2 + 12
    sheet.mouse.move(x, y)
    sheet.mouse.down()
    sheet.mouse.move(x + 40, y - pull, steps=12)
    wanted = round(before - 0.12, 2)
    stands_at(sheet, wanted)
    sheet.mouse.up()
    sheet.mouse.move(x, y + 60, steps=3)  # let go: nothing follows any more
    sheet.wait_for_timeout(300)
    assert depth_of(sheet) == wanted
    box = sheet.locator(".etch-row .etch-in-depth input")
    assert float(box.input_value().split()[0]) == wanted
    assert sheet.locator(".etch-sentence").text_content() != said
    assert console_errors(sheet) == []


def test_the_handle_stays_under_the_pointer(sheet):
    type_depth(sheet, 0.15)
    handle, grip = sheet.locator(HANDLE), sheet.locator(f"{HANDLE} rect:last-child")
    handle.evaluate("handle => handle.scrollIntoView({ block: 'center' })")
    wide = sheet.locator(".etch-groove").bounding_box()["width"]
    per_mm = wide / 440 / float(handle.get_attribute("data-mm-per-unit"))  # px
    place = grip.bounding_box()
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    sheet.mouse.move(x, y)
    sheet.mouse.down()
    for deeper in (0.05, 0.1, 0.15, 0.2):  # mm
        pointer = y + deeper * per_mm
        sheet.mouse.move(x, pointer, steps=5)
        stands_at(sheet, round(0.15 + deeper, 2))
        place = grip.bounding_box()
        assert place["y"] + place["height"] / 2 == pytest.approx(pointer, abs=3)
    sheet.mouse.up()


def test_keys_move_the_floor_and_reach_no_cell(sheet):
    cells = sheet.locator(".jp-Cell").count()
    depth = depth_of(sheet)
    sheet.locator(HANDLE).focus()
    for key, steps in (("ArrowDown", 1), ("ArrowDown", 1), ("ArrowUp", -1), ("PageDown", 10)):
        sheet.keyboard.press(key)
        depth += steps * 0.01
        stands_at(sheet, depth)  # drawn again, and the focus has come along
        assert sheet.evaluate("document.activeElement.getAttribute('class')") == "etch-drag"
    for key in "bmxadd":
        sheet.keyboard.press(key)
    sheet.wait_for_timeout(300)
    assert sheet.locator(".jp-Cell").count() == cells
    assert depth_of(sheet) == pytest.approx(depth)


def test_a_finger_pulls_and_the_page_stays(browser, live_server):
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True)
    page = opened(context.new_page(), live_server)
    type_depth(page, 0.3)  # from which 60 px up are not beyond the shallowest
    handle = page.locator(HANDLE)
    handle.scroll_into_view_if_needed()
    place, before = handle.bounding_box(), depth_of(page)
    wide = page.locator(".etch-groove").bounding_box()["width"]
    wanted = round(before - 60 * 440 / wide * float(handle.get_attribute("data-mm-per-unit")), 2)
    assert place["height"] >= 44  # px
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    touch = context.new_cdp_session(page)
    for event, up in [("touchStart", 0), *(("touchMove", 4 * i) for i in range(1, 16))]:
        touch.send(
            "Input.dispatchTouchEvent", {"type": event, "touchPoints": [{"x": x, "y": y - up}]}
        )
        page.wait_for_timeout(20)
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    stands_at(page, wanted)  # the last 45 px of 60 would have scrolled the page
    context.close()
