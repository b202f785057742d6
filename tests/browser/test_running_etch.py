"""The running etch on a phone, and how the workshop's network reaches it."""

import re
import socket
import time
from datetime import datetime, timedelta

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.pages.live import opener

LIVE_WITHIN = 60_000  # ms; a loaded machine is slow
WORKBOOK = "running-etch.ipynb"


@pytest.fixture(scope="module")
def server(start_server):
    return start_server(workbook=WORKBOOK)


def opened(page, server):
    page.set_viewport_size({"width": 390, "height": 850})
    page.goto(server.address)
    page.wait_for_selector(".etch-large p", timeout=LIVE_WITHIN)
    page.wait_for_selector(".etch-running button.etch-bar:visible", timeout=LIVE_WITHIN)
    return page


def comes(so):
    """Wait until something is so."""
    end = time.monotonic() + 20
    while not so():
        assert time.monotonic() < end
        time.sleep(0.1)


def press(page, name):
    page.locator(f".etch-running button:visible:has-text('{name}')").first.click()


def test_it_runs_on_a_phone_and_outlives_a_reload(page, server, outside_requests, console_errors):
    opened(page, server)
    began = datetime.now() - timedelta(minutes=20)
    page.fill(".etch-in-in_since input", f"{began:%H:%M}")
    page.keyboard.press("Tab")
    press(page, "The plates are in")
    page.wait_for_selector(".etch-now", state="attached")
    bars = page.locator(".etch-running button:visible").all()
    assert len(bars) >= 7
    for bar in bars:
        place = bar.bounding_box()
        assert place["height"] >= 56 and place["x"] >= 0 and place["x"] + place["width"] <= 390
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    line = page.locator(".etch-large")
    assert line.get_attribute("aria-live") == "polite"
    # tilting has been due for minutes: the title says so, and the bar does by more than colour
    page.wait_for_function("document.title.startsWith('Tilt now')")
    assert "due since" in page.locator(".etch-bar-tilted").text_content()
    page.locator(".etch-bar-tilted").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("!document.title.includes('Tilt now')")
    page.wait_for_selector(".etch-bar-tilted:has-text('last')")
    said = line.text_content(), page.locator(".etch-bar-tilted").text_content()
    page.reload()
    page.wait_for_selector(".etch-now", state="attached", timeout=LIVE_WITHIN)
    assert (line.text_content(), page.locator(".etch-bar-tilted").text_content()) == said
    assert outside_requests(page) == [] and console_errors(page) == []


def test_the_gauge_opens_steps_and_is_taken_back(page, server):
    opened(page, server)
    if page.locator(".etch-running button:visible:has-text('The plates are in')").count():
        page.fill(".etch-in-in_since input", f"{datetime.now() - timedelta(minutes=20):%H:%M}")
        page.keyboard.press("Tab")
        press(page, "The plates are in")
    page.wait_for_selector(".etch-bar-gauged:visible")
    before = page.locator(".etch-large").text_content()
    press(page, "Gauge")
    box = page.locator(".etch-gauge-form .etch-in-reading_depth input")
    box.wait_for(state="visible")
    foretold = float(box.input_value().split()[0])
    page.locator(".etch-step:has-text('+')").click()
    page.wait_for_function(
        "before => parseFloat(document.querySelector('.etch-steps input').value) > before",
        arg=foretold,
    )
    assert float(box.input_value().split()[0]) == pytest.approx(foretold + 0.01)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    press(page, "Take this reading")
    page.wait_for_function(
        "before => document.querySelector('.etch-large').textContent !== before", arg=before
    )
    commission = server.shop / "commissions" / "rain-gauge-scale" / "commission.toml"
    comes(lambda: "reading_depth" in commission.read_text(encoding="utf-8"))
    press(page, "Undo: Gauged")
    page.wait_for_selector(".etch-undo:has-text('Tilted'), .etch-undo:has-text('The plates')")
    comes(lambda: "reading_depth" not in commission.read_text(encoding="utf-8"))


