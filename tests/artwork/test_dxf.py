import math
import random
import subprocess
import sys
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from etchcalc.artwork import dxf, dxf_checks, dxf_pen
from etchcalc.artwork.dxf_pen import ezdxf
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

FONT = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
COARSE, FINE = 600 / 25.4, 2400 / 25.4  # pixels a millimetre
WHITE = 0xFFFFFF


def drawing(unit=4):
    document = ezdxf.new()
    document.header["$INSUNITS"] = unit
    return document, document.modelspace()


def opened(folder, document, **said):
    path = folder / "plate.dxf"
    document.saveas(path)
    return dxf.opened(Asked(path, 20, 10, **said))


def black(source, resolution=FINE, left=0.0, top=0.0, columns=None, rows=None):
    columns = columns or round(source.width * resolution)
    rows = rows or round(source.height * resolution)
    bits = source.rendered(left, top, resolution, columns, rows)
    return np.unpackbits(bits, axis=1, count=columns).astype(bool)


def area(source, resolution=FINE):
    return black(source, resolution).sum() / resolution**2


def refusal(folder, document, **said):
    with pytest.raises(BadInput) as caught:
        opened(folder, document, **said)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def hatched(space, *outlines, **about):
    hatch = space.add_hatch(color=7, dxfattribs=about)
    for outline in outlines:
        hatch.paths.add_polyline_path(outline, is_closed=True)
    return hatch


def square(space, x, y, side, **about):
    return hatched(space, [(x, y), (x + side, y), (x + side, y + side), (x, y + side)], **about)


def koch(points, times):
    for _ in range(times):
        ends = np.roll(points, -1)
        third = (ends - points) / 3
        tips = points + third + third * np.exp(-1j * math.pi / 3)
        points = np.stack([points, points + third, tips, points + 2 * third], 1).ravel()
    return points


def ring_of_hatch(space):
    hatch = space.add_hatch(color=7)
    for radius in (4.017, 2.003):
        hatch.paths.add_edge_path().add_arc((10.01, 5.003), radius)


def ring_of_line(space):
    # Half the ring's width to each side: 211 hundredths are the widest, so 2.00 mm.
    space.add_circle((10.01, 5.003), 3.01, dxfattribs={"lineweight": 200})


def ring_of_white(space):
    for radius, colour in ((4.017, 0), (2.003, WHITE)):
        hatch = space.add_hatch(color=7, dxfattribs={"true_color": colour})
        hatch.paths.add_edge_path().add_arc((10.01, 5.003), radius)


def bars_of_polyline(space):
    for index in range(300):
        x = 0.5 + 0.0612 * index
        space.add_lwpolyline(
            [(x, 1.003), (x, 9.003)], dxfattribs={"const_width": 0.0303, "lineweight": -3}
        )


def ring_of_polyline(space):
    node = (10.01 - 3.01, 5.003, 2.014, 2.014, 1), (10.01 + 3.01, 5.003, 2.014, 2.014, 1)
    space.add_lwpolyline(node, close=True)


def cross_of_broad_lines(space):
    for nodes in ([(2, 5), (12, 5)], [(7, 9), (7, 1)]):
        space.add_lwpolyline(nodes, dxfattribs={"const_width": 1})
    space.add_solid([(14, 2), (16, 2), (14, 4), (16, 4)])
    space.add_solid([(15, 2), (17, 2), (15, 4), (17, 4)])
    space.add_solid([(14, 3), (14, 5), (17, 3), (17, 5)])  # turned the other way


def flake(space):
    points = koch(6 / math.sqrt(3) * np.exp(2j * math.pi * np.arange(3) / 3) + 10 + 5j, 4)
    hatched(space, np.c_[points.real, points.imag])


