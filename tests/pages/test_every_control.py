"""Every box of every workbook taken to both ends and beyond: a figure, or one sentence, never a fault."""

import numpy as np
import pytest

from etchcalc.job.shop import Shop
from etchcalc.pages.panels import BathAndTime, Bench, FilmDesk, JobSheet, RecordsAndPrice
from etchcalc.pages.panels.controls import Typed

PANELS = (JobSheet, FilmDesk, BathAndTime, Bench, RecordsAndPrice)


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    """Let what follows a moment later not follow at all: it is tried by each panel's own tests."""
    monkeypatch.setattr("etchcalc.pages.panels.controls.Later.__call__", lambda self: None)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return Shop(tmp_path_factory.mktemp("every") / "shop")


def texts(entry):
    """Both ends as a person might type them, and beyond."""
    unit = {"degC": "°C"}.get(f"{entry.unit:~}", f"{entry.unit:~}")
    ends = [entry.low, entry.high]
    within = [end for end in ends if np.isfinite(end)]
    beyond = [end - abs(end) - 1 if end == entry.low else 2 * end + 1 for end in within]
    return [f"{end:.10g} {unit}".strip() for end in (*within, *beyond)]


@pytest.mark.parametrize("make", PANELS, ids=lambda m: m.__name__)
def test_every_box_takes_its_ends_or_says_why_not(make, shop):
    panel = make(shop)
    tried = 0
    for control in [c for c in panel._controls() if isinstance(c, Typed)]:
        before = control.box.value
        for text in texts(control.term):
            control.box.value = text
            said = control.says.value
            assert "Traceback" not in said and said.count("role='alert'") <= 1
            assert not said or len(said) < 900, "one sentence"
            tried += 1
        control.box.value = before
        assert "alert" not in control.says.value, f"{control.name} came back"
    assert tried or make is FilmDesk
