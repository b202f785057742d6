import numpy as np
import pypdfium2
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from etchcalc.artwork import beside, bitmap, read, write
from etchcalc.artwork.film import film_of
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

FINE = 2400 / 25.4
RANDOM = np.random.default_rng(3)
WRITERS = pytest.mark.parametrize("to", [write.tiff, write.pdf])


def blots(rows, columns):
    return np.cumsum(RANDOM.random((rows, columns)) < 0.1, axis=1) % 2 == 1


def black_in_tiff(path):
    source = bitmap.opened(Asked(path, 1.0, 1.0))
    columns, rows = (round(side * source.resolution) for side in (source.width, source.height))
    bits = source.rendered(0.0, 0.0, source.resolution, columns, rows)
    return np.unpackbits(bits, axis=1, count=columns).astype(bool), source.resolution


def black_in_pdf(path, columns, rows):
    """Draw the page by pdfium three times as fine as the film, and take each pixel's centre.

    It widens a picture whose size is rounded to the next pixel, here a third of the film's.
    """
    with pypdfium2.PdfDocument(path) as document:
        assert len(document) == 1
        page = document[0]
        width, height = page.get_size()
        size = (3 * columns, 3 * rows)
        canvas = pypdfium2.PdfBitmap.new_native(*size, pypdfium2.raw.FPDFBitmap_BGRx)
        canvas.fill_rect((255, 255, 255, 255), 0, 0, *size)
        pypdfium2.raw.FPDF_RenderPageBitmap(
            canvas, page, 0, 0, *size, 0, pypdfium2.raw.FPDF_RENDER_NO_SMOOTHIMAGE
        )
        return canvas.to_numpy()[1::3, 1::3, 1] < 128, (width, height)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.integers(1, 90), st.integers(1, 600), st.sampled_from(["etched", "kept"]), st.booleans(),
    st.sampled_from([600, 1200, 2400, 2540, 3048, 1000.5]),
)  # fmt: skip
def test_tiff_read_again_has_the_same_bits(tmp_path, columns, rows, black, mirrored, dpi):
    etched = blots(rows, columns)
    path = tmp_path / "film.tif"
    write.tiff(film_of(etched, dpi / 25.4), path, black=black, mirrored=mirrored)
    want = etched[:, ::-1] if mirrored else etched
    want = want if black == "etched" else ~want
    got, resolution = black_in_tiff(path)
    assert np.array_equal(got, want)
    assert resolution == pytest.approx(dpi / 25.4, rel=1e-6)
    with Image.open(path) as image:  # and by a library that has no part in it
        assert np.array_equal(np.asarray(image), ~want)
        assert image.info["dpi"][0] == pytest.approx(dpi, rel=1e-6)


@pytest.mark.parametrize("black", ["etched", "kept"])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("columns", [1, 7, 8, 333])
def test_pdf_drawn_by_pdfium_has_the_same_bits(tmp_path, columns, black, mirrored):
    etched = blots(210, columns)
    path = tmp_path / "film.pdf"
    write.pdf(film_of(etched, FINE), path, black=black, mirrored=mirrored)
    got, size = black_in_pdf(path, columns, 210)
    want = etched[:, ::-1] if mirrored else etched
    assert np.array_equal(got, want if black == "etched" else ~want)
    assert size == pytest.approx((columns / 2400 * 72, 210 / 2400 * 72), rel=1e-6)


def test_bands_do_not_show(tmp_path, monkeypatch):
    film = film_of(blots(700, 333), FINE)
    for to in (write.tiff, write.pdf):
        to(film, tmp_path / "whole", black="kept", mirrored=True)
        with monkeypatch.context() as patched:
            patched.setattr("etchcalc.artwork.film._BAND", 1000)
            to(film, tmp_path / "parts", black="kept", mirrored=True)
        if to is write.tiff:
            assert np.array_equal(*(black_in_tiff(tmp_path / n)[0] for n in ("whole", "parts")))
        else:
            assert np.array_equal(
                *(black_in_pdf(tmp_path / n, 333, 700)[0] for n in ("whole", "parts"))
            )