def glyph(space):
    font = TTFont(FONT)
    pen = DecomposingRecordingPen(font.getGlyphSet())
    font.getGlyphSet()["eight"].draw(placed(font, pen))
    from fontTools.pens.basePen import decomposeQuadraticSegment

    hatch, at = space.add_hatch(color=7), None
    for kind, points in pen.value:
        if kind == "moveTo":
            edges, start = hatch.paths.add_edge_path(), points[0]
            at = start
        elif kind == "lineTo":
            edges.add_line(at, points[0])
            at = points[0]
        elif kind == "qCurveTo":
            for handle, end in decomposeQuadraticSegment(points):
                edges.add_spline(
                    control_points=[at, handle, end], degree=2, knot_values=[0, 0, 0, 1, 1, 1]
                )
                at = end
        elif kind == "closePath" and at != start:
            edges.add_line(at, start)


def placed(font, pen):
    scale = 9 / font["head"].unitsPerEm
    return TransformPen(pen, (scale, 0, 0, scale, 5.003, 1.507))


def glyph_measures():
    font = TTFont(FONT)
    covered, edge = AreaPen(), PerimeterPen()
    for pen in (covered, edge):
        font.getGlyphSet()["eight"].draw(placed(font, pen))
    return abs(covered.value), edge.value


RING = math.pi * (4.017**2 - 2.003**2), 2 * math.pi * (4.017 + 2.003)
TRIANGLE = math.sqrt(3) / 4 * 36


@pytest.mark.parametrize(
    ("draw", "covered", "edge"),
    [
        (ring_of_hatch, *RING),
        (ring_of_white, *RING),
        (ring_of_line, math.pi * 2 * 3.01 * 2, 2 * math.pi * 6.02),
        (ring_of_polyline, *RING),
        (cross_of_broad_lines, 10 + 8 - 1 + 3 * 3, 36 + 12),
        (bars_of_polyline, 300 * 8 * 0.0303, 300 * 2 * 8.03),
        # A Koch snowflake after n steps: 8/5 - 3/5 (4/9)^n triangles, edge 3 s (4/3)^n
        (flake, TRIANGLE * (1.6 - 0.6 * (4 / 9) ** 4), 18 * (4 / 3) ** 4),
        (glyph, *glyph_measures()),
    ],
)
def test_areas_are_those_of_geometry_within_half_a_pixel(tmp_path, draw, covered, edge):
    document, space = drawing()
    draw(space)
    source = opened(tmp_path, document)
    assert (source.width, source.height, source.sized) == (20, 10, True)
    assert abs(area(source, COARSE) - covered) <= edge / 2 / COARSE
    assert abs(area(source) - covered) <= edge / 5 / FINE  # a fifth of a pixel, so it falls


@pytest.mark.parametrize(("code", "unit"), [(4, 1), (5, 10), (6, 1000), (1, 25.4), (9, 0.0254)])
def test_units_of_the_file(tmp_path, code, unit):
    document, space = drawing(code)
    square(space, 2 / unit, 3 / unit, 4 / unit)
    source = opened(tmp_path, document, unit=7.0)  # the file's own goes before
    rows, columns = np.nonzero(black(source))
    half = 0.5001 / FINE
    assert columns.min() / FINE == pytest.approx(2, abs=half)
    assert (columns.max() + 1) / FINE == pytest.approx(6, abs=half)
    assert (source.height - (rows.max() + 1) / FINE) == pytest.approx(3, abs=2 * half)
    assert area(source) == pytest.approx(16, abs=16 / 2 / FINE)


def test_a_unit_that_is_not_said_is_asked_for(tmp_path):
    document, space = drawing(0)
    square(space, 0.2, 0.3, 0.4)
    assert 'drawing_unit = "mm"' in refusal(tmp_path, document)
    assert area(opened(tmp_path, document, unit=10.0)) == pytest.approx(16, abs=0.1)


def test_a_drawing_off_its_plate_is_as_large_as_what_it_draws(tmp_path):
    document, space = drawing()
    square(space, 1000, -500, 3)
    square(space, 1004, -494, 2)
    source = opened(tmp_path, document)
    assert (source.width, source.height) == pytest.approx((6, 8))
    assert black(source)[-1, 0]
    assert black(source)[0, -1]
    square(space, 20.05, 9, 0.03)
    for entity in list(space)[:2]:
        space.delete_entity(entity)
    assert opened(tmp_path, document).width == 20  # stands out by less than 0.1 mm


