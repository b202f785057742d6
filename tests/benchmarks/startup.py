"""From a command to its result: the panels imported, a plan worked out, a page live.

``import_ms``
    ``import etchcalc.pages.panels`` in a fresh interpreter, the interpreter's
    own start taken off.
``plan_seconds``
    ``etchcalc plan --out FOLDER`` on the demonstration, from start to exit.
``open_seconds``
    ``etchcalc open`` on a fresh shop until the first slider can be seen in the
    browser, nothing pressed. The browser is running already.
``memory_mib_per_kernel``
    The kernel of the open job sheet: its own memory and its share of what is
    shared with others (where the system tells that, else all that is resident).

Medians. Each is run once beforehand, uncounted, so that compiled files and the
units' cache are there, as they are on all days but the first.
"""

import statistics
import subprocess
import sys
import time
from typing import Any

import measuring
import psutil

IMPORTS = PLANS = 5
OPENINGS = 3
SETTLING = 2000  # ms from the first slider to the kernel's rest


def seconds_of(command: list[str]) -> float:
    """Return the seconds of a command from its start to its exit."""
    begun = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def import_ms() -> float:
    """Return the milliseconds that the import of the panels adds to a fresh interpreter."""
    bare, full = ([sys.executable, "-c", code] for code in ("pass", "import etchcalc.pages.panels"))
    seconds_of(full)
    pairs = [(seconds_of(bare), seconds_of(full)) for _ in range(IMPORTS)]
    start, whole = map(statistics.median, zip(*pairs, strict=True))
    return (whole - start) * 1000


def plan_seconds() -> float:
    """Return the seconds of a plan of the demonstration, record and all."""
    taken = []
    for _ in range(1 + PLANS):
        with measuring.fresh_folder() as folder:
            taken.append(seconds_of([*measuring.COMMAND, "plan", "--out", str(folder)]))
    return statistics.median(taken[1:])


def opened(browser: Any) -> tuple[float, float]:
    """Return the seconds of one opening on a fresh shop, and its kernel's MiB."""
    with measuring.fresh_folder() as shop, measuring.fresh_page(browser) as page:
        begun = time.perf_counter()
        with measuring.served(measuring.open_command(shop)) as server:
            measuring.open_live(page, server.address)
            taken = time.perf_counter() - begun
            page.wait_for_timeout(SETTLING)
            return taken, memory_mib(kernel_of(server.process.pid))


def kernel_of(server: int) -> psutil.Process:
    """Return the kernel among a server's children."""
    children = psutil.Process(server).children(recursive=True)
    (kernel,) = (child for child in children if "ipykernel_launcher" in child.cmdline())
    return kernel


def memory_mib(process: psutil.Process) -> float:
    """Return a process's memory in MiB."""
    if sys.platform == "linux":
        return process.memory_full_info().pss / 2**20
    return process.memory_info().rss / 2**20


def main() -> None:
    """Measure and print."""
    measuring.tell("import_ms", import_ms(), 0)
    measuring.tell("plan_seconds", plan_seconds(), 2)
    with measuring.chromium() as browser:
        openings = [opened(browser) for _ in range(1 + OPENINGS)]
    seconds, memories = zip(*openings[1:], strict=True)
    measuring.tell("open_seconds", statistics.median(seconds), 2)
    measuring.tell("memory_mib_per_kernel", statistics.median(memories))


if __name__ == "__main__":
    main()
