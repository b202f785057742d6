import cmath
import math
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import matplotlib
import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.ttLib import TTFont

import etchcalc
from etchcalc.artwork import film as films
from etchcalc.artwork import read
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

DEMO = Path(etchcalc.__file__).parent / "data" / "demo" / "artwork.svg"
DPI = 1 / 25.4
PIXEL = 25.4 / 1200
TRIANGLE = '<path d="M1 1 19 3 8 9z"/>'
SPREAD = (150 * DPI, 600 * DPI, 2400 * DPI)


def asked(folder, body, drawn=(20, 10), size=None, **more):
    path = folder / "plate.svg"
    size = f'width="{drawn[0]}mm" height="{drawn[1]}mm"' if size is None else size
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {drawn[0]} {drawn[1]}">'
        f"{body}</svg>"
    )
    return Asked(path, **{"width": 20, "height": 10, "resolution": 1200 * DPI, **more})


def film(folder, body, **more):
    return read.film(asked(folder, body, **more))[0]


def area(film):
    return film.unpacked().sum() / film.resolution**2


def box(film):
    """Left, top, right and bottom of what is etched, mm."""
    rows, columns = np.nonzero(film.unpacked())
    ends = (columns.min(), rows.min(), columns.max() + 1, rows.max() + 1)
    return pytest.approx([end / film.resolution for end in ends], abs=0.51 / film.resolution)


def refusal(folder, body="", **more):
    with pytest.raises(BadInput) as caught:
        film(folder, body, **more)
    assert "\n" not in str(caught.value)
    return str(caught.value)


# Shapes whose area and length of edge are known from outside.


@dataclass
class Shape:
    svg: str
    area: float
    edge: float


def ring():
    """By stroke: pi (R² - r²) and 2 pi (R + r)."""
    svg = '<circle cx="10" cy="5" r="3" fill="none" stroke="#000" stroke-width="2"/>'
    return Shape(svg, math.pi * (16 - 4), 2 * math.pi * (4 + 2))


def ring_by_knocking_out():
    svg = '<circle cx="10" cy="5" r="4"/><circle cx="10" cy="5" r="2" fill="white"/>'
    return Shape(svg, math.pi * (16 - 4), 2 * math.pi * (4 + 2))


def comb():
    """Thirty lines of 0.137 × 5.03 mm on a slant, by stroke with butt ends."""
    lines = "".join(f'<path d="M{3 + 0.4567 * i:.4f} 2v5.03"/>' for i in range(30))
    svg = f'<g stroke="#000" stroke-width="0.137" transform="rotate(7 10 5)">{lines}</g>'
    return Shape(svg, 30 * 0.137 * 5.03, 30 * 2 * (0.137 + 5.03))


def koch():
    """A snowflake of four steps on sides of 7 mm: 8/5 less 3/5 (4/9)^4 times its triangle."""
    corners = [5 + 4j + 3 * cmath.exp(2j * math.pi * i / 3) for i in range(3)]
    side = abs(corners[1] - corners[0])
    for _ in range(4):
        finer = []
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            third = (b - a) / 3
            finer += [a, a + third, a + third + third * cmath.exp(-1j * math.pi / 3), b - third]
        corners = finer
    path = "M" + " ".join(f"{c.real:.9f},{c.imag:.9f}" for c in corners) + "z"
    around = zip(corners, corners[1:] + corners[:1], strict=True)
    by_shoelace = abs(sum((a.conjugate() * b).imag for a, b in around)) / 2
    triangle = math.sqrt(3) / 4 * side**2
    assert by_shoelace == pytest.approx(triangle * (1.6 - 0.6 * (4 / 9) ** 4), rel=1e-9)
    return Shape(f'<path d="{path}"/>', by_shoelace, 3 * side * (4 / 3) ** 4)