@pytest.mark.parametrize("times", [1, 8])
def test_windows_are_placed_right_however_fine(tmp_path, times):
    document, space = drawing()
    hatched(space, [(0, 0), (200, 150), (201, 150), (1, 0)])
    path = tmp_path / "plate.dxf"
    document.saveas(path)
    source = dxf.opened(Asked(path, 201, 150))
    resolution, size = FINE * times, 200 * times
    for share in (0.1, 0.5, 0.9):
        left, top = 200 * share - 1, 150 * (1 - share) - 1
        seen = black(source, resolution, left, top, size, size)
        x = left + (np.arange(size) + 0.5) / resolution
        y = 150 - (top + (np.arange(size)[:, None] + 0.5) / resolution)
        wanted = (x >= y * 4 / 3) & (x <= y * 4 / 3 + 1)
        assert (seen != wanted).sum() <= 2 * size / 2  # half a pixel of each edge


def test_lines_of_no_width_are_asked_for(tmp_path):
    document, space = drawing()
    space.add_line((2, 2), (12, 2), dxfattribs={"lineweight": -3})
    space.add_circle((5, 5), 2)  # by its layer, which says none
    space.add_arc((15, 5), 2, 0, 90, dxfattribs={"lineweight": 0})
    space.add_line((2, 8), (12, 8), dxfattribs={"lineweight": 100})
    said = refusal(tmp_path, document)
    assert "lines of no width (3)" in said
    assert said.endswith('thin_line = "0.25 mm".')
    source = opened(tmp_path, document, thin_line=0.4)
    # rounded ends add a disc to each line that has any
    lines = 0.4 * (10 + 4 * math.pi + math.pi) + 2 * math.pi * 0.04 + 10 + math.pi * 0.25
    assert area(source) == pytest.approx(lines, abs=76 / 5 / FINE)
    assert "Lines of no width are drawn 0.4 mm wide (3)." in source.notes
    document.layers.get("0").dxf.lineweight = 50
    assert "lines of no width (2)" in refusal(tmp_path, document)


def test_notes_say_what_was_taken_for_what(tmp_path):
    document, space = drawing()
    square(space, 2, 2, 4)
    assert opened(tmp_path, document).notes == ()
    wide = {"lineweight": 50}
    space.add_circle((5, 5), 2, dxfattribs=wide)
    space.add_lwpolyline([(8, 2), (9, 2), (9, 3)], close=True, dxfattribs=wide)
    space.add_ellipse((14, 5), (2, 0), 0.5, dxfattribs=wide | {"color": 1})
    space.add_point((3, 3))
    assert opened(tmp_path, document).notes == (
        "Closed outlines are drawn as lines (3): hatch them solid to fill them.",
        "Colours other than white are taken as black.",
        "Points are not drawn, for they have no size (1).",
    )


def test_what_is_white_knocks_out_in_order(tmp_path):
    document, space = drawing()
    square(space, 2, 2, 6)
    square(space, 3, 3, 2, true_color=WHITE)
    square(space, 3.5, 3.5, 1, color=3)
    space.add_wipeout([(6, 6), (7, 6), (7, 7), (6, 7)])
    assert area(opened(tmp_path, document)) == pytest.approx(36 - 4 + 1 - 1, abs=0.3)


def test_hidden_layers_are_left_out(tmp_path):
    document, space = drawing()
    block = document.blocks.new("B")
    square(block, 0, 0, 1)
    square(space, 2, 2, 4)
    for number, name in enumerate(("off", "frozen", "unplotted", "Defpoints")):
        layer = (
            document.layers.add(name) if name not in document.layers else document.layers.get(name)
        )
        square(space, 8 + 2 * number, 2, 1, layer=name)
        space.add_text("hidden", dxfattribs={"layer": name})
        layer.dxf.plot = int(name != "unplotted")  # the program that wrote it may say so of any
        if name == "off":
            layer.off()
        elif name == "frozen":
            layer.freeze()
            space.add_blockref("B", (15, 8), dxfattribs={"layer": name})
            square(block, 1, 0, 0.5, layer="shown")
    square(space, 8, 8, 1, invisible=1)
    assert area(opened(tmp_path, document)) == pytest.approx(16, abs=0.1)
    space.delete_entity(space[0])
    assert "draws nothing: its layers are off" in refusal(tmp_path, document)