def test_tiff_is_baseline_and_says_no_names(tmp_path):
    path = tmp_path / "film.tif"
    write.tiff(film_of(blots(300, 100), FINE), path, black="etched")
    with tifffile.TiffFile(path) as whole:
        page = whole.pages.first
        tags = {tag.code: tag.value for tag in page.tags}
        assert not whole.is_bigtiff
    # TIFF 6.0, section 3: what a baseline file of two levels must have.
    assert {256, 257, 259, 262, 273, 278, 279, 282, 283, 296} <= set(tags)
    assert tags[259] == 32773 and tags[262] == 0 and tags[296] == 2
    assert tags[282] == tags[283] == (2400, 1)
    assert set(tags) <= {256, 257, 258, 259, 262, 266, 270, 273, 277, 278, 279, 282, 283, 296}
    assert tags[270] == "Film 1.058 x 3.175 mm, as the plate is seen; black is etched"


@WRITERS
def test_nothing_is_left_behind(tmp_path, to):
    path = tmp_path / "film"
    path.write_bytes(b"before")
    film = film_of(blots(2000, 100), FINE)

    def cancelled(share):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        to(film, path, black="etched", progress=cancelled)
    with pytest.raises(ValueError):
        to(film, path, black="white")
    assert path.read_bytes() == b"before"
    assert [item.name for item in tmp_path.iterdir()] == ["film"]
    shares = []
    to(film, path, black="etched", progress=shares.append)
    assert shares == sorted(shares) and shares[-1] == 1
    assert [item.name for item in tmp_path.iterdir()] == ["film"]
    with pytest.raises(BadInput, match="could not be saved"):
        to(film, tmp_path / "absent" / "film", black="etched")
    assert not (tmp_path / "absent").exists()


@pytest.mark.parametrize(("columns", "rows"), [(200, 77), (1001, 640), (1200, 501)])
@pytest.mark.parametrize("dpi", [300, 600, 2400])
def test_sheet_keeps_the_plate_and_is_the_same_on_opposite_sides(columns, rows, dpi):
    etched = blots(rows, columns)
    sheet = beside.sheet(film_of(etched, dpi / 25.4), title="Gauge 3 × 4")
    across, down = sheet.columns - columns, sheet.rows - rows
    assert across == down and across % 2 == 0
    whole, margin = sheet.unpacked(), across // 2
    assert margin * 25.4 / dpi >= 19.9
    plate = (slice(margin, -margin), slice(margin, -margin))
    assert np.array_equal(whole[plate], etched)
    around = whole[margin - 1 : 1 - margin, margin - 1 : 1 - margin]  # a pixel more on each side
    assert around.sum() == etched.sum()
    # The register marks, without words: the sides' middles, turned over both ways.
    mark, edge = round(8.5 / 25.4 * dpi), round(1.0 / 25.4 * dpi)
    half = round(3.2 / 25.4 * dpi)
    row, column = sheet.rows // 2, sheet.columns // 2
    parity = (sheet.rows % 2, sheet.columns % 2)
    left = whole[row - half : row + half + parity[0], edge:mark]
    right = whole[row - half : row + half + parity[0], ::-1][:, edge:mark]
    assert left.any() and np.array_equal(left, right) and np.array_equal(left, left[::-1])
    top = whole[edge:mark, column - half : column + half + parity[1]]
    bottom = whole[::-1][edge:mark, column - half : column + half + parity[1]]
    assert top.any() and np.array_equal(top, bottom) and np.array_equal(top, top[:, ::-1])


