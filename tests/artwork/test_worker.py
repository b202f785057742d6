"""The process with limits, seen from outside: answers, crashes, hangs, cancelling."""

import base64
import io
import subprocess
import sys
import threading
import time

import numpy as np
import pytest
from PIL import Image

from etchcalc.artwork import worker
from etchcalc.artwork.film import film_of
from etchcalc.artwork.pictures import preview
from etchcalc.artwork.worker import Cancelled, Worker
from etchcalc.core.faults import BadInput

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10">'
    '<rect x="2" y="2" width="10" height="0.5"/></svg>'
)


@pytest.fixture
def plate(tmp_path):
    path = tmp_path / "plate.svg"
    path.write_text(SVG)
    return {"path": str(path), "width": 20, "height": 10}


@pytest.fixture
def bench():
    own = Worker()
    yield own
    own.close()


READY = "print('{\"ready\": true}', flush=True)\n"


def child(monkeypatch, code):
    monkeypatch.setattr(worker, "_COMMAND", (sys.executable, "-c", READY + code))


def measure(bench, asked, **more):
    return bench.ask({"do": "measure", "asked": {**asked, **more}})["measures"]


def test_a_drawing_is_measured_and_pictured(bench, plate):
    shares = []
    answer = bench.ask({"do": "measure", "asked": plate}, shares.append)
    measures = answer["measures"]
    # half a pixel of 2400 dpi along 21 mm of edges is 0.11 mm²
    assert measures["open_area"] == pytest.approx(5, abs=0.11)
    assert measures["narrowest_line"] == pytest.approx(0.5, abs=measures["width_bound"])
    assert shares == sorted(shares) and shares[0] < 0.6 and shares[-1] > 0.7
    assert answer["read"]["kind"] == "SVG"
    with Image.open(io.BytesIO(base64.b64decode(answer["preview"]))) as image:
        pixels = np.asarray(image.convert("RGBA"))
    assert pixels.shape[1] <= 900
    assert tuple(pixels[-1, -1])[3] == 0
    row, column = (round(side * pixels.shape[1] / 20) for side in (2.25, 7))
    assert tuple(pixels[row, column]) == (0x1F, 0x2A, 0x30, 255)


def test_the_kept_side(bench, plate):
    measures = measure(bench, plate, black="kept", resolution=600 / 25.4)
    assert measures["open_fraction"] == pytest.approx(1 - 5 / 200, abs=0.003)
    assert measures["narrowest_land"] == pytest.approx(0.5, abs=measures["width_bound"])


def test_what_is_lost_and_how_it_looks(bench, plate):
    question = {"asked": plate, "shrink": True}
    lost = bench.ask({"do": "lost", "undercuts": [0.2, 0.3], **question})["lost"]
    assert [each["counts"] for each in lost] == [{}, {"line vanishes": 1}]
    (line,) = lost[1]["listed"]
    assert line["box"] == pytest.approx([2, 2, 12, 2.5], abs=0.01)
    picture = {"do": "picture", "box": [1.0, 1.0, 5.0, 4.0], "across": 400, **question}
    found = {}
    for undercut in (0.2, 0.3):
        answer = bench.ask({**picture, "undercut": undercut})["picture"]
        with Image.open(io.BytesIO(base64.b64decode(answer))) as image:
            assert image.width <= 400
            # the middle of the line, 4.0 mm from the left and 2.25 mm from the top
            at = round(3.0 / 4 * image.width), round(1.25 / 3 * image.height)
            found[undercut] = image.getpixel(at)
    assert found == {0.2: (0x1F, 0x2A, 0x30, 255), 0.3: (0xA3, 0x20, 0x2A, 255)}


def test_a_film_is_read_again_when_its_file_has_changed(bench, plate):
    before = measure(bench, plate)["open_area"]
    changed = SVG.replace('height="0.5"', 'height="1.50"')
    with open(plate["path"], "w") as file:  # noqa: PTH123
        file.write(changed)
    assert measure(bench, plate)["open_area"] == pytest.approx(3 * before, abs=0.2)