def test_blocks_turned_scaled_and_in_rows(tmp_path):
    document, space = drawing()
    block = document.blocks.new("B")
    square(block, 0, 0, 1)
    block.add_line((0, 0), (0, 0.5), dxfattribs={"lineweight": -2})  # as its insert
    space.add_blockref(
        "B",
        (2, 2),
        dxfattribs={
            "lineweight": 20,
            "row_count": 3,
            "column_count": 4,
            "row_spacing": 2,
            "column_spacing": 3,
        },
    )
    space.add_blockref(
        "B", (15, 5), dxfattribs={"xscale": 2, "yscale": 2, "rotation": 90, "lineweight": 20}
    )
    half = 0.1 * 0.5 + math.pi * 0.01 / 2  # of each line, the other half is on the square
    wanted = 12 * (1 + half) + 4 + 0.1 * 1 + math.pi * 0.01 / 2
    assert area(opened(tmp_path, document)) == pytest.approx(wanted, abs=0.3)


def test_dashes_and_pattern_hatches_are_lines(tmp_path):
    document, space = drawing()
    document.linetypes.add("DASH", [2.0, 1.0, -1.0])
    space.add_line((1, 1), (11, 1), dxfattribs={"linetype": "DASH", "lineweight": 20})
    dash = 0.2 * 1 + math.pi * 0.01
    assert area(opened(tmp_path, document)) == pytest.approx(5 * dash, rel=0.03)
    space.delete_entity(space[0])
    hatch = square(space, 2.05, 2.05, 4, lineweight=20)
    hatch.set_pattern_fill("LINES", definition=[[0, (0, 0), (0, 1), []]])
    line = 0.2 * 4 + math.pi * 0.01
    assert area(opened(tmp_path, document)) == pytest.approx(4 * line, rel=0.03)


def gradient(document, space):
    square(space, 1, 1, 1).set_gradient()


def picture(document, space):
    space.add_image(document.add_image_def("/etc/passwd", (9, 9)), (0, 0), (1, 1))


def underlay(document, space):
    space.add_underlay(document.add_underlay_def("/etc/passwd", "pdf"))


def reference(document, space):
    document.add_xref_def("/etc/passwd", "X")
    space.add_blockref("X", (0, 0))


def itself(document, space):
    block = document.blocks.new("B")
    document.blocks.new("C").add_blockref("b", (0, 0))
    block.add_blockref("C", (0, 0))
    space.add_blockref("B", (0, 0))


def bomb(document, space):
    for level in range(12):
        block = document.blocks.new(f"B{level}")
        for _ in range(10):
            if level:
                block.add_blockref(f"B{level - 1}", (0, 0))
            else:
                square(block, 0, 0, 1)
    space.add_blockref("B11", (0, 0))


ARRAY = {"row_count": 30000, "column_count": 30000, "row_spacing": 1, "column_spacing": 1}


def rows(document, space):
    document.blocks.new("B")
    space.add_blockref("B", (0, 0), dxfattribs=ARRAY)


def deep(document, space):
    for level in range(30):
        block = document.blocks.new(f"B{level}")
        if level:
            block.add_blockref(f"B{level - 1}", (0, 0))
    space.add_blockref("B29", (0, 0))


def with_attribute(document, space):
    document.blocks.new("B").add_attdef("A", (0, 0))
    space.add_blockref("B", (0, 0)).add_attrib("A", "text", (0, 0))


def proxy(document, space):
    space.add_foreign_entity(
        ezdxf.entities.factory.new("ACAD_PROXY_ENTITY", dxfattribs={}, doc=document), copy=False
    )


