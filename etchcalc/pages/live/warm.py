"""Import beforehand what a page will need; run in each kernel as it starts.

So the imports, the slowest part of a page's cells, are done while the browser
still loads JupyterLab. In the kernel and not before it, because ipywidgets
registers with the kernel when it is imported. Should it fail, the page's own
cell fails the same way, and says so.
"""

import contextlib
import importlib
import sys

with contextlib.suppress(Exception):
    importlib.import_module("etchcalc.pages.panels")

# The thread that sends waits for the interpreter while the rest of a move is worked out: asked for
# more often, the answers leave some five milliseconds sooner.
sys.setswitchinterval(0.0005)
