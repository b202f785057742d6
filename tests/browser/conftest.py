"""A live server and a web browser for the tests in this folder.

``live_server``
    The installed workbooks, opened as a maker opens them; one for each test file.
``start_server``
    A function that opens any folder of workbooks on any shop:
    ``start_server(source=FOLDER, workbook="1.ipynb")``; one of its own for each call.
``page``
    A fresh page of Chromium, 1280 px wide. It keeps what it asked for and what
    went wrong; ``outside_requests(page)`` and ``console_errors(page)`` tell.

Without Chromium these tests are skipped, or fail where the environment says
``ETCHCALC_REQUIRE_BROWSER=1``. No test may need the network.
"""

import contextlib
import os
import queue
import shutil
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest

sys.path.append(str(Path(__file__).parent))
from diary import KEPT, Diary

CHROMIUM_FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
STARTS_WITHIN = 60  # seconds; a loaded machine is slow
STOPS_WITHIN = 20

OPEN = """
import pathlib, sys
from etchcalc.pages.live.opener import open_workbooks
shop, workbook, source = sys.argv[1:]
source = pathlib.Path(source) if source else None
open_workbooks(pathlib.Path(shop), workbook=workbook, source=source, browser=False)
"""


@dataclass
class LiveServer:
    """A running server: where its first page is, whose shop it serves, its process."""

    address: str
    shop: Path
    process: subprocess.Popen

    def page_address(self, workbook: str) -> str:
        """Return the address of another workbook on the same server."""
        parts = urlsplit(self.address)
        return f"{parts.scheme}://{parts.netloc}/doc/tree/workbooks/{workbook}?{parts.query}"


@pytest.fixture(scope="session")
def start_server(tmp_path_factory):
    """Give a function that opens workbooks; all that it started is ended at the end."""
    processes = []

    def start(source=None, workbook="1-job-sheet.ipynb", shop=None, environment=None):
        shop = shop or tmp_path_factory.mktemp("shop")
        process = subprocess.Popen(
            [sys.executable, "-c", OPEN, str(shop), workbook, str(source or "")],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            env=_server_environment(environment or {}),
            text=True,
        )
        processes.append(process)
        return LiveServer(_address(process), shop, process)

    yield start
    for process in processes:
        _end(process)


@pytest.fixture(scope="module")
def live_server(start_server):
    """Open the installed workbooks on an empty shop."""
    server = start_server()
    yield server
    _end(server.process)


def _server_environment(more):
    kept = {name: value for name, value in os.environ.items() if "proxy" not in name.lower()}
    return kept | {"PYTHONUNBUFFERED": "1"} | more


def _address(process):
    """Read the server's lines, in a thread of their own, until the address is among them."""
    lines = queue.Queue()

    def read():
        for line in process.stdout:
            lines.put(line)
        lines.put(None)
        process.stdout.close()

    threading.Thread(target=read, daemon=True).start()
    seen = []
    deadline = time.monotonic() + STARTS_WITHIN
    while (left := deadline - time.monotonic()) > 0:
        with contextlib.suppress(queue.Empty):
            line = lines.get(timeout=left)
            if line is None:
                break
            seen.append(line)
            if line.startswith("Open this address: "):
                return line.partition(": ")[2].strip()
    _end(process)
    pytest.fail(f"the server did not start; it said: {''.join(seen)}")


def _end(process):
    """Stop a server as Ctrl-C does, or by force if that takes too long; kernels follow."""
    if process.poll() is None:
        if os.name == "posix":
            process.send_signal(signal.SIGINT)
        else:
            process.terminate()
        try:
            process.wait(STOPS_WITHIN)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@pytest.fixture(scope="session")
def browser():
    """Start Chromium, driven by Playwright, with a profile of its own."""
    found = [shutil.which(name) for name in ("chromium", "chromium-browser", "google-chrome")]
    program = next(filter(None, found), None)
    if program is None:
        if os.environ.get("ETCHCALC_REQUIRE_BROWSER") == "1":
            pytest.fail("Chromium is not installed, and ETCHCALC_REQUIRE_BROWSER asks for it")
        pytest.skip("Chromium is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=CHROMIUM_FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def context(browser):
    """Give a fresh browser profile, 1280 px wide, that keeps what its pages ask for and say."""
    fresh = browser.new_context(viewport={"width": 1280, "height": 900})
    fresh.requested, fresh.said = [], []
    KEPT[:] = [Diary(fresh)]
    fresh.on("request", lambda request: fresh.requested.append(request.url))
    fresh.on("console", lambda message: _keep_error(fresh, message))
    fresh.on("weberror", lambda error: fresh.said.append(str(error.error)))
    yield fresh
    fresh.close()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Add to a failure what the page did before it."""
    report = yield
    if report.failed and call.when != "teardown":
        report.sections += [("a page's diary", diary.told()) for diary in KEPT]
    return report


def _keep_error(context, message):
    if message.type == "error":
        context.said.append(message.text)


@pytest.fixture
def page(context):
    """Give a fresh page."""
    return context.new_page()


@pytest.fixture(scope="session")
def outside_requests():
    """Give a function: what a page, and others of its context, asked for beyond this machine."""

    def outside(page):
        return [url for url in page.context.requested if not _is_inside(url)]

    return outside


def _is_inside(url):
    parts = urlsplit(url)
    if parts.scheme in ("data", "blob", "about"):
        return True
    return parts.hostname in ("127.0.0.1", "localhost", "::1")


@pytest.fixture(scope="session")
def console_errors():
    """Give a function: the errors that a page, and others of its context, wrote or raised."""
    return lambda page: list(page.context.said)
