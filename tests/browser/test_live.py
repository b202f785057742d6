"""A page opens live, stays live, and says in a sentence what went wrong."""

import os
import signal
import sys
import threading

import nbformat
import pytest

PANEL = """
import os, pathlib, sys, threading
import ipywidgets
with (pathlib.Path(os.environ["ETCHCALC_SHOP"]) / "runs.txt").open("a") as runs:
    runs.write("run\\n")
slider = ipywidgets.FloatSlider(value=1.5, min=0, max=10, step=0.5, description="Depth")
shown = ipywidgets.HTML("<b id='shown'>1.5</b>")
about = ipywidgets.HTML(f"<i id='python'>{sys.executable}</i> <i id='pid'>{os.getpid()}</i>")
thread = ipywidgets.HTML("<u id='thread'></u>")
def show(change):
    shown.value = f"<b id='shown'>{change['new']}</b>"
    thread.value = f"<u id='thread'>{threading.current_thread().name}</u>"
slider.observe(show, "value")
ipywidgets.VBox([slider, shown, about, thread])
"""
# A kernel that sees no message until the next comes, from the first cell on: what comes in while it
# answers another may be so overlooked (ipykernel 7.0 to 7.2, its issue 1554).
OVERLOOKS = """
import sys, time
if "ipykernel_launcher" in sys.orig_argv:
    from ipykernel.kernelbase import Kernel
    see, overlooked, last = Kernel.shell_channel_thread_main, [], [0.0]
    async def see_with_the_next(self, msg):
        overlooked.append(msg)
        burst, last[0] = time.monotonic() - last[0] < 1, time.monotonic()
        if not burst:
            while overlooked:
                await see(self, overlooked.pop(0))
    Kernel.shell_channel_thread_main = see_with_the_next
"""
HANDLE = ".noUi-handle"
LIVE_WITHIN = 60_000  # ms; a loaded machine is slow


def write_workbook(folder, name, *cells, live=True, shows=""):
    notebook = nbformat.v4.new_notebook(
        metadata={
            "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
            "etchcalc": {"live": live},
        },
        cells=[
            nbformat.v4.new_code_cell(
                cell,
                metadata={"jupyter": {"source_hidden": True}},
                outputs=[nbformat.v4.new_output("execute_result", {"text/plain": shows})]
                * bool(shows),
            )
            if kind == "code"
            else nbformat.v4.new_markdown_cell(cell)
            for kind, cell in cells
        ],
    )
    nbformat.write(notebook, folder / name)


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    """Stand-ins: a page with a slider, a slow one, those that fail, a notebook that is no page."""
    folder = tmp_path_factory.mktemp("workbooks")
    text = ("markdown", "# Stand-in\n\n" + "Some text about the depth of a line. " * 30)
    write_workbook(folder, "1.ipynb", text, ("code", PANEL))
    slow = f"import time\ntime.sleep(4)\n{PANEL}"
    write_workbook(folder, "slow.ipynb", text, ("code", slow), shows="the last opening's figures")
    bad = "from etchcalc.core.faults import BadInput\nraise BadInput('The depth is missing.')"
    write_workbook(folder, "bad-input.ipynb", text, ("code", bad), ("code", PANEL))
    write_workbook(folder, "bug.ipynb", text, ("code", "[][1]"))
    write_workbook(folder, "plain.ipynb", text, ("code", PANEL), live=False)
    return folder


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """A set-up of the user's own that would break every page, were it to leak in."""
    folder = tmp_path_factory.mktemp("theirs")
    kernel = folder / "kernels" / "python3"
    kernel.mkdir(parents=True)
    (kernel / "kernel.json").write_text('{"argv": ["false"], "display_name": "no"}')
    (folder / "jupyter_server_config.py").write_text("raise SystemExit('their settings')")
    startup = folder / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "0.py").write_text("raise SystemExit('their start-up script')")
    names = ("JUPYTER_PATH", "JUPYTER_CONFIG_DIR", "JUPYTER_CONFIG_PATH", "IPYTHONDIR")
    return dict.fromkeys(names, str(folder))


@pytest.fixture(scope="module")
def server(start_server, source, hostile):
    return start_server(source=source, workbook="1.ipynb", environment=hostile)


