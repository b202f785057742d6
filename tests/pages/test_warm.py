"""What a page's kernel does when it starts."""

import subprocess
import sys

# a loop as in a kernel; a process of its own, whose sweeps are nobody else's
STARTED = """
import asyncio, gc

async def started():
    before = gc.get_threshold()
    from etchcalc.pages.live import warm
    assert gc.get_freeze_count() == 0, "the page has not been built yet"
    loop = asyncio.get_running_loop()
    (timer,) = [t for t in loop._scheduled if t._callback is warm.settle]
    assert 0 < timer.when() - loop.time() <= warm.SETTLED_AFTER
    timer._run()
    assert gc.get_freeze_count() > 50_000, "what was imported is swept no more"
    assert gc.get_threshold()[0] > before[0]

asyncio.run(started())
"""


def test_what_was_imported_is_left_out_of_the_sweeps_once_the_page_is_open():
    subprocess.run([sys.executable, "-W", "error", "-c", STARTED], check=True, timeout=120)


def test_a_kernel_without_a_loop_starts_all_the_same():
    code = "from etchcalc.pages.live import warm; import gc; assert gc.get_freeze_count() == 0"
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True, timeout=120)
