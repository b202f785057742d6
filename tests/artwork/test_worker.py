import hashlib
import io
import json
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image

from etchcalc.artwork import worker
from etchcalc.artwork.film import film_of
from etchcalc.artwork.preview import preview
from etchcalc.artwork.worker import measure_drawing
from etchcalc.core.faults import BadInput

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10">'
    '<rect x="2" y="2" width="10" height="0.5"/></svg>'
)


@pytest.fixture
def plate(tmp_path):
    path = tmp_path / "plate.svg"
    path.write_text(SVG)
    return path


def child(monkeypatch, code):
    monkeypatch.setattr(worker, "_COMMAND", (sys.executable, "-c", code))


def test_a_drawing_is_measured_in_a_child(plate):
    drawing = measure_drawing(plate, width=20, height=10)
    assert drawing.measures.open_area == pytest.approx(5, abs=0.3)
    assert drawing.measures.narrowest_line == pytest.approx(0.5, abs=0.022)
    assert drawing.digest == hashlib.sha256(SVG.encode()).hexdigest()
    with Image.open(io.BytesIO(drawing.preview)) as image:
        pixels = np.asarray(image.convert("RGBA"))
    assert pixels.shape[1] <= 900
    assert tuple(pixels[-1, -1])[3] == 0
    row, column = (round(side * pixels.shape[1] / 20) for side in (2.25, 7))
    assert tuple(pixels[row, column]) == (0x1F, 0x2A, 0x30, 255)
    assert len(drawing.preview) < 30_000


def test_the_kept_side(plate):
    drawing = measure_drawing(plate, width=20, height=10, black="kept")
    assert drawing.measures.open_fraction == pytest.approx(1 - 5 / 200, abs=0.002)
    with pytest.raises(ValueError, match="'etched' or 'kept'"):
        measure_drawing(plate, width=20, height=10, black="grey")


def test_a_preview_averages_down():
    black = np.zeros((10, 1000), bool)
    black[:, 501:] = True
    with Image.open(io.BytesIO(preview(film_of(black)))) as image:
        shades = np.asarray(image.convert("RGBA"))[0, :, 3]
    assert (len(shades), shades[249], shades[250], shades[251]) == (500, 0, 136, 255)


def test_the_caller_stays_small():
    code = (
        "import sys, etchcalc.artwork.worker\n"
        "print([m for m in ('scipy', 'PIL', 'resvg_py', 'matplotlib') if m in sys.modules])"
    )
    seen = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert seen.stdout.strip() == "[]"


def test_a_refusal_comes_through_as_it_is(plate):
    with pytest.raises(BadInput, match="The drawing is 20 × 10 mm but the plate is 30 × 10 mm"):
        measure_drawing(plate, width=30, height=10)


def test_a_missing_drawing(tmp_path):
    with pytest.raises(BadInput, match=r"none\.svg cannot be opened"):
        measure_drawing(tmp_path / "none.svg", width=20, height=10)


@pytest.mark.parametrize(
    "code",
    [
        "import os; os.abort()",
        "raise MemoryError",
        "print('not JSON')",
        "print('[]')",
    ],
)
def test_a_crash_is_one_sentence(plate, monkeypatch, code):
    child(monkeypatch, code)
    with pytest.raises(BadInput, match="made the renderer break off") as caught:
        measure_drawing(plate, width=20, height=10)
    assert "\n" not in str(caught.value)


def test_a_hang_is_ended(plate, monkeypatch):
    child(monkeypatch, "import time; time.sleep(60)")
    with pytest.raises(BadInput, match=r"was not measured within 0\.5 s"):
        measure_drawing(plate, width=20, height=10, timeout=0.5)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="limits are the system's")
def test_a_child_that_eats_memory_ends(plate, monkeypatch):
    child(
        monkeypatch,
        "from etchcalc.artwork import worker; worker._limit_memory(); bytearray(3 * 2**30)",
    )
    with pytest.raises(BadInput, match="break off"):
        measure_drawing(plate, width=20, height=10)


def test_copies_of_copies_do_not_take_the_caller_along(tmp_path):
    groups = "".join(
        f'<g id="g{i}">' + f'<use href="#g{i - 1}"/>' * 10 + "</g>" for i in range(1, 9)
    )
    head, rest = SVG.split("<rect", 1)
    path = tmp_path / "copies.svg"
    path.write_text(f'{head}<defs><g id="g0"><rect{rest[:-6]}</g>{groups}</defs>'
                    '<use href="#g8"/></svg>')  # fmt: skip
    with pytest.raises(BadInput, match="nodes limit reached"):
        measure_drawing(path, width=20, height=10, timeout=5)


def test_the_cache_is_used_and_a_broken_one_is_not(plate, tmp_path, monkeypatch):
    cache = tmp_path / "cache"
    first = measure_drawing(plate, width=20, height=10, cache=cache)
    (kept,) = cache.iterdir()
    assert kept.suffix == ".json"
    assert json.loads(kept.read_text())["measures"]["open_area"] == first.measures.open_area
    with monkeypatch.context() as patched:
        child(patched, "raise SystemExit(1)")
        assert measure_drawing(plate, width=20, height=10, cache=cache) == first
        with pytest.raises(BadInput):  # another question is not answered from it
            measure_drawing(plate, width=20, height=10, black="kept", cache=cache)
    for broken in ("", "{", "[]", '{"measures": {}, "preview": ""}', '{"measures": 1}'):
        kept.write_text(broken)
        assert measure_drawing(plate, width=20, height=10, cache=cache) == first
        assert json.loads(kept.read_text())["measures"]["open_area"] == first.measures.open_area


def test_a_cache_that_cannot_be_written_is_no_fault(plate, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert measure_drawing(plate, width=20, height=10, cache=blocked).measures.narrowest_line
