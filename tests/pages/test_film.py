"""The film's panel driven in-process: the drawing's questions, depth, losses, the written film."""

import io
import xml.etree.ElementTree as ET
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from etchcalc.artwork.worker import Cancelled
from etchcalc.core.faults import BadInput
from etchcalc.job.shop import Shop
from etchcalc.pages import film_drawings
from etchcalc.pages.panels import FilmDesk
from etchcalc.pages.panels.film import NO_FILE
from etchcalc.pages.panels.latest import Latest

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="{}mm" height="{}mm" viewBox="0 0 {} {}">'
    '<path d="M2 2h20v.5h-20z"/></svg>'
)


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """The folder of a shop whose drawing is measured already, on a coarse film for speed."""
    shop = Shop(tmp_path_factory.mktemp("measured") / "shop")
    shop.keep(shop.open(shop.current).changed(film_resolution="600 dpi"), shop.current)
    FilmDesk(shop)
    return shop.root


@pytest.fixture
def desk(shop):
    return FilmDesk(shop)


def typed(desk, name, text):
    control = next(c for c in desk._controls() if c.name == name)
    control.box.value = text
    return control


def there(desk):
    return desk.shop.folder(desk.name)


def test_it_opens_on_what_was_measured(desk):
    assert "0.10 mm</b> wide on the film" in desk.said.value
    rows = desk.rows.value
    assert "SVG, 120.00 × 45.00 mm" in rows and "600 dpi" in rows
    assert "0.40 mm ± 11 µm" in rows and "±" in rows.split("Open metal")[1][:60]
    assert "etch-marked" in desk.plate.value and ">A</text>" in desk.plate.value
    assert desk.file.value == "artwork.svg"
    assert "etch-close" in desk.closer.picture.value
    assert "Nothing is lost" in desk.folds["lost"].body.value
    ET.fromstring(desk.bars.value)
    assert desk.text().count("narrowest line") >= 1 and "lines lost" in desk.text()


def test_deeper_the_ticks_vanish_and_are_marked(desk):
    before = desk.plate.value
    typed(desk, "depth", "0.3 mm")
    assert (
        desk.plate.value != before and "45 lines vanish" in desk.said.value
    )  # 0 to 50 without the tens: 51 less 6
    assert ">4</text>" in desk.plate.value and ">5</text>" not in desk.plate.value
    assert "line vanishes" in desk.folds["lost"].body.value
    assert "loss 1" in desk.closer.places.options
    look = desk.closer.picture.value
    desk.closer.places.value = "loss 4"
    assert desk.closer.picture.value != look
    look = desk.closer.picture.value
    desk.closer.near.value = "2 mm"
    assert desk.closer.picture.value != look and "0.50 mm" in desk.closer.picture.value
    assert "too fine for the film" in desk.folds["drawn"].body.value


def test_another_panel_finds_what_was_said(desk, shop):
    typed(desk, "depth", "0.25 mm")
    before = desk.plan.number("open_fraction")
    desk.ways["black"].box.value = "kept"
    assert shop.open(desk.name).words["black"] == "kept"
    assert shop.open(desk.name).typed["depth"] == "0.25 mm"
    assert desk.plan.number("open_fraction") == pytest.approx(
        100 - before,
        abs=0.05,  # the film is a whole number of pixels, the plate is not
    )


def test_mirrored_turns_the_places_round(desk):
    def pixels():
        with Image.open(io.BytesIO(desk.plan.drawing.preview)) as image:
            return np.asarray(image.convert("RGBA"))[..., 3].astype(int)

    before = pixels()
    desk.ways["mirrored"].box.value = "yes"
    after = pixels()
    assert np.abs(after[:, ::-1] - before).mean() < 10 < np.abs(after - before).mean()


def test_a_drawing_is_brought_and_asked_about(desk):
    assert (
        desk.shop.bring(desk.name, "C:\\jobs\\scale.svg", SVG.format(30, 20, 30, 20).encode())
        == "scale.svg"
    )
    desk._change({"file": "scale.svg"})
    assert "30" in desk.saved.value and "120" in desk.saved.value  # both sizes are said
    assert desk.commission.words["file"] == "scale.svg" and desk.plan.drawing.digest == ""
    # half a pixel along 41 mm of edges, on a plate whose other 5 % were of the drawing before
    desk.ways["placed"].box.value = "cut from the middle"
    assert desk.saved.value == ""
    assert desk.plan.middle("open_area").to("mm^2").magnitude == pytest.approx(10, abs=0.9)
    # in the middle of a plate of 120 x 45 mm
    assert desk.plan.drawing.found["line_place"][1] == pytest.approx(12.5 + 2.25, abs=0.3)
    desk.file.value = NO_FILE
    assert desk.commission.words["file"] == "" and desk.plan.drawing is None
    assert "lines lost" not in desk.text()


def test_what_is_no_drawing_is_refused(desk):
    for name in ("letter.doc", "noending", ".svg"):
        with pytest.raises(BadInput, match="is no drawing that is read here"):
            desk.shop.bring(desk.name, name, b"x")
    with pytest.raises(BadInput, match=r"Another artwork\.svg lies beside"):
        desk.shop.bring(desk.name, "artwork.svg", b"<svg/>")
    desk.shop.bring(desk.name, "artwork.svg", (there(desk) / "artwork.svg").read_bytes())
    desk.shop.bring(desk.name, "../../away.svg", b"<svg/>")
    assert (there(desk) / "away.svg").is_file()