def dashes(document, space):
    document.linetypes.add("DASH", [2e-6, 1e-6, -1e-6])
    space.add_line((0, 0), (1e9, 0), dxfattribs={"linetype": "DASH", "lineweight": 20})


def dense(document, space):
    square(space, 1, 1, 4).set_pattern_fill("LINES", definition=[[0, (0, 0), (0, 1e-6), []]])


def infinite(document, space):
    space.add_spline([(0, 0), (1, 1)]).control_points = [(n, n) for n in range(6000)]


def solid(document, space):
    space.add_3dsolid().sab = b"ACIS BinaryFile"


def mesh(document, space):
    with space.add_mesh().edit_data() as data:
        data.vertices, data.faces = [(0, 0, 0), (1, 0, 0), (1, 1, 1)], [(0, 1, 2)]


WIDE = {"lineweight": 50}


@pytest.mark.parametrize(
    ("draw", "said"),
    [
        (lambda d, s: s.add_text("a"), "live text"),
        (lambda d, s: s.add_mtext("a"), "live text"),
        (with_attribute, "live text"),
        (lambda d, s: s.add_linear_dim((0, 2), (0, 0), (5, 0)).render(), "a dimension"),
        (lambda d, s: s.add_leader([(0, 0), (5, 5)]), "a dimension, leader"),
        (picture, "a picture"),
        (underlay, "outside the file, which is never opened"),
        (reference, "refers to another drawing ('X'), which is never opened"),
        (solid, "a solid, surface or mesh"),
        (lambda d, s: s.add_polymesh((3, 3)), "a solid, surface or mesh"),
        (lambda d, s: s.add_3dface([(0, 0), (1, 0), (1, 1)]), "a solid, surface or mesh"),
        (mesh, "a solid, surface or mesh"),
        (lambda d, s: s.add_xline((0, 0), (1, 1)), "a line without an end"),
        (lambda d, s: s.add_ray((0, 0), (1, 1)), "a line without an end"),
        (lambda d, s: s.add_helix(1, 1, 2), "HELIX: explode it"),
        (gradient, "a gradient"),
        (lambda d, s: square(s, 1, 1, 1).set_dxf_attrib("transparency", 0x02000080), "translucent"),
        (lambda d, s: s.add_blockref("NONE", (0, 0)), "'NONE' that is not in the file"),
        (itself, "holds itself"),
        (rows, "more than 100000 objects"),
        (deep, "more than 20 deep"),
        (dashes, "more than 300000 pieces"),
        (dense, "more than 300000 pieces"),
        (infinite, "a spline of 6"),
        (lambda d, s: s.add_circle((0, 0), 1e15, dxfattribs=WIDE), "larger than 5000 mm"),
        (lambda d, s: s.add_line((0, 0), (1e300, 0), dxfattribs=WIDE), "larger than 5000 mm"),
        (lambda d, s: s.add_line((1e11, 0), (1e11, 1), dxfattribs=WIDE), "larger than 5000 mm"),
        (lambda d, s: s.add_line((30, 1), (30, 9), dxfattribs=WIDE), "0 × 8 mm"),
        (lambda d, s: None, "is empty"),
        (lambda d, s: s.add_point((1, 1)), "draws nothing"),
        (lambda d, s: d.layout("Layout1").add_line((0, 0), (1, 1)), "only on a sheet"),
    ],
)
def test_what_a_film_cannot_hold_is_refused_by_name(tmp_path, draw, said):
    document, space = drawing()
    draw(document, space)
    assert said in refusal(tmp_path, document)


def test_blocks_within_blocks_are_counted_as_they_are_drawn(tmp_path, monkeypatch):
    monkeypatch.setattr(dxf_checks, "_MOST_OBJECTS", 2000)
    document, space = drawing()
    bomb(document, space)  # a million million squares
    assert "more than 2000 objects" in refusal(tmp_path, document)


