"""What the panels' tests share: no event loop, a shop whose demonstration is measured already."""

import shutil

import pytest

from etchcalc.job.shop import Shop
from etchcalc.pages.panels import JobSheet


@pytest.fixture(autouse=True, scope="module")
def without_a_loop():
    """Let what follows a moment later follow at once: a browser test may have left a loop."""

    def no_loop():
        raise RuntimeError

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("etchcalc.pages.panels.controls.asyncio.get_running_loop", no_loop)
        yield


@pytest.fixture(scope="session")
def measured(tmp_path_factory):
    """The folder of a shop in which the demonstration's drawing is measured already; copy it."""
    root = tmp_path_factory.mktemp("measured") / "shop"
    JobSheet(Shop(root))
    return root


@pytest.fixture
def shop(tmp_path, measured):
    """A shop of the test's own."""
    return Shop(shutil.copytree(measured, tmp_path / "shop"))
