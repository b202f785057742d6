"""The keyboard alone reaches all that a mouse can use, shows where it is, and does the same there."""

import pytest
from diary import KEPT, Diary

LIVE_WITHIN = 120_000  # ms; a loaded machine is slow, and two pages come at once
# The seven lessons are one panel: tried are the one with a picture to drag, the one with most boxes.
LESSONS = ["lessons/closing-counter", "lessons/price-a-plate"]
BOOKS = [
    "1-job-sheet", "2-film", "3-bath-and-time", "4-bench", "5-records-and-price", "running-etch",
    *LESSONS,
]  # fmt: skip
AHEAD = 1  # pages that come live while one is tried

# What stands on the page for a hand, and what shows of it. A closed fold hides no less than it holds.
ON_THE_PAGE = """
() => {
  const panel = document.querySelector('.jp-NotebookPanel');
  const controls = 'input, textarea, select, button, summary, a[href], .noUi-handle, [role=slider]';
  const shows = node => node.checkVisibility({ visibilityProperty: true });
  window.usable = () => [...panel.querySelectorAll(controls)].filter(n => shows(n) && !n.disabled);
  window.unfold = () => {
    for (const fold of panel.querySelectorAll('details')) fold.open = true;
  };
  // a hand's pointer says what can be pressed; a slider's line is its handle's
  window.mouseOnly = () => [...panel.querySelectorAll('.etch *')].filter(node =>
    shows(node) && ['pointer', 'grab', 'ns-resize'].includes(getComputedStyle(node).cursor) &&
    !node.closest(`${controls}, label, .noUi-target`)).map(node => node.outerHTML.slice(0, 120));
  const look = node => [node, ...node.querySelectorAll('rect')].map(n => {
    const style = getComputedStyle(n);
    const line = style.outlineStyle === 'none' ? '' : style.outline;
    return `${line} ${style.boxShadow}`;
  }).join();
  window.told = node => `${node.localName}.${node.getAttribute('class')} ${node.outerHTML.slice(0, 160)}`;
  window.stops = [];
  document.addEventListener('focusin', ({ target }) => {
    // JupyterLab gives the focus once more to what has it
    if (panel.contains(target) && stops.at(-1)?.node !== target) stops.push({ node: target, look: look(target) });
  }, true);
  window.unseen = () => {
    document.activeElement.blur();
    return stops.filter(stop => look(stop.node) === stop.look).map(stop => told(stop.node));
  };
}
"""
STEADY = """
() => {
  const now = usable().length;
  window.same = now > 3 && now === window.before ? (window.same ?? 0) + 1 : 0;
  window.before = now;
  return window.same >= 3;
}
"""
CAME = """
() => {
  const wanted = usable();
  const came = stops.map(stop => stop.node);
  return {
    missed: wanted.filter(node => !came.includes(node)).map(told),
    order: came.map(node => wanted.indexOf(node)),
    unseen: unseen(),
  };
}
"""


@pytest.fixture(scope="module")
def opened(browser, live_server):
    """Give a function: a workbook's page, live. Those after it come live meanwhile."""
    pages = {}

    def live(book):
        at = BOOKS.index(book)
        for name in BOOKS[at : at + 1 + AHEAD]:
            if name not in pages:
                # each in a profile of its own, as in the other tests: nothing is left from page to page
                context = browser.new_context(viewport={"width": 1280, "height": 900})
                KEPT[:] = [*KEPT[-AHEAD:], Diary(context)]
                pages[name] = context.new_page()
                address = live_server.page_address(f"{name}.ipynb")
                pages[name].goto(address, wait_until="commit")
        page = pages[book]
        page.bring_to_front()
        page.wait_for_selector(".etch button", timeout=LIVE_WITHIN)
        steady(page)
        return page

    yield live
    for page in pages.values():
        page.context.close()


def steady(page):
    """Wait until no more controls come."""
    page.evaluate(ON_THE_PAGE)
    page.wait_for_function(STEADY, polling=300, timeout=LIVE_WITHIN)


def walk(page, start, key, times):
    """Press a key again and again from a place; where the focus came, as `CAME` tells."""
    page.evaluate(f"{start}.focus(), stops.length = 0")
    for _ in range(times):
        page.keyboard.press(key)
    return page.evaluate(CAME)