def letters():
    """Outlines of a free font (DejaVu Sans), measured by fontTools' own pens."""
    font = TTFont(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf")
    glyphs, scale = font.getGlyphSet(), 6 / font["head"].unitsPerEm
    svg, total, edge, across = "", 0.0, 0.0, 1.0
    for name in ("ampersand", "g", "S"):
        pens = SVGPathPen(glyphs), AreaPen(glyphs), PerimeterPen(glyphs)
        for pen in pens:
            glyphs[name].draw(pen)
        outline, measured, around = pens
        svg += (
            f'<path transform="translate({across:.4f} 7.5) scale({scale:.9f} {-scale:.9f})" '
            f'd="{outline.getCommands()}"/>'
        )
        total += abs(measured.value) * scale**2
        edge += around.value * scale
        across += glyphs[name].width * scale + 0.3
    return Shape(svg, total, edge)


@pytest.mark.parametrize("shape", [ring, ring_by_knocking_out, comb, koch, letters])
def test_areas_agree_with_what_is_known(tmp_path, shape):
    shape = shape()
    errors = []
    for resolution in SPREAD:
        got = area(film(tmp_path, shape.svg, resolution=resolution))
        errors.append(abs(got - shape.area))
        assert errors[-1] <= shape.edge * 0.5 / resolution
    assert errors[-1] < errors[0] / 4  # sixteen times as fine
    # The renderer's own curves are as good as a twentieth of a pixel.
    assert errors[-1] < shape.edge * 0.05 / SPREAD[-1]


def test_a_rectangle_in_true_size_and_place(tmp_path):
    drawn = film(tmp_path, '<rect x="2" y="3" width="10" height="4"/>')
    assert (drawn.columns, drawn.rows) == (945, 472)  # 20 and 10 mm at 47.244 a mm
    assert box(drawn) == [2, 3, 12, 7]


def test_bands_do_not_show(tmp_path, monkeypatch):
    whole = film(tmp_path, TRIANGLE)
    monkeypatch.setattr(read, "_BAND", 945 * 50)
    assert np.array_equal(film(tmp_path, TRIANGLE).bits, whole.bits)


def test_progress_rises_to_one(tmp_path, monkeypatch):
    monkeypatch.setattr(read, "_BAND", 945 * 50)
    told = []
    read.film(asked(tmp_path, TRIANGLE), told.append)
    assert len(told) == 10
    assert told == sorted(told)
    assert told[-1] == 1


def test_nothing_drawn_is_a_clear_film(tmp_path):
    assert area(film(tmp_path, "")) == 0


@pytest.mark.parametrize("width", [20, 19.99, 19.95])  # 945, 944 and 943 pixels, two not of bytes
def test_mirrored_and_inverted(tmp_path, width):
    plain = film(tmp_path, TRIANGLE, width=width).unpacked()
    mirrored = film(tmp_path, TRIANGLE, width=width, mirrored=True).unpacked()
    kept = film(tmp_path, TRIANGLE, width=width, black="kept")
    assert np.array_equal(mirrored, plain[:, ::-1])
    assert np.array_equal(kept.unpacked(), ~plain)
    spare = np.unpackbits(kept.bits, axis=1)[:, kept.columns :]
    assert not spare.any()


FRAME = '<rect x="1" y="1" width="18" height="8"/>'


@pytest.mark.parametrize(
    ("plate", "black", "etched"),
    [
        ((24, 16), "etched", [3, 4, 21, 12]),  # the frame, 2 and 3 mm further in
        ((12, 6), "etched", [0, 0, 12, 6]),  # all within the frame
        ((24, 6), "etched", [3, 0, 21, 6]),
        ((24, 16), "kept", [2, 3, 22, 13]),  # the drawing's own edge; nothing beyond it
        ((20.05, 9.95), "kept", [0, 0, 20.05, 9.95]),  # a strip too narrow to be meant
    ],
)
def test_cut_from_the_middle(tmp_path, plate, black, etched):
    more = {"width": plate[0], "height": plate[1], "placed": "cut from the middle"}
    assert box(film(tmp_path, FRAME, black=black, **more)) == etched


def test_what_a_drawing_holds_beyond_its_page_is_not_etched(tmp_path):
    body = '<rect x="-5" y="4" width="30" height="2"/>'
    more = {"width": 24, "height": 16, "placed": "cut from the middle"}
    assert box(film(tmp_path, body, **more)) == [2, 7, 22, 9]


def test_scaled_to_the_plate(tmp_path):
    # Twice the size; the second plate is 0.3 mm too wide for that, so the middles lie together.
    for plate, left in ((40, 0), (40.3, 0.15)):
        more = {"width": plate, "height": 20, "placed": "scaled to the plate"}
        assert box(film(tmp_path, FRAME, **more)) == [left + 2, 2, left + 38, 18]
    kept = film(tmp_path, "", black="kept", **more)
    assert box(kept) == [0.15, 0, 40.15, 20]


def test_a_drawing_in_pixels_is_scaled_or_given_a_unit(tmp_path):
    pixels = 'width="2000px" height="1000px"'
    for more in ({"placed": "scaled to the plate"}, {"unit": 1.0}):
        assert box(film(tmp_path, FRAME, size=pixels, **more)) == [1, 1, 19, 9]
    said = refusal(tmp_path, FRAME, size=pixels, placed="cut from the middle")
    assert "make it 529.17 × 264.58 mm; the plate is 20 × 10 mm" in said  # 25.4 / 96 mm each
    assert said.endswith(
        'or type drawing_unit = "mm" if that was its unit, or type placed = "scaled to the plate".'
    )


def test_how_it_was_read(tmp_path):
    how = read.film(asked(tmp_path, ""))[1]
    assert how == read.Read("SVG", 20, 10, ())
    more = {"width": 40, "height": 20}
    how = read.film(asked(tmp_path, "", placed="scaled to the plate", **more))[1]
    assert how.notes == ("The drawing of 20 × 10 mm was scaled by 2 to the plate.",)
    how = read.film(asked(tmp_path, "", placed="cut from the middle", **more))[1]
    assert how.notes[0].startswith("The drawing of 20 × 10 mm lies in the middle of the plate of 4")


def test_the_wrong_size_is_said_both_ways(tmp_path):
    said = refusal(tmp_path, width=12, height=4.5)
    assert said.startswith("The drawing is 20 × 10 mm but the plate is 12 × 4.5 mm:")
    assert said.endswith('placed = "cut from the middle" or placed = "scaled to the plate".')
    assert "the plate is 20.2 × 10 mm" in refusal(tmp_path, width=20.2, height=10)
    assert film(tmp_path, "", width=20.05, height=9.95).columns == 947
    said = refusal(tmp_path, width=40, height=20.5, placed="scaled to the plate")
    assert "it would be 2 across and 2.05 down" in said
    assert said.endswith('type placed = "cut from the middle".')


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"mirrored": True},
        {"black": "kept", "mirrored": True},
        {"width": 24.01, "height": 12, "placed": "cut from the middle", "mirrored": True},
        {"width": 30, "height": 15, "placed": "scaled to the plate"},
    ],
)
def test_a_window_is_that_part_of_the_film_more_finely(tmp_path, more):
    what = asked(tmp_path, TRIANGLE, **more)
    whole = read.film(what)[0]
    left, top, across, down = 101, 33, 250, 200  # pixels of the film
    corner = left / whole.resolution, top / whole.resolution
    size = across / whole.resolution, down / whole.resolution
    same = read.window(what, *corner, *size, whole.resolution)
    part = whole.unpacked()[top : top + down, left : left + across]
    assert np.array_equal(same.unpacked(), part)
    # Three times as fine, every third pixel has the centre of one of the film's.
    finer = read.window(what, *corner, *size, 3 * whole.resolution)
    assert np.array_equal(finer.unpacked()[1::3, 1::3], part)
    assert finer.resolution == 3 * whole.resolution


