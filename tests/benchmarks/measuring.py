"""What the benchmarks of the live pages share: a server, a browser, a process apart.

The benchmarks are scripts: ``python tests/benchmarks/NAME.py`` prints one
``name: value`` a line and asserts nothing.
"""

import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

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
COMMAND = [sys.executable, "-m", "etchcalc.pages.cli"]
ADDRESS = "Open this address: "
HANDLE = ".etch-slider .noUi-handle"
STARTS_WITHIN = 120  # seconds; a loaded machine is slow
STOPS_WITHIN = 20
LIVE_WITHIN = 120_000  # ms


@dataclass
class Server:
    """A running server: where its first page is, and its process."""

    address: str
    process: subprocess.Popen


def tell(name: str, value: float, digits: int = 1) -> None:
    """Print one figure."""
    print(f"{name}: {value:.{digits}f}", flush=True)


def apart(function: Callable[[], Any]) -> Any:
    """Return what a function gives in a fresh process of its own."""
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(max_workers=1, mp_context=fresh) as pool:
        return pool.submit(function).result()


@contextmanager
def fresh_folder() -> Iterator[Path]:
    """Give an empty folder, gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="etchcalc-", ignore_cleanup_errors=True) as folder:
        yield Path(folder)


def open_command(shop: Path) -> list[str]:
    """Return the command that opens the workbooks on a shop, without a browser."""
    return [*COMMAND, "open", "--no-browser", "--shop", str(shop)]


@contextmanager
def served(command: Sequence[str]) -> Iterator[Server]:
    """Run a command that opens workbooks until its page is no longer wanted."""
    process = subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        env=without_proxies(),
        text=True,
    )
    try:
        yield Server(_address(process), process)
    finally:
        _end(process)


def without_proxies() -> dict[str, str]:
    """Return the environment without what would lead requests away from this machine."""
    kept = {name: value for name, value in os.environ.items() if "proxy" not in name.lower()}
    return kept | {"PYTHONUNBUFFERED": "1"}


def _address(process: subprocess.Popen) -> str:
    """Read a server's lines until the address is among them."""
    too_late = threading.Timer(STARTS_WITHIN, process.kill)
    too_late.start()
    try:
        for line in process.stdout:
            if line.startswith(ADDRESS):
                return line.removeprefix(ADDRESS).strip()
    finally:
        too_late.cancel()
    raise RuntimeError("The server ended, or was too slow, before it told its address.")


def _end(process: subprocess.Popen) -> None:
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
    process.stdout.close()


@contextmanager
def chromium() -> Iterator[Any]:
    """Give a running Chromium, driven by Playwright."""
    from playwright.sync_api import sync_playwright

    found = [shutil.which(name) for name in ("chromium", "chromium-browser", "google-chrome")]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=next(filter(None, found), None), args=CHROMIUM_FLAGS
        )
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def fresh_page(browser: Any) -> Iterator[Any]:
    """Give a page of a fresh profile; the profile keeps what was asked for in ``requested``."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.requested = []
    context.on("request", lambda request: context.requested.append(request.url))
    context.on("page", lambda page: page.on("websocket", lambda s: context.requested.append(s.url)))
    try:
        yield context.new_page()
    finally:
        context.close()


def open_live(page: Any, address: str, handle: str = HANDLE) -> None:
    """Open a page and wait until its first slider is there; nothing is pressed."""
    page.goto(address, wait_until="commit")
    page.locator(handle).first.wait_for(state="visible", timeout=LIVE_WITHIN)


def outside_requests(page: Any) -> list[str]:
    """Return what a page, and others of its profile, asked for beyond this machine."""
    return [url for url in page.context.requested if not _is_inside(url)]


def _is_inside(url: str) -> bool:
    parts = urlsplit(url)
    if parts.scheme in ("data", "blob", "about"):
        return True
    return parts.hostname in ("127.0.0.1", "localhost", "::1")
