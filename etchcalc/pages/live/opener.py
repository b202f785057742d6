"""Open the workbooks: one server, one page, live without a key pressed."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import io
import logging
import os
import secrets
import signal
import socket
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

from etchcalc.core.faults import BadInput
from etchcalc.pages.live import workbooks
from etchcalc.pages.live.surroundings import KERNEL, Surroundings

Announce = Callable[[str], object]

#: Reachable from this machine only.
LARGEST_FILE = 512 * 2**20  # bytes
ADDRESS = "127.0.0.1"
#: Reachable from the workshop's network too.
EVERYWHERE = "0.0.0.0"
PHONE_PAGE = "running-etch.ipynb"
#: An address set apart for documents: asking for the way there sends nothing.
_NOWHERE = ("192.0.2.1", 9)
IN_THE_WORKSHOP = (
    "Open to the workshop's network: anyone in it who has this address can use and change the workbooks, and "
    "through them whatever you can change on this computer. Only in a network that you trust: what is sent is "
    "not encrypted. It ends when you stop it."
)
COPIES = "workbooks"  # the folder of working copies in the shop

#: Seconds given to what is still going on when the server is stopped.
STOPS_WITHIN = 3

NO_BROWSER = "No web browser could be started here; open the address yourself."


def open_workbooks(
    shop: Path,
    *,
    workbook: str = "1-job-sheet.ipynb",
    port: int = 0,
    browser: bool = True,
    workshop: bool = False,
    announce: Announce = print,
    source: Path | None = None,
) -> None:
    """Open the workbooks on the shop's folder, live, until Ctrl-C.

    Parameters
    ----------
    shop
        The shop's folder; made if need be. The working copies of the workbooks
        go into its ``workbooks``.
    workbook
        The workbook to begin with.
    port
        The port to listen on; 0 takes any that is free.
    browser
        Whether to open the page in the web browser.
    workshop
        Whether to open to the workshop's network too, for a phone beside the bath; the token is
        asked for in any case.
    announce
        Called with each line for the maker.
    source
        The folder of workbooks to copy; by default the installed ones.

    Raises
    ------
    BadInput
        The folder cannot be written, the port is taken, there is no such workbook, or this
        computer is in no network that a phone could reach it by.
    """
    shop = Path(shop).expanduser().absolute()
    source = source or workbooks.workbooks_folder()
    _spare_a_slow_import()
    page = f"{COPIES}/{workbooks.find_workbook(source, workbook)}"
    phone = _phone(source) if workshop else None
    port = _usable_port(port, EVERYWHERE if workshop else ADDRESS)
    for copy in workbooks.make_working_copies(source, shop / COPIES):
        announce(f"You had changed a workbook; your version is kept as {copy.name}.")
    with (
        tempfile.TemporaryDirectory(prefix="etchcalc-", ignore_cleanup_errors=True) as folder,
        Surroundings(Path(folder)).entered(shop),
    ):
        # The whole shop is served, so that a page can link to a commission's record.
        server = _make_server(
            Surroundings(Path(folder)), shop, port, EVERYWHERE if workshop else ADDRESS
        )
        try:
            _run(server, page, announce, browser, phone)
        finally:
            type(server).clear_instance()


def _spare_a_slow_import() -> None:
    """Keep a grammar for one format check of web addresses from being compiled.

    It takes 0.8 to 1.8 s of the start, before the first line of the server is
    run. The validator that asks for it does without when it cannot be imported.
    """
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]


def _phone(source: Path) -> tuple[str, str]:
    """Return this computer's address in its network, and the page that a phone opens there.

    Raises
    ------
    BadInput
        There is no network, or no such page.
    """
    page = workbooks.find_workbook(source, PHONE_PAGE)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_NOWHERE)
            host = str(way.getsockname()[0])
        except OSError:
            host = ADDRESS
    if host.startswith("127."):
        raise BadInput(
            "This computer is in no network: join it to the workshop's, or open without it, for this "
            "computer alone."
        )
    return host, f"{COPIES}/{page}"


def square_code(address: str) -> str:
    """Return an address as a square code of characters, for a phone's camera."""
    import segno

    drawn = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out=drawn, compact=True)
    return drawn.getvalue().rstrip("\n")


def _tell_the_phone(announce: Announce, address: str) -> None:
    """Announce the phone's address as text and as a square code, and what it opens to whom."""
    _tell(announce, f"On the phone: {address}")
    try:
        _tell(announce, square_code(address))
    except UnicodeEncodeError:  # a console of few letters
        _tell(announce, "This window cannot draw the square code; type the address.")
    _tell(announce, IN_THE_WORKSHOP)


def _usable_port(port: int, address: str = ADDRESS) -> int:
    """Return `port`, or a free one for 0, or raise if it cannot be listened on."""
    with socket.socket() as probe:
        if os.name == "posix":
            # As the server will: else a port that was just let go counts as taken.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except OverflowError:
            raise BadInput(f"{port} is not a port: give a number from 1024 to 65535.") from None
        except OSError as error:
            taken = error.errno == errno.EADDRINUSE
            why = "is used by another program" if taken else "may not be used here"
            raise BadInput(
                f"Port {port} {why}: choose another, or leave it out to take any that is free."
            ) from error
        return int(probe.getsockname()[1])