def test_the_bell_rings_once_for_a_new_mark_after_a_touch(page, server):
    opened(page, server)
    page.evaluate(
        """() => {
          window.tones = 0;
          const start = OscillatorNode.prototype.start;
          OscillatorNode.prototype.start = function (...at) { window.tones += 1; return start.apply(this, at); };
        }"""
    )
    put = "mark => { document.querySelector('.etch-bell-box .widget-html-content').innerHTML = mark; }"
    mark = "<span class='etch-bell' data-bell='{}' data-words='{}'></span>"
    page.evaluate(put, mark.format("", ""))
    assert page.locator(".etch-bell-silent").is_visible(), "silent until it is touched"
    page.evaluate(put, mark.format("look@60", "Look now"))
    page.wait_for_function("document.title.startsWith('Look now')")
    assert page.evaluate("window.tones") == 0
    page.locator(".etch-large").click()
    page.wait_for_selector(".etch-bell-sounds:visible")
    page.evaluate(put, mark.format("look@60 tilt@13:20:00", "Tilt now"))
    page.wait_for_function("window.tones === 3")
    page.evaluate(put, mark.format("look@60 tilt@13:20:00", "Tilt now"))
    page.evaluate(put, mark.format("look@60", "Look now"))
    page.wait_for_timeout(300)
    assert page.evaluate("window.tones") == 3, "what is known already does not ring again"


# ---- the workshop's network


def test_for_this_computer_alone_unless_it_is_asked_for(monkeypatch, tmp_path):
    bound = []

    def stop(port, address=opener.ADDRESS):
        bound.append(address)
        raise BadInput("far enough")

    monkeypatch.setattr(opener, "_usable_port", stop)
    monkeypatch.setattr(opener, "_phone", lambda source: ("192.0.2.7", "workbooks/x.ipynb"))
    for workshop in (False, True):
        with pytest.raises(BadInput, match="far enough"):
            opener.open_workbooks(tmp_path, workbook=WORKBOOK, browser=False, workshop=workshop)
    assert bound == ["127.0.0.1", "0.0.0.0"]


def test_the_phone_is_told_the_address_its_square_code_and_what_that_means():
    said = []
    address = "http://192.0.2.7:8888/doc/tree/workbooks/running-etch.ipynb?token=" + "0a" * 24
    opener._tell_the_phone(said.append, address)
    assert said[0] == f"On the phone: {address}"
    assert "anyone in it who has this address" in said[2] and "It ends when you stop it." in said[2]
    rows = said[1].splitlines()
    light = {"█": "11", "▀": "10", "▄": "01", " ": "00"}
    pixels = [[light[sign][half] for sign in row] for row in rows for half in (0, 1)]
    # the finder of a square code: rings 7, 5 and 3 wide, inside four light modules (ISO/IEC 18004)
    finder = ["".join(row[4:11]) for row in pixels[4:11]]
    assert finder == ["0000000", "0111110", "0100010", "0100010", "0100010", "0111110", "0000000"]
    assert {len(row) for row in rows} == {len(rows[0])} and abs(len(rows[0]) - 2 * len(rows)) <= 1
    assert len(rows[0]) <= 79, "it fits a terminal"


def test_a_computer_in_no_network_gets_a_sentence(monkeypatch, tmp_path):
    class Alone(socket.socket):
        def connect(self, address):
            raise OSError("Network is unreachable")

    monkeypatch.setattr(opener.socket, "socket", Alone)
    with pytest.raises(BadInput, match="in no network"):
        opener.open_workbooks(tmp_path, workbook=WORKBOOK, browser=False, workshop=True)


def test_the_first_page_of_the_phone_is_the_running_etch(monkeypatch):
    class Near(socket.socket):
        def connect(self, address):
            assert address == ("192.0.2.1", 9)  # set apart for documents (RFC 5737)

        def getsockname(self):
            return ("198.51.100.4", 40000)

    monkeypatch.setattr(opener.socket, "socket", Near)
    host, page = opener._phone(opener.workbooks.workbooks_folder())
    assert host == "198.51.100.4" and re.fullmatch(r"workbooks/running-etch\.ipynb", page)