def reaches_everything(page):
    """Hold that Tab comes to each control in turn, to be seen, and that Shift+Tab goes back."""
    count = page.evaluate("usable().length")
    forth = walk(page, "document.querySelector('.jp-Notebook .jp-Cell')", "Tab", count)
    assert forth["missed"] == []
    assert forth["unseen"] == []
    assert forth["order"] == list(range(count))
    # no further than the first: before it is the browser's own bar
    back = walk(page, "usable().at(-1)", "Shift+Tab", count - 1)
    assert back["unseen"] == []
    assert back["order"] == list(reversed(range(count - 1)))


@pytest.mark.parametrize("book", BOOKS)
def test_tab_reaches_all_that_a_mouse_can_use(opened, book):
    page = opened(book)
    page.evaluate("unfold()")
    steady(page)
    assert page.evaluate("mouseOnly()") == []
    reaches_everything(page)


def focus_is_on(page, selector):
    return page.evaluate("s => document.activeElement.matches(s)", selector)


def test_a_started_etch_is_kept_by_keys(opened):
    page = opened("running-etch")
    page.locator("button.etch-take:visible").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("button.etch-bar-gauged", timeout=30_000)
    page.evaluate("unfold()")
    steady(page)
    reaches_everything(page)


def test_enter_and_space_open_a_fold_and_escape_leaves_it(opened):
    page = opened("1-job-sheet")
    for at, key in enumerate(("Enter", "Space")):
        page.evaluate("document.querySelectorAll('.etch details').forEach(d => d.open = false)")
        heading = page.locator(".etch summary").nth(at)
        heading.focus()
        page.keyboard.press(key)
        assert page.locator(".etch details[open]").count() == 1
        page.keyboard.press("Escape")
        assert page.locator(".etch details[open]").count() == 1
        assert focus_is_on(page, "summary")
        page.keyboard.press(key)
        assert page.locator(".etch details[open]").count() == 0


def test_enter_and_space_choose_among_toggles_and_press_a_button(opened):
    page = opened("1-job-sheet")
    for key, words in (("Space", "US"), ("Enter", "metric")):
        toggle = page.locator(".etch-head button", has_text=words)
        toggle.focus()
        page.keyboard.press(key)
        page.wait_for_selector(f".etch-head button.mod-active:text-is('{words}')", timeout=20_000)
        assert focus_is_on(page, ".etch-head button.mod-active")
        page.keyboard.press("Escape")
        assert focus_is_on(page, ".etch-head button.mod-active")
    page.locator(".etch button.etch-save").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".etch-saved a", timeout=60_000)
    assert focus_is_on(page, "button.etch-save")


@pytest.mark.parametrize("handle", [".etch-band-depth .noUi-handle", ".etch-one .etch-drag"])
def test_arrows_move_the_depth_and_escape_leaves_it(opened, handle):
    page = opened("1-job-sheet")
    depth = page.locator(".etch-row .etch-in-depth input")
    before = depth.input_value()
    deeper = "ArrowDown" if "drag" in handle else "ArrowUp"
    page.locator(handle).focus()
    page.keyboard.press(deeper)
    page.wait_for_function(
        "before => document.querySelector('.etch-row .etch-in-depth input').value !== before",
        arg=before,
        timeout=20_000,
    )
    moved = depth.input_value()
    assert float(moved.split()[0]) == pytest.approx(float(before.split()[0]) + 0.01)
    page.keyboard.press("Escape")
    page.wait_for_timeout(300)
    assert depth.input_value() == moved
    assert focus_is_on(page, handle)


def test_escape_in_a_box_undoes_nothing_and_enter_takes_what_is_typed(opened):
    page = opened("1-job-sheet")
    cells = page.locator(".jp-Cell").count()
    depth = page.locator(".etch-row .etch-in-depth input")
    depth.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("0.17 mm")
    page.keyboard.press("Escape")
    assert depth.input_value() == "0.17 mm"
    assert focus_is_on(page, ".etch-in-depth input")
    page.keyboard.type(" ")  # still a box to type in
    page.keyboard.press("Enter")
    page.wait_for_function(
        "() => document.querySelector('.etch-one .etch-drag').getAttribute('aria-valuenow') === '0.17'",
        timeout=20_000,
    )
    assert focus_is_on(page, ".etch-in-depth input")
    assert page.locator(".jp-Cell").count() == cells