def _make_server(surroundings: Surroundings, root: Path, port: int, address: str = ADDRESS) -> Any:
    """Return JupyterLab's server, ready to start, serving the shop in `root`."""
    from jupyterlab.labapp import LabApp
    from traitlets.config import Config

    surroundings.write_kernel()
    server = LabApp.make_serverapp(
        config=Config(_server_settings(surroundings, root, port, address)),
        # No other server extension is looked for: no terminals, no language servers.
        jpserver_extensions={"jupyterlab": True},
    )
    server.initialize(argv=[], starter_extension=LabApp.name, find_extensions=False)
    return server


def _server_settings(
    surroundings: Surroundings, root: Path, port: int, address: str
) -> dict[str, Any]:
    """Return the settings that differ from run to run; the fixed ones lie in ``lab/``."""
    return {
        "ServerApp": {
            "allow_root": True,
            "ip": address,
            "log_level": "ERROR",
            "no_browser_open_file": True,
            "open_browser": False,
            "port": port,
            "port_retries": 0,
            "root_dir": str(root),
            # a film that is brought in comes as one message
            "tornado_settings": {"websocket_max_message_size": LARGEST_FILE},
        },
        "IdentityProvider": {"token": secrets.token_hex(24)},
        "FileCheckpoints": {"checkpoint_dir": str(surroundings.subfolder("checkpoints"))},
        "LabApp": {
            "app_settings_dir": str(surroundings.subfolder("app-settings")),
            "extra_labextensions_path": [str(surroundings.labextensions)],
            "log_level": "ERROR",
            "user_settings_dir": str(surroundings.subfolder("settings")),
            "workspaces_dir": str(surroundings.subfolder("workspaces")),
        },
    }


def _run(
    server: Any, page: str, announce: Announce, browser: bool, phone: tuple[str, str] | None = None
) -> None:
    """Run the server until it is stopped, showing `page` as soon as it answers."""

    def address_of(host: str, page: str) -> str:
        token = server.identity_provider.token
        return f"http://{host}:{server.port}/doc/tree/{quote(page)}?token={token}"

    address = address_of(ADDRESS, page)

    def answering() -> None:
        _tell(announce, f"Open this address: {address}")
        if phone:
            _tell_the_phone(announce, address_of(*phone))
        _tell(announce, "Stop with Ctrl-C")
        if browser:
            threading.Thread(target=_show, args=(address, announce), daemon=True).start()

    server.io_loop.add_callback(_start_kernel, server, page)
    server.io_loop.add_callback(answering)
    for handler in server.log.handlers:
        handler.addFilter(_is_worth_telling)
    server.io_loop.asyncio_loop.set_exception_handler(_report)
    with _stopped_by_ctrl_c(server):
        server.start()
        _finish_tasks(server.io_loop.asyncio_loop)


def _finish_tasks(loop: asyncio.AbstractEventLoop) -> None:
    """End what the server was still doing for a page when it was stopped.

    Threads that wait for a task left unfinished would keep the process from
    ending: Ctrl-C while a page loads.
    """
    tasks = asyncio.all_tasks(loop)
    for task in tasks:
        task.cancel()
    if tasks:
        loop.run_until_complete(asyncio.wait(tasks, timeout=STOPS_WITHIN))
    for task in tasks:
        if task.done() and not task.cancelled():
            task.exception()  # looked at, or asyncio would print it


def _is_worth_telling(record: logging.LogRecord) -> bool:
    """Return whether an error of the server is one: a page that was left early is not."""
    return not (record.exc_info and _is_closed_page(record.exc_info[1]))


def _report(loop: asyncio.AbstractEventLoop, fault: dict[str, Any]) -> None:
    """Report what went wrong in the background, except for pages that were closed."""
    if not _is_closed_page(fault.get("exception")):
        loop.default_exception_handler(fault)


def _is_closed_page(error: BaseException | None) -> bool:
    """Return whether `error` only says that a page went away while it was written to."""
    return type(error).__name__ in ("StreamClosedError", "WebSocketClosedError")


@contextlib.contextmanager
def _stopped_by_ctrl_c(server: Any) -> Any:
    """Let Ctrl-C, or a request to end, stop the server and its kernels without a question."""

    def stop(number: int, _frame: object) -> None:
        # Pressed again, it ends the process at once; the kernels notice and follow.
        signal.signal(number, signal.default_int_handler)
        for handler in server.log.handlers:  # what is cut short is no error now
            handler.setLevel(logging.CRITICAL + 1)
        server.io_loop.asyncio_loop.set_exception_handler(lambda *_: None)
        server.stop(from_signal=True)

    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    for number in before:
        signal.signal(number, stop)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


async def _start_kernel(server: Any, page: str) -> None:
    """Start the kernel of `page` before the page asks for it.

    Its execution count stays at 0, by which the page knows that its cells have
    not been run. Should this fail, the page starts its own kernel, only later.
    """
    with contextlib.suppress(Exception):
        await server.session_manager.create_session(
            path=page, name=page.rpartition("/")[2], type="notebook", kernel_name=KERNEL
        )


def _show(address: str, announce: Announce) -> None:
    """Open `address` in the web browser, or say that it cannot be done."""
    opened = False
    if _has_screen():
        with contextlib.suppress(webbrowser.Error):
            opened = webbrowser.open(address)
    if not opened:
        _tell(announce, NO_BROWSER)


def _has_screen() -> bool:
    """Return whether a browser would have a window to open.

    Without one, a browser for the terminal may be found, which can show no page
    of ours and takes the terminal with it.
    """
    if sys.platform in ("win32", "darwin") or os.environ.get("BROWSER"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _tell(announce: Announce, line: str) -> None:
    """Announce one line at once, even where output is collected in blocks."""
    announce(line)
    sys.stdout.flush()