def test_a_bitmap_gives_its_own_resolution_and_no_window(tmp_path, monkeypatch):
    seen = []

    def rendered(left, top, resolution, columns, rows):
        seen.append((left, top, resolution, columns, rows))
        return np.zeros((rows, (columns + 7) // 8), np.uint8)

    bitmap = SimpleNamespace(
        width=20, height=10, sized=True, resolution=50, notes=(), rendered=rendered
    )
    monkeypatch.setattr(read, "_opened", lambda _: ("PNG", bitmap))
    what = Asked(tmp_path / "a.png", 20, 10)
    assert read.film(what)[0].resolution == 50
    assert seen == [(0, 0, 50, 1000, 500)]
    assert read.window(what, 0, 0, 1, 1, 400) is None
    twice = Asked(tmp_path / "a.png", 40, 20, placed="scaled to the plate")
    assert read.film(twice)[0].resolution == 25
    # The drawing's pixels fall on the film's, though the middles are half a pixel apart.
    cut = Asked(tmp_path / "a.png", 19.98, 10, placed="cut from the middle")
    read.film(cut)
    assert seen[-1][0] * 50 == pytest.approx(round(seen[-1][0] * 50), abs=1e-9)


def test_a_film_too_large_and_one_too_small(tmp_path):
    for more in ({"width": 1e4, "height": 1}, {"resolution": 1e-3}, {"resolution": 1e6}):
        said = refusal(tmp_path, placed="cut from the middle", **more)
        assert "pixels; accepted are 1 to 400,000 across and 8 thousand million in all" in said
        assert said.endswith('film_resolution = "1200 dpi".')


def test_a_film_larger_than_memory_lies_in_a_file(tmp_path, monkeypatch):
    whole = film(tmp_path, TRIANGLE)
    monkeypatch.setattr(films, "_IN_MEMORY", 1000)
    filed = film(tmp_path, TRIANGLE)
    assert isinstance(filed.bits, np.memmap)
    assert np.array_equal(filed.bits, whole.bits)


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        (b"%PDF-1.7\n", "PDF"),
        (b"\n\n%PDF-1.4", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"II*\0\x08", "TIFF"),
        (b"MM\0*", "TIFF"),
        (b"II+\0", "TIFF"),
        (b"AutoCAD Binary DXF\r\n\x1a\0", "DXF"),
        (b"  0\r\nSECTION\r\n  2\r\n", "DXF"),
        (b"999\nmade by hand\n0\nSECTION\n", "DXF"),
        (b"\xef\xbb\xbf<?xml?><!-- %PDF- -->", "SVG"),
        ("\ufeff<svg".encode("utf-16-le"), "SVG"),
        ("\ufeff<svg".encode("utf-16-be"), "SVG"),
        (b" \n<svg", "SVG"),
        (b"\xff\xd8\xff\xe0", "is a JPEG"),
        (b"GIF89a", "save it as TIFF or PNG"),
        (b"BM\0\0", "save it as TIFF or PNG"),
        (b"RIFF\0\0\0\0WEBP", "save it as TIFF or PNG"),
        (b"AC1032", "a DWG drawing: save it as DXF"),
        (b"%!PS-Adobe", "PostScript"),
        (b"\x1f\x8b\x08", "compressed: unpack it"),
        (b"PK\x03\x04", "compressed: unpack it"),
        (b"hello", "is none of the kinds that are read"),
        (b"", "is empty"),
        (b" \n", "is empty"),
    ],
)
def test_the_kind_is_told_by_the_first_bytes_whatever_the_name(tmp_path, start, kind):
    path = tmp_path / "a.jpeg"
    path.write_bytes(start)
    if kind in read._READERS:
        assert read._kind(Asked(path, 20, 10)) == kind
        return
    with pytest.raises(BadInput, match=kind):
        read.film(Asked(path, 20, 10))


def test_what_is_no_file(tmp_path):
    with pytest.raises(BadInput, match=r"b\.svg cannot be opened \(No such file"):
        read.film(Asked(tmp_path / "b.svg", 20, 10))
    with pytest.raises(BadInput, match="is a folder or a device: give the path"):
        read.film(Asked(tmp_path, 20, 10))
    with pytest.raises(BadInput, match="cannot be opened"):
        read.film(Asked(tmp_path / "a\0b", 20, 10))
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.svg")
        with pytest.raises(BadInput, match="is a folder or a device"):
            read.film(Asked(tmp_path / "pipe.svg", 20, 10))


def test_only_the_reader_that_is_needed_is_loaded(tmp_path):
    code = (
        "import sys; from pathlib import Path; from etchcalc.artwork import read, source;"
        f"read.film(source.Asked(Path({str(DEMO)!r}), 120, 45, 4));"
        "sys.exit(bool({'ezdxf', 'pypdfium2', 'tifffile', 'scipy'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


def test_the_demo_is_one_of_ours():
    assert "invented demonstration" in DEMO.read_text(encoding="utf-8")
    made, _ = read.film(Asked(DEMO, 120, 45, 1200 * DPI))
    assert made.columns == 5669
