import math
import subprocess
import sys
import zlib
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.basePen import BasePen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from etchcalc.artwork import pdf, pdf_checks
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

POINT = 72 / 25.4  # to a millimetre
FONT = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
COARSE, FINE = 600 / 25.4, 2400 / 25.4  # pixels a millimetre
SCALED = f"{POINT} 0 0 {POINT} 0 0 cm\n"  # a content whose unit is the millimetre


def made(content, *, width=20.0, height=10.0, page="", resources="", extra=(), root=""):
    """A PDF of one page by hand, from its content; its size in mm."""
    content = content.encode("latin-1")
    box = f"/MediaBox [0 0 {width * POINT:.6f} {height * POINT:.6f}]"
    parts = [
        f"<< /Type /Catalog /Pages 2 0 R {root} >>".encode(),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R {box} /Contents 4 0 R "
        f"/Resources << {resources} >> {page} >>".encode(),
        stream("", content),
        *extra,
    ]
    out, places = bytearray(b"%PDF-1.7\n"), []
    for number, part in enumerate(parts, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + part + b"\nendobj\n"
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(parts) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n" % (len(parts) + 1, start)
    return bytes(out + b"%%EOF\n")


def stream(about, data):
    return f"<< {about} /Length {len(data)} >>\nstream\n".encode() + data + b"\nendstream"


def form(content, about=""):
    return stream(f"/Type /XObject /Subtype /Form /BBox [0 0 99 99] {about}", content.encode())


def picture(bits, data=None, about="/ColorSpace /DeviceGray /Decode [1 0]"):
    rows, columns = bits.shape
    data = zlib.compress(np.packbits(bits, axis=1).tobytes() if data is None else data)
    return stream(
        f"/Type /XObject /Subtype /Image /Width {columns} /Height {rows} /BitsPerComponent 1 "
        f"/Filter /FlateDecode {about}",
        data,
    )


def opened(folder, data, **said):
    path = folder / "plate.pdf"
    path.write_bytes(data)
    return pdf.opened(Asked(path, 20, 10, **said))


def black(source, resolution=FINE, left=0.0, top=0.0, columns=None, rows=None):
    columns = columns or round(source.width * resolution)
    rows = rows or round(source.height * resolution)
    bits = source.rendered(left, top, resolution, columns, rows)
    assert bits.shape == (rows, (columns + 7) // 8)
    return np.unpackbits(bits, axis=1, count=columns).astype(bool)


def area(source, resolution=FINE):
    return black(source, resolution).sum() / resolution**2


def refusal(folder, data, **said):
    with pytest.raises(BadInput) as caught:
        black(opened(folder, data, **said), COARSE)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def outline(points):
    return " ".join(
        f"{x:.6f} {y:.6f} {'l' if index else 'm'}" for index, (x, y) in enumerate(points)
    )


def circle(x, y, radius):
    turns = np.linspace(0, 2 * math.pi, 721)[:-1]
    return outline(np.c_[x + radius * np.cos(turns), y + radius * np.sin(turns)]) + " h\n"


def koch(points, times):
    for _ in range(times):
        ends = np.roll(points, -1)
        third = (ends - points) / 3
        tips = points + third + third * np.exp(-1j * math.pi / 3)
        points = np.stack([points, points + third, tips, points + 2 * third], 1).ravel()
    return points


class Content(BasePen):
    """Writes a glyph as a PDF's content."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.said = []

    def _moveTo(self, point):  # noqa: N802  the pen's own names
        self.said.append("{:.6f} {:.6f} m".format(*point))

    def _lineTo(self, point):  # noqa: N802
        self.said.append("{:.6f} {:.6f} l".format(*point))

    def _curveToOne(self, *points):  # noqa: N802
        self.said.append("{:.6f} {:.6f} {:.6f} {:.6f} {:.6f} {:.6f} c".format(*sum(points, ())))

    def _closePath(self):  # noqa: N802
        self.said.append("h")


def shapes():
    """Contents in mm with the area and the length of edge that geometry gives them."""
    ring = math.pi * (4.017**2 - 2.003**2), 2 * math.pi * (4.017 + 2.003)
    yield "ring", circle(10.01, 5.003, 4.017) + circle(10.01, 5.003, 2.003) + "f*", *ring
    knocked = circle(10.01, 5.003, 4.017) + "f 1 g\n" + circle(10.01, 5.003, 2.003) + "f"
    yield "knocked out", knocked, *ring
    stroke = "2.014 w\n" + circle(10.01, 5.003, 3.01) + "s"
    yield "stroked", stroke, math.pi * (4.017**2 - 2.003**2), 2 * math.pi * 6.02
    bars = [(0.5 + 0.0612 * index, 1.003, 0.0303, 8.0) for index in range(300)]
    for name, paint in (("bars", "re f"), ("clipped bars", "re W n 0 0 20 10 re f Q")):
        drawn = "\n".join(
            ("q " if "W" in paint else "") + "{:.5f} {} {} {}".format(*bar) + f" {paint}"
            for bar in bars
        )
        yield name, drawn, 300 * 8 * 0.0303, 300 * 2 * 8.03
    side = 6.0
    flake = koch(side / math.sqrt(3) * np.exp(2j * math.pi * np.arange(3) / 3) + 10 + 5j, 4)
    # A Koch snowflake after n steps: 8/5 - 3/5 (4/9)^n triangles, edge 3 s (4/3)^n
    triangle = math.sqrt(3) / 4 * side**2
    yield (
        "flake",
        outline(np.c_[flake.real, flake.imag]) + " f",
        triangle * (1.6 - 0.6 * (4 / 9) ** 4),
        3 * side * (4 / 3) ** 4,
    )
    font = TTFont(FONT)
    glyphs, scale = font.getGlyphSet(), 9 / font["head"].unitsPerEm
    for name in ("R", "eight"):
        content, covered, edge = Content(glyphs), AreaPen(glyphs), PerimeterPen(glyphs)
        for pen in (content, covered, edge):
            glyphs[name].draw(TransformPen(pen, (scale, 0, 0, scale, 5.003, 1.507)))
        yield f"glyph {name}", "\n".join([*content.said, "f"]), abs(covered.value), edge.value


SHAPES = list(shapes())


@pytest.mark.parametrize(
    ("content", "covered", "edge"), [s[1:] for s in SHAPES], ids=[s[0] for s in SHAPES]
)
def test_areas_are_those_of_geometry_within_half_a_pixel(tmp_path, content, covered, edge):
    source = opened(tmp_path, made(SCALED + content))
    coarse = abs(area(source, COARSE) - covered)
    fine = abs(area(source, FINE) - covered)
    assert coarse <= edge / 2 / COARSE
    assert fine <= edge / 5 / FINE  # a fifth of a pixel, so it falls as the pixels do


def test_filled_rectangles_are_not_widened(tmp_path):
    # A bar off the pixels' grid would come out up to a pixel too wide each time.
    content = "\n".join(f"{0.5 + 0.0612 * i:.5f} 1 0.0303 8 re f" for i in range(300))
    in_a_form = made("/F Do", resources="/XObject << /F 5 0 R >>", extra=[form(SCALED + content)])
    for data in (made(SCALED + content), in_a_form):
        off = (area(opened(tmp_path, data)) - 300 * 8 * 0.0303) / (300 * 16)
        assert abs(off) < 0.02 / FINE


@pytest.mark.parametrize("about", ["/ColorSpace /DeviceGray /Decode [1 0]", "/ImageMask true"])
@pytest.mark.parametrize(
    ("columns", "rows", "dots"), [(101, 70, 2400), (1001, 703, 1200), (2003, 301, 2540)]
)
def test_a_one_bit_picture_comes_back_bit_for_bit(tmp_path, about, columns, rows, dots):
    bits = np.random.default_rng(1).integers(0, 2, (rows, columns)).astype(bool)
    if "Mask" in about:
        about += " /Decode [1 0]"
    width, height = columns / dots * 25.4, rows / dots * 25.4
    content = f"q {columns / dots * 72:.6f} 0 0 {rows / dots * 72:.6f} 0 0 cm /I Do Q"
    source = opened(
        tmp_path,
        made(
            content,
            width=width,
            height=height,
            resources="/XObject << /I 5 0 R >>",
            extra=[picture(bits, about=about)],
        ),
    )
    resolution = dots / 25.4
    assert np.array_equal(black(source, resolution), bits)
    part = black(source, resolution, 33 / resolution, 20 / resolution, 40, 30)
    assert np.array_equal(part, bits[20:50, 33:73])
    beyond = black(source, resolution, -5 / resolution, -7 / resolution, columns + 9, rows + 9)
    assert np.array_equal(beyond, np.pad(bits, ((7, 2), (5, 4))))
    eight = black(source, resolution * 8, 33 / resolution, 20 / resolution, 320, 240)
    assert np.array_equal(eight, np.kron(bits[20:50, 33:73], np.ones((8, 8), bool)))


@pytest.mark.parametrize("times", [1, 8])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_window_is_placed_right_however_fine(tmp_path, share, times):
    # Upright and slanted edges of many short pieces on a plate of 200 x 150 mm.
    steps = np.linspace(0, 1, 41)
    points = [(200 * s, 150 * s) for s in steps] + [(200 * s + 1, 150 * s) for s in steps[::-1]]
    content = SCALED + outline(points) + f" f {200 * share - 0.5:.4f} 0 0.2 150 re f"
    source = opened(tmp_path, made(content, width=200, height=150))
    resolution, size = FINE * times, 200 * times
    left, top = 200 * share - 1, 150 * (1 - share) - 1
    seen = black(source, resolution, left, top, size, size)
    x = left + (np.arange(size) + 0.5) / resolution
    y = 150 - (top + (np.arange(size)[:, None] + 0.5) / resolution)
    slanted = (x >= y * 4 / 3) & (x <= y * 4 / 3 + 1)
    upright = (x >= 200 * share - 0.5) & (x <= 200 * share - 0.3) & (y == y)
    assert (seen != (slanted | upright)).sum() <= 4 * size / 2  # half a pixel of each edge


def test_a_long_slanted_line_is_right_or_refused(tmp_path):
    source = opened(tmp_path, made(SCALED + "0 0 m 200 150 l 200 0 l f", width=200, height=150))
    for share in (0.05, 0.5, 0.95):
        seen = black(source, FINE, 200 * share - 1, 150 * (1 - share) - 1, 188, 188)
        x, y = np.arange(188) + 0.5, 188 - np.arange(188)[:, None] - 0.5
        off = seen != (y < (x - FINE) * 3 / 4 + 188 - FINE)
        assert off.sum() <= 188 * 1.25 / 2
    with pytest.raises(BadInput, match="add a node in its middle"):
        black(source, FINE * 8, columns=10, rows=10)


def test_bands_and_squares_do_not_show(tmp_path, monkeypatch):
    source = opened(tmp_path, made(SCALED + circle(10, 5, 4) + "f"))
    whole = black(source)
    monkeypatch.setattr(pdf, "_SQUARE", 104)
    assert np.array_equal(black(source), whole)


def test_a_page_cropped_and_turned_has_the_size_that_is_seen(tmp_path):
    page = f"/Rotate 90 /CropBox [{2 * POINT} {1 * POINT} {12 * POINT} {5 * POINT}]"
    source = opened(tmp_path, made(SCALED + "2 1 3 1 re f", page=page))
    assert (source.width, source.height) == pytest.approx((4, 10))
    rows, columns = np.nonzero(black(source))
    # The lower left corner of the sheet is the upper left one when turned clockwise.
    assert (columns.max() + 1) / FINE == pytest.approx(1, abs=1 / FINE)
    assert (rows.max() + 1) / FINE == pytest.approx(3, abs=1 / FINE)
    assert (rows.min(), columns.min()) == (0, 0)


def test_type_in_an_embedded_font_is_drawn(tmp_path):
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.figure import Figure

    font = TTFont(FONT)
    pen = AreaPen(font.getGlyphSet())
    font.getGlyphSet()["R"].draw(pen)
    for kind in (3, 42):
        with matplotlib.rc_context({"pdf.fonttype": kind}):
            figure = Figure(figsize=(1, 1))
            FigureCanvasPdf(figure)
            figure.text(0.1, 0.3, "R", fontsize=60, fontfamily="DejaVu Sans")
            figure.savefig(tmp_path / "type.pdf")
        source = pdf.opened(Asked(tmp_path / "type.pdf", 25.4, 25.4))
        em = 60 / POINT / font["head"].unitsPerEm
        assert area(source) == pytest.approx(abs(pen.value) * em**2, rel=2e-3)


def test_strokes_of_no_width_are_asked_for(tmp_path):
    data = made("2 0 0 2 0 0 cm 0 w 0 6 m 20 6 l S")
    assert 'thin_line = "0.25 mm"' in refusal(tmp_path, data)
    told = opened(tmp_path, data, thin_line=0.25)
    assert area(told) == pytest.approx(0.25 * 40 / POINT, abs=40 / POINT / FINE)


def test_what_is_accepted(tmp_path):
    all_inks = (
        "/ColorSpace << /All [/Separation /All /DeviceCMYK << /FunctionType 2 /Domain [0 1] "
        "/C0 [0 0 0 0] /C1 [1 1 1 1] /N 1 >>] >>"
    )
    square = "0 0 4 2 re f"
    group = form(SCALED + square, "/Group << /S /Transparency /I true >>")
    for content, more in (
        (square, {}),
        ("0 0 0 1 k " + square, {}),
        ("/All cs 1 scn " + square, {"resources": all_inks}),
        (square, {"page": "/Group << /S /Transparency /CS /DeviceRGB >>"}),
        (square + " 1 g 9 9 1 1 re f", {}),
    ):
        assert area(opened(tmp_path, made(SCALED + content, **more))) == pytest.approx(8, abs=0.1)
    data = made("/F Do", resources="/XObject << /F 5 0 R >>", extra=[group])
    assert area(opened(tmp_path, data)) == pytest.approx(8, abs=0.1)
    assert area(opened(tmp_path, made(""))) == 0


def test_remarks_are_not_drawn_and_scripts_not_run(tmp_path):
    source = opened(
        tmp_path,
        made(
            SCALED + "0 0 4 2 re f",
            root="/OpenAction << /S /JavaScript /JS (app.alert\\(1\\)) >>",
            page="/AA << /O << /S /Launch /F (x) >> >> /Annots [<< /Type /Annot /Subtype /Square "
            "/Rect [0 0 40 20] /C [0 0 0] /IC [0 0 0] >> << /Type /Annot /Subtype /Link "
            "/Rect [0 0 9 9] >>]",
        ),
    )
    assert area(source) == pytest.approx(8, abs=0.1)
    assert source.notes == ("Remarks and form fields of the PDF are not drawn (1).",)


SHADING = (
    "<< /ShadingType 2 /ColorSpace /DeviceGray /Coords [0 0 50 0] "
    "/Function << /FunctionType 2 /Domain [0 1] /C0 [0] /C1 [1] /N 1 >> >>"
)
TILE = stream(
    "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 4 4] /XStep 4 /YStep 4 /Resources << >>",
    b"0 0 2 2 re f",
)
HELVETICA = "/Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>"
HALF = "/ExtGState << /G << /ca 0.5 /CA 0.5 >> >>"
MULTIPLIED = "/ExtGState << /G << /BM /Multiply >> >>"
MASKED = "/ExtGState << /G << /SMask << /S /Luminosity /G 6 0 R >> >> >> /XObject << /F 5 0 R >>"
ONE = "/XObject << /F 5 0 R >>"
SMALL = np.ones((4, 8), bool)
GREY = stream(
    "/Subtype /Image /Width 4 /Height 4 /BitsPerComponent 8 /ColorSpace /DeviceGray",
    bytes(range(16)),
)


@pytest.mark.parametrize(
    ("content", "more", "said"),
    [
        ("1 0 0 rg 0 0 9 9 re f", {}, "#ff0000, which is neither black nor white"),
        ("0 1 0 RG 0 0 9 9 re S", {}, "#00ff00"),
        ("0 0 0 0.5 k 0 0 9 9 re f", {}, "neither black nor white"),
        ("/S sh", {"resources": f"/Shading << /S {SHADING} >>"}, "a gradient"),
        (
            "/Pattern cs /P scn 0 0 50 20 re f",
            {"resources": f"/Pattern << /P << /PatternType 2 /Shading {SHADING} >> >>"},
            "comes out grey",
        ),
        (
            "/Pattern cs /P scn 0 0 50 20 re f",
            {"resources": "/Pattern << /P 5 0 R >>", "extra": [TILE]},
            "a pattern",
        ),
        ("/G gs 0 0 9 9 re f", {"resources": HALF}, "make it opaque"),
        ("/G gs 9 w 0 0 m 9 9 l S", {"resources": HALF}, "make it opaque"),
        ("/G gs 0 0 9 9 re f", {"resources": MULTIPLIED}, "blended"),
        (
            "/G gs /F Do",
            {
                "resources": HALF + ONE,
                "extra": [form("0 0 9 9 re f", "/Group << /S /Transparency >>")],
            },
            "make it opaque",
        ),
        (
            "/G gs /F Do",
            {
                "resources": MASKED,
                "extra": [
                    form("0 0 9 9 re f", "/Group << /S /Transparency >>"),
                    form("0.5 g 0 0 9 9 re f", "/Group << /S /Transparency /CS /DeviceGray >>"),
                ],
            },
            "comes out grey",
        ),
        ("/F Do", {"resources": ONE, "extra": [form("0.5 g 0 0 9 9 re f")]}, "#808080"),
        (
            "/F Do",
            {
                "resources": ONE,
                "extra": [form("/F Do", "/Resources << /XObject << /F 5 0 R >> >>")],
            },
            "more than 20 deep",
        ),
        ("BT /F 12 Tf 5 5 Td (Abc) Tj ET", {"resources": HELVETICA}, "(Helvetica)"),
        ("q 9 0 0 9 0 0 cm /F Do Q", {"resources": ONE, "extra": [GREY]}, "in greys or colours"),
        (
            "q 9 0 0 9 0 0 cm /F Do Q",
            {"resources": ONE, "extra": [picture(SMALL, b"\0\0")]},
            "broken or cut short",
        ),
        (
            "0.5 g q 9 0 0 9 0 0 cm /F Do Q",
            {"resources": ONE, "extra": [picture(SMALL, about="/ImageMask true /Decode [1 0]")]},
            "#808080",
        ),
        (
            "q 9 0 0 9 0 0 cm /F Do Q",
            {
                "resources": ONE,
                "extra": [
                    picture(SMALL, about="/ColorSpace /DeviceGray /Decode [1 0] /SMask 6 0 R"),
                    stream(
                        "/Subtype /Image /Width 8 /Height 4 /BitsPerComponent 8 "
                        "/ColorSpace /DeviceGray",
                        bytes([128] * 32),
                    ),
                ],
            },
            "comes out grey",
        ),
        ("", {"width": 6000}, "up to 5000 mm"),
        ("", {"width": 0}, "has no size"),
        ("", {"page": "/UserUnit 2"}, "units of its own"),
    ],
)
def test_what_a_film_cannot_hold_is_refused_by_name(tmp_path, content, more, said):
    assert said in refusal(tmp_path, made(content, **more))


def test_broken_locked_and_many_paged_files(tmp_path):
    whole = made("0 0 9 9 re f")
    for data in (b"", b"hello", b"%PDF-1.7\n%%EOF", whole[:-30], whole[: len(whole) // 2]):
        assert "broken or cut short" in refusal(tmp_path, data)
    two = whole.replace(b"[3 0 R] /Count 1", b"[3 0 R 3 0 R] /Count 2")
    assert "has 2 pages; accepted is one" in refusal(tmp_path, two)
    keys = f"/O <{'41' * 32}> /U <{'42' * 32}>"
    locked = whole.replace(
        b"/Root 1 0 R",
        f"/Root 1 0 R /ID [<00> <00>] /Encrypt << /Filter /Standard /V 1 /R 2 /P -4 {keys} >>".encode(),
    )
    assert "locked with a password" in refusal(tmp_path, locked)
    with pytest.raises(BadInput, match="cannot be opened"):
        pdf.opened(Asked(tmp_path / "none.pdf", 20, 10))


def test_too_many_objects_and_nodes_are_refused(tmp_path, monkeypatch):
    data = made(SCALED + "0 0 4 2 re f " * 30)
    monkeypatch.setattr(pdf_checks, "_MOST_OBJECTS", 29)
    assert "more than 29 objects" in refusal(tmp_path, data)
    monkeypatch.setattr(pdf_checks, "_MOST_OBJECTS", 30)
    monkeypatch.setattr(pdf_checks, "_MOST_POINTS", 100)
    assert "nodes" in refusal(tmp_path, data)
    monkeypatch.setattr(pdf, "LARGEST", 100)
    assert "MB" in refusal(tmp_path, data)


FUZZ = """
import random, sys, warnings
from pathlib import Path
from etchcalc.artwork import pdf
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput
warnings.simplefilter("error")
path, runs = Path(sys.argv[1]), int(sys.argv[2])
whole, chance = path.read_bytes(), random.Random(int(sys.argv[3]))
counts = [0, 0]
for _ in range(runs):
    data = bytearray(whole)
    for _ in range(chance.randint(1, 8)):
        place = chance.randrange(len(data))
        match chance.randrange(4):
            case 0: data[place] = chance.randrange(256)
            case 1: del data[place : place + chance.randint(1, 20)]
            case 2: data[place:place] = data[chance.randrange(len(data)):][: chance.randint(1, 40)]
            case 3: data[place : place + 1] = b"%d" % chance.choice([0, -1, 7, 10**6, 2**31, 10**12])
    path.write_bytes(data)
    try:
        pdf.opened(Asked(path, 20, 10)).rendered(0, 0, 5, 100, 50)
        counts[0] += 1
    except BadInput as fault:
        assert "\\n" not in str(fault), fault
        counts[1] += 1
print(*counts)
"""


def test_mutated_files_are_drawn_or_get_a_sentence(tmp_path):
    """300 mutations of a file with paths, a form and a picture; a process of its own may crash."""
    path = tmp_path / "fuzz.pdf"
    path.write_bytes(
        made(
            SCALED + "q 0 0 4 2 re f 1 w 0 0 m 9 9 l S 0 0 9 9 re W n 1 g 0 0 1 1 re B Q /F Do "
            "q 3 0 0 3 0 0 cm /I Do Q",
            resources="/XObject << /F 5 0 R /I 6 0 R >>",
            extra=[form("0 0 9 9 re f"), picture(SMALL)],
        )
    )
    done = subprocess.run(
        [sys.executable, "-c", FUZZ, str(path), "300", "1"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    drawn, refused = map(int, done.stdout.split())
    assert drawn > 20
    assert refused > 20