def open_live(page, address):
    page.goto(address)
    page.wait_for_selector(HANDLE, timeout=LIVE_WITHIN)
    page.wait_for_selector("#shown", timeout=LIVE_WITHIN)


def shown(page):
    return float(page.inner_text("#shown"))


def press_and_wait(page, key):
    before = page.inner_text("#shown")
    page.focus(HANDLE)
    page.keyboard.press(key)
    page.wait_for_function(
        "before => document.querySelector('#shown')?.innerText !== before", arg=before
    )


def test_opens_live_with_nothing_pressed(server, page, outside_requests, console_errors):
    open_live(page, server.address)
    assert page.title() == "Stand-in · etchcalc"
    before = shown(page)
    press_and_wait(page, "ArrowRight")
    assert shown(page) == before + 0.5
    # a panel looks at its file in the main thread: what is typed must not come in beside it
    assert page.inner_text("#thread") == threading.main_thread().name
    assert outside_requests(page) == []
    assert console_errors(page) == []


def test_until_a_page_is_live_it_says_so_and_shows_no_old_figures(server, page):
    page.goto(server.page_address("slow.ipynb"))
    coming = page.locator(".etchcalc-coming")
    coming.wait_for(timeout=LIVE_WITHIN)
    assert "Working it out" in coming.inner_text() and coming.get_attribute("role") == "status"
    assert not page.get_by_text("the last opening's figures").locator("visible=true").count()
    page.wait_for_selector(HANDLE, timeout=LIVE_WITHIN)
    coming.wait_for(state="detached")


def test_a_kernel_that_overlooks_messages_is_spoken_to_again(start_server, source, page, tmp_path):
    (tmp_path / "sitecustomize.py").write_text(OVERLOOKS)
    server = start_server(
        source=source, workbook="1.ipynb", environment={"PYTHONPATH": str(tmp_path)}
    )
    open_live(page, server.address)


def test_shows_a_page_and_no_notebook(server, page):
    open_live(page, server.address)
    page.wait_for_timeout(500)
    for furniture in (
        "#jp-menu-panel",
        "#jp-top-panel",
        ".jp-SideBar",
        ".jp-Toolbar",
        ".jp-InputPrompt",
        ".jp-Collapser",
        ".jp-InputPlaceholder",
        ".jp-CodeCell .cm-editor",
        ".jp-Dialog",
        ".jp-toastContainer .Toastify__toast",
    ):
        assert not page.locator(furniture).locator("visible=true").count(), furniture


@pytest.mark.parametrize("keys", ["b", "a", "m", "x", "dd", "Enter"])
def test_cell_keys_on_a_slider_do_nothing(server, page, keys):
    open_live(page, server.address)
    before = page.locator(".jp-Cell").count(), shown(page)
    page.focus(HANDLE)
    for key in keys if keys != "Enter" else [keys]:
        page.keyboard.press(key)
    page.wait_for_timeout(300)
    assert (page.locator(".jp-Cell").count(), shown(page)) == before
    assert page.locator(".jp-MarkdownCell").count() == 1
    assert page.locator(HANDLE).is_visible()


def test_double_click_and_right_click_open_nothing(server, page):
    open_live(page, server.address)
    page.dblclick(".jp-MarkdownCell p")
    page.click(".jp-MarkdownCell p", button="right")
    page.wait_for_timeout(300)
    assert not page.locator(".jp-MarkdownCell .cm-editor").locator("visible=true").count()
    assert not page.locator(".lm-Menu").count()


def test_reload_finds_the_slider_where_it_was(server, page):
    open_live(page, server.address)
    press_and_wait(page, "ArrowRight")
    left_at = shown(page)
    runs = (server.shop / "runs.txt").read_text()
    page.reload()
    page.wait_for_selector("#shown", timeout=LIVE_WITHIN)
    assert shown(page) == left_at
    press_and_wait(page, "ArrowRight")
    assert shown(page) == left_at + 0.5
    assert (server.shop / "runs.txt").read_text() == runs


def test_kernel_is_the_interpreter_that_opened_the_page(server, page):
    open_live(page, server.address)
    assert page.inner_text("#python") == sys.executable