def test_too_many_pieces_and_bytes_are_refused(tmp_path, monkeypatch):
    document, space = drawing()
    for _ in range(20):
        square(space, 1, 1, 1)
    monkeypatch.setattr(dxf_pen, "_MOST_PIECES", 19)
    assert "more than 19 pieces" in refusal(tmp_path, document)
    monkeypatch.setattr(dxf_checks, "_MOST_OBJECTS", 19)
    assert "more than 19 objects" in refusal(tmp_path, document)
    monkeypatch.setattr(dxf, "LARGEST", 100)
    assert "MB" in refusal(tmp_path, document)


def test_broken_files_get_a_sentence(tmp_path):
    document, space = drawing()
    square(space, 1, 1, 4)
    path = tmp_path / "plate.dxf"
    document.saveas(path)
    whole = path.read_bytes()
    for data in (b"", b"hello", b"0\nSECTION\n", whole[: len(whole) // 2], whole[:-200]):
        path.write_bytes(data)
        with pytest.raises(BadInput, match=r"broken or cut short"):
            dxf.opened(Asked(path, 20, 10))
    with pytest.raises(BadInput, match="cannot be opened"):
        dxf.opened(Asked(tmp_path / "none.dxf", 20, 10))


def test_a_binary_file_is_read_alike(tmp_path):
    document, space = drawing()
    square(space, 1, 1, 4)
    path = tmp_path / "plate.dxf"
    document.saveas(path, fmt="bin")
    assert area(dxf.opened(Asked(path, 20, 10))) == pytest.approx(16, abs=0.1)


def test_nothing_of_the_user_is_read_or_written(tmp_path):
    """Importing ezdxf lists fonts in the user's home and takes settings from it, unless kept from it."""
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "ezdxf.ini").write_text("[core]\nsupport_dirs = /etc\n")
    code = (
        "from pathlib import Path; from etchcalc.artwork import dxf; import os, ezdxf\n"
        "assert not ezdxf.options.support_dirs, ezdxf.options.support_dirs\n"
        "assert os.environ['XDG_CACHE_HOME'] == 'kept' and 'XDG_CONFIG_HOME' not in os.environ"
    )
    environment = {"HOME": str(home), "USERPROFILE": str(home), "XDG_CACHE_HOME": "kept"}
    done = subprocess.run(
        [sys.executable, "-P", "-c", code],
        cwd=tmp_path,
        env=environment | {"PYTHONPATH": str(Path(dxf.__file__).parents[2])},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert sorted(found.name for found in tmp_path.rglob("*")) == ["ezdxf.ini", "home"]


def test_mutated_files_are_drawn_or_get_a_sentence(tmp_path):
    """120 mutations of a file with lines, curves, hatches and a block."""
    document, space = drawing()
    block = document.blocks.new("B")
    square(block, 0, 0, 1)
    space.add_blockref("B", (2, 2), dxfattribs={"row_count": 2, "row_spacing": 2})
    ring_of_hatch(space)
    space.add_spline([(1, 1), (2, 3), (4, 1)], dxfattribs=WIDE)
    space.add_lwpolyline([(1, 1, 0.1, 0.2, 0.5), (5, 5, 0.1, 0.1, 0)])
    path = tmp_path / "fuzz.dxf"
    document.saveas(path)
    lines = path.read_bytes().split(b"\n")
    first = lines.index(b"ENTITIES")
    chance, drawn = random.Random(1), 0
    for _ in range(120):
        data = list(lines)
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(first if chance.random() < 0.8 else 0, len(data))
            match chance.randrange(4):
                case 0:
                    data[place] = b"%d" % chance.choice([-1, 0, 7, 10**6, 2**31, 10**300])
                case 1:
                    del data[place]
                case 2:
                    data[place] = chance.choice([b"nan", b"inf", b"1e308", b"", b"\xff"])
                case 3:
                    data[place : place + 2] = data[place : place + 2][::-1]
        path.write_bytes(b"\n".join(data))
        try:
            dxf.opened(Asked(path, 20, 10, thin_line=0.1)).rendered(0, 0, 5, 100, 50)
            drawn += 1
        except BadInput as fault:
            assert "\n" not in str(fault)
    assert 10 < drawn < 110
