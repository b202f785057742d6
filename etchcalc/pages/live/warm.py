"""Import beforehand what a page will need; run in each kernel as it starts.

So the imports, the slowest part of a page's cells, are done while the browser
still loads JupyterLab. In the kernel and not before it, because ipywidgets
registers with the kernel when it is imported. Should it fail, the page's own
cell fails the same way, and says so.
"""

import asyncio
import contextlib
import gc
import importlib
import sys

SETTLED_AFTER = 8  # seconds: the page is open and its plots are drawn

with contextlib.suppress(Exception):
    importlib.import_module("etchcalc.pages.panels")

# The thread that sends waits for the interpreter while the rest of a move is worked out: asked for
# more often, the answers leave some five milliseconds sooner.
sys.setswitchinterval(0.0005)


def settle() -> None:
    """Leave what the page stands on out of the sweeps for garbage, and let these come seldom.

    A sweep among all that is imported takes a tenth of a second, and comes while a slider moves.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


with contextlib.suppress(RuntimeError):  # where no loop runs, no page is open
    asyncio.get_running_loop().call_later(SETTLED_AFTER, settle)