def test_corners_are_marked_just_outside_the_plate():
    plate = film_of(np.zeros((640, 1001), bool), FINE)
    sheet = beside.sheet(plate)
    whole, margin = sheet.unpacked(), (sheet.rows - 640) // 2
    reach = round(2.9 * FINE)
    place = slice(margin - reach, margin + reach)
    corners = [whole[::down, ::across][place, place] for down in (1, -1) for across in (1, -1)]
    assert all(np.array_equal(corners[0], other) for other in corners[1:])
    # The row and the column beside the plate's corner are marked, those of the plate are not.
    assert corners[0][reach - 1].sum() == corners[0][:, reach - 1].sum() == round(2 * FINE)
    assert not corners[0][reach:].any() and not corners[0][:, reach:].any()


def runs(line):
    """Return the lengths of a row's runs of True."""
    ends = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(int), [0]])))
    return list(ends[1::2] - ends[::2])


@pytest.mark.parametrize("dpi", [1200, 2400, 2540])
def test_widths_of_the_test_strip(dpi):
    plate = film_of(np.zeros((600, 2000), bool), dpi / 25.4)
    sheet = beside.sheet(plate)
    whole = sheet.unpacked()
    margin = (sheet.rows - plate.rows) // 2
    named = (0.05, 0.08, 0.10, 0.15, 0.20, 0.30, 0.40, 0.60, 0.80, 1.00)
    want = [round(width / 25.4 * dpi) for width in named]
    above = whole[:margin]
    rows = [runs(row) for row in above]
    lines = [i for i, row in enumerate(rows) if row[: len(want)] == want]
    assert len(lines) * 25.4 / dpi == pytest.approx(3, abs=0.1)
    lands = [i for i, row in enumerate(above) if i > lines[-1]
             and runs(~row[row.argmax() : len(row)])[: len(want)] == want]  # fmt: skip
    assert len(lands) * 25.4 / dpi == pytest.approx(3, abs=0.1)
    # One under the other: the etched line ends where the kept land ends.
    line, land = above[lines[0]], above[lands[0]]
    assert np.array_equal(
        np.flatnonzero(line)[: sum(want)], np.flatnonzero(~land[: len(land)] & line)[: sum(want)]
    )


def test_shares_of_the_screens():
    plate = film_of(np.zeros((600, 2000), bool), FINE)
    sheet = beside.sheet(plate)
    whole = sheet.unpacked()
    bottom = (sheet.rows + plate.rows) // 2
    row = whole[bottom + round(4 * FINE)]  # through the middle of the fields
    lengths = runs(row)
    # At 2400 dpi, 20 pixels from line to line and 16 lines a field: the widths step by 2 pixels.
    for tenth in range(1, 10):
        assert lengths.count(2 * tenth) == 16, tenth
    assert lengths[-1] == 320


@pytest.mark.parametrize("ending", ["tif", "pdf"])
@pytest.mark.parametrize(("black", "down"), [("etched", False), ("kept", True)])
def test_sheet_cut_from_the_middle_is_the_plates_own_film(tmp_path, ending, black, down):
    width, height, resolution = 12.0, 7.0, 600 / 25.4
    etched = blots(round(height * resolution), round(width * resolution))
    film = film_of(etched, resolution)
    path = tmp_path / f"film.{ending}"
    to = {"tif": write.tiff, "pdf": write.pdf}[ending]
    to(beside.sheet(film), path, black=black, mirrored=down)
    again, _ = read.film(
        Asked(path, width, height, resolution, black=black, mirrored=down, placed="cut from the middle")
    )  # fmt: skip
    assert np.array_equal(again.bits, film.bits)


def test_margin_too_narrow():
    with pytest.raises(BadInput, match=r"margin of 5 mm is too narrow.*give [0-9]+ mm or more"):
        beside.sheet(film_of(np.zeros((50, 50), bool), FINE), margin=5)
    wide = beside.sheet(film_of(np.zeros((50, 50), bool), FINE), margin=40)
    assert wide.width == pytest.approx(80 + 50 / FINE, abs=0.2)


@given(st.text(max_size=300))
def test_any_title(title):
    beside.sheet(film_of(np.zeros((9, 9), bool), 300 / 25.4), title=title)