def test_the_film_is_written(desk):
    desk._on_write(None)
    assert {"film.tif", "film.pdf"} <= {p.name for p in there(desk).iterdir()}
    assert "film.pdf</a>" in desk.done.value and "Print at 100 %" in desk.done.value
    assert "etch-hidden" in desk.waits._dom_classes
    assert desk.file.options == (NO_FILE, "artwork.svg")  # our own film is not offered as a drawing


def test_a_cancelled_film_says_so(desk, monkeypatch):
    def cancelled(*given):
        raise Cancelled

    monkeypatch.setattr(import_module("etchcalc.pages.panels.film"), "write_film", cancelled)
    desk._on_write(None)
    assert "Broken off" in desk.done.value and "etch-hidden" in desk.waits._dom_classes


def test_nonsense_gets_one_sentence_and_changes_nothing(desk):
    said = desk.said.value
    control = typed(desk, "film_resolution", "many")
    assert "film resolution" in control.says.value
    control = typed(desk, "depth", "5 bananas")
    assert "bananas" in control.says.value and desk.said.value == said


def test_a_coarser_film(desk):
    typed(desk, "film_resolution", "300 dpi")
    assert "300 dpi" in desk.rows.value
    assert desk.plan.drawing.found["pixel"] == pytest.approx(25.4 / 300)


def test_only_the_newest_wish_is_done():
    done, refused = [], []

    def work(wish, tell):
        tell(0.5)
        if wish == "bad":
            raise BadInput("a sentence")
        return wish

    latest = Latest(work, done.append, refused.append)
    latest("one")
    latest("bad")
    assert (done, refused) == (["one"], ["a sentence"])


def test_without_a_drawing_the_page_asks_for_one_and_shows_nothing_of_it(desk):
    desk.file.value = NO_FILE
    assert "No drawing yet" in desk.plate.value and "15 %" in desk.plate.value
    assert "narrowest" not in desk.plate.value
    assert all("etch-hidden" in part._dom_classes for part in [*desk._asks, *desk._of_drawing])
    (there(desk) / "text.svg").write_text(
        SVG.format(9, 9, 9, 9).replace("<path", "<text>A</text><path")
    )
    desk.look()
    desk._show_more()
    desk.file.value = "text.svg"
    assert "not read" in desk.plate.value and "outlines" in desk.said.value
    assert not any("etch-hidden" in part._dom_classes for part in desk._asks)  # one may mend it
    assert all("etch-hidden" in part._dom_classes for part in desk._of_drawing)
    desk.file.value = "artwork.svg"
    assert "A: narrowest line" in desk.plate.value
    assert not any("etch-hidden" in part._dom_classes for part in desk._of_drawing)


def test_places_lie_where_they_are_on_the_plate():
    picture = film_drawings.marked_plate(120, 45, b"", [(60, 22.5, "A", "blue")], "x")
    root = ET.fromstring(picture)
    ns = "{http://www.w3.org/2000/svg}"
    plate, circle = root.find(f"{ns}rect"), root.find(f".//{ns}circle")
    x, y, w, h = (float(plate.get(k)) for k in ("x", "y", "width", "height"))
    assert w / h == pytest.approx(120 / 45)
    assert float(circle.get("cx")) == pytest.approx(x + w / 2, abs=0.1)
    assert float(circle.get("cy")) == pytest.approx(y + h / 2, abs=0.1)


@given(
    st.lists(st.tuples(st.floats(0, 120), st.floats(0, 45)), max_size=6),
)
def test_labels_of_places_cover_neither_the_plate_nor_each_other(places):
    marks = [(*place, str(i), "red") for i, place in enumerate(places)]
    root = ET.fromstring(film_drawings.marked_plate(120, 45, b"", marks, "x"))
    ns = "{http://www.w3.org/2000/svg}"
    plate = root.find(f"{ns}rect")
    x, y, w, h = (float(plate.get(k)) for k in ("x", "y", "width", "height"))
    at = [(float(t.get("x")), float(t.get("y"))) for t in root.iter(f"{ns}text")]
    assert len(at) == len(places)
    for across, foot in at:  # 26 px type stands on its foot and is 19 px high
        assert x - 40 <= across <= x + w + 16
        assert foot < y or foot - 19 > y + h
    for i, (across, foot) in enumerate(at):
        assert all(abs(across - a) > 25 for a, f in at[i + 1 :] if f == foot)


def test_bars_are_as_long_as_their_shares():
    root = ET.fromstring(film_drawings.share_bars([("a", 0.2), ("b", 0.8)], "x"))
    wide = [float(r.get("width")) for r in root.iter("{http://www.w3.org/2000/svg}rect")]
    assert wide[1] / wide[0] == pytest.approx(4)


def test_the_bar_of_a_close_look_is_true():
    root = ET.fromstring(film_drawings.close_up((1, 1, 5, 4), b"", 1, "1 mm", "x"))
    ns = "{http://www.w3.org/2000/svg}"
    size = float(root.find(f"{ns}rect").get("width"))
    path = root.find(f"{ns}path").get("d")
    assert float(path.split("h")[1].split("v")[0]) == pytest.approx(size / 4, abs=0.1)


def test_the_workbook_names_it():
    book = (Path(__file__).parents[2] / "workbooks" / "2-film.ipynb").read_text("utf-8")
    assert "film()" in book