def test_a_preview_averages_down():
    black = np.zeros((10, 1000), bool)
    black[:, 501:] = True
    with Image.open(io.BytesIO(preview(film_of(black)))) as image:
        shades = np.asarray(image.convert("RGBA"))[0, :, 3]
    assert (len(shades), shades[249], shades[250], shades[251]) == (500, 0, 136, 255)


def test_the_caller_stays_small():
    code = (
        "import sys, etchcalc.job.film, etchcalc.job.losses\n"
        "heavy = ('scipy.ndimage', 'numba', 'PIL', 'resvg_py', 'ezdxf', 'pypdfium2', 'tifffile', 'imagecodecs', "
        "'matplotlib')\n"
        "print([m for m in heavy if m in sys.modules])"
    )
    seen = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert seen.stdout.strip() == "[]"


def test_a_refusal_comes_through_as_it_is_and_the_process_stays(bench, plate):
    process = bench._started()
    with pytest.raises(BadInput, match="20 × 10 mm"):
        measure(bench, plate, width=30)
    assert measure(bench, plate)["etched_pieces"] == 1
    assert bench._started() is process


@pytest.mark.parametrize(
    "code",
    [
        "import os; os.abort()",
        "input(); raise MemoryError",
        "input(); print('not JSON')",
        "input(); print('[]')",
    ],
)
def test_a_crash_is_one_sentence_and_the_next_question_is_answered(bench, plate, monkeypatch, code):
    with monkeypatch.context() as patch:
        child(patch, code)
        with pytest.raises(BadInput, match="made the renderer break off") as caught:
            measure(bench, plate)
    assert "\n" not in str(caught.value)
    assert measure(bench, plate)["etched_pieces"] == 1


def test_a_process_that_cannot_start_is_not_blamed_on_the_drawing(bench, plate, monkeypatch):
    monkeypatch.setattr(worker, "_COMMAND", (sys.executable, "-c", "import nothing_of_that_name"))
    with pytest.raises(BadInput, match="could not start"):
        measure(bench, plate)


def test_a_name_too_long_is_refused_like_any_other(bench, plate):
    with pytest.raises(BadInput, match=r"cannot be opened|name"):
        measure(bench, plate, path="x" * 300 + ".svg")


def test_a_hang_is_ended(bench, plate, monkeypatch):
    child(monkeypatch, "import time; time.sleep(60)")
    with pytest.raises(BadInput, match=r"nothing was heard of it for 0\.5 s"):
        bench.ask({"do": "measure", "asked": plate}, silence=0.5)


def test_as_long_as_something_is_heard_it_is_waited_for(bench, plate, monkeypatch):
    child(
        monkeypatch,
        "import time, sys\n"
        "for i in range(8): print('{\"share\": 0.5}', flush=True); time.sleep(0.2)\n"
        "print('{\"measures\": {}}', flush=True); time.sleep(5)",
    )
    assert bench.ask({"do": "measure", "asked": plate}, silence=1.0) == {"measures": {}}


def test_what_is_cancelled_ends_at_once(bench, plate, monkeypatch):
    with monkeypatch.context() as patch:
        child(patch, "import time; time.sleep(60)")
        threading.Timer(0.5, bench.cancel).start()
        start = time.monotonic()
        with pytest.raises(Cancelled):
            measure(bench, plate)
        assert time.monotonic() - start < 30
    assert measure(bench, plate)["etched_pieces"] == 1


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="limits are the system's")
def test_a_child_that_eats_memory_ends(bench, plate, monkeypatch):
    child(
        monkeypatch,
        "from etchcalc.artwork import child; child._limit_memory(); x = bytearray(3 * 2**30)",
    )
    with pytest.raises(BadInput, match="break off"):
        measure(bench, plate)