def test_no_sideways_scroll_on_a_phone(server, page):
    page.set_viewport_size({"width": 390, "height": 800})
    open_live(page, server.address)
    widest = page.evaluate(
        "Math.max(...[...document.querySelectorAll('html, .jp-WindowedPanel-outer')]"
        ".map(node => node.scrollWidth - node.clientWidth))"
    )
    assert widest <= 0


def test_code_is_shown_when_asked_for(server, page):
    open_live(page, server.address)
    editor = page.locator(".jp-CodeCell .cm-editor").first
    assert not editor.is_visible()
    button = page.get_by_role("button", name="Show the code")
    button.focus()
    page.keyboard.press("Enter")
    editor.wait_for(state="visible")
    page.get_by_role("button", name="Hide the code").click()
    editor.wait_for(state="hidden")


@pytest.mark.parametrize(
    ("workbook", "sentence"),
    [
        ("bad-input.ipynb", "The depth is missing."),
        ("bug.ipynb", "This page stopped here: list index out of range."),
    ],
)
def test_fault_is_one_sentence(server, page, workbook, sentence):
    page.goto(server.page_address(workbook))
    fault = page.locator(".etchcalc-fault")
    fault.wait_for(timeout=LIVE_WITHIN)
    assert fault.locator("p").inner_text() == sentence
    assert not page.get_by_text("Traceback").locator("visible=true").count()
    fault.locator("summary").click()
    assert "Traceback" in fault.locator("pre").inner_text()


def test_other_notebooks_keep_their_look(server, page):
    page.goto(server.page_address("plain.ipynb"))
    page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=LIVE_WITHIN)
    page.wait_for_timeout(1000)
    assert not page.locator(".etchcalc-live").count()
    assert not page.locator(HANDLE).count()


def test_two_tabs_run_the_cells_once_and_keep_in_step(start_server, source, context):
    server = start_server(source=source, workbook="1.ipynb")
    first, second = context.new_page(), context.new_page()
    for tab in (first, second):
        tab.goto(server.address, wait_until="commit")
    for tab in (first, second):
        tab.wait_for_selector("#shown", timeout=LIVE_WITHIN)
    press_and_wait(first, "ArrowRight")
    second.wait_for_function("document.querySelector('#shown')?.innerText === '2.0'")
    assert (server.shop / "runs.txt").read_text() == "run\n"
    assert not first.locator(".jp-Dialog").count() + second.locator(".jp-Dialog").count()


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that kills")
def test_killed_kernel_comes_back_live(start_server, source, page):
    server = start_server(source=source, workbook="1.ipynb")
    open_live(page, server.address)
    killed = page.inner_text("#pid")
    os.kill(int(killed), signal.SIGKILL)
    page.wait_for_function(
        "killed => { const pid = document.querySelector('#pid')?.innerText;"
        " return (pid && pid !== killed) || document.querySelector('.etchcalc-banner button') }",
        arg=killed,
        timeout=LIVE_WITHIN,
    )
    if page.locator(".etchcalc-banner button").count():
        page.click(".etchcalc-banner button")
        page.wait_for_selector("#shown", timeout=LIVE_WITHIN)
    assert not page.locator(".jp-Dialog").count()
    press_and_wait(page, "ArrowRight")
    assert shown(page) == 2.0


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that can be sent")
def test_ctrl_c_stops_it_without_a_question(start_server, source, page):
    server = start_server(source=source, workbook="1.ipynb")
    open_live(page, server.address)
    kernel = int(page.inner_text("#pid"))
    server.process.send_signal(signal.SIGINT)
    assert server.process.wait(15) == 0
    with pytest.raises(ProcessLookupError):
        os.kill(kernel, 0)
    banner = page.locator(".etchcalc-banner")
    banner.wait_for(timeout=LIVE_WITHIN)
    assert "Start it again" in banner.inner_text()
    assert not page.locator(".jp-Dialog").count()


@pytest.mark.skipif(os.name != "posix", reason="needs a signal that can be sent")
@pytest.mark.parametrize("seconds", [1.8, 2.6])
def test_ctrl_c_while_the_page_loads_ends_the_process(start_server, source, page, seconds):
    server = start_server(source=source, workbook="1.ipynb")
    page.goto(server.address, wait_until="commit")
    page.wait_for_timeout(seconds * 1000)
    server.process.send_signal(signal.SIGINT)
    assert server.process.wait(15) == 0
