"""What every test shares: a shop of its own, so that nobody's folder is touched; who runs where."""

import os
import tempfile

import pytest
from xdist.scheduler import LoadScopeScheduling

# before any kernel of a workbook test starts: it opens the demonstration in an empty shop
_SHOP = tempfile.TemporaryDirectory(prefix="etchcalc-tests-", ignore_cleanup_errors=True)
os.environ["ETCHCALC_SHOP"] = _SHOP.name

BROWSER = "tests/browser/"


class ByFile(LoadScopeScheduling):
    """Keeps a file's tests in one process, and all that open a browser.

    A notebook's cells run one after the other, and two browsers would make each other late.
    """

    def _split_scope(self, nodeid: str) -> str:
        return BROWSER if nodeid.startswith(BROWSER) else nodeid.split("::", 1)[0]


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Share the tests out by file, in the order of their collection."""
    config.option.loadscopereorder = False
    return ByFile(config, log)


def pytest_collection_modifyitems(config, items):
    """Begin with the browser's tests where there are several processes: they take longest."""
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: not item.nodeid.startswith(BROWSER))
