"""One drawing saved as SVG, PDF, DXF, TIFF and PNG measures the same, and as its closed form says."""

import math
from pathlib import Path

import numpy as np
import pytest
import tifffile
from matplotlib.path import Path as Outline
from matplotlib.textpath import TextPath
from PIL import Image

from etchcalc.artwork import read
from etchcalc.artwork.dxf_pen import ezdxf
from etchcalc.artwork.measure import measure
from etchcalc.artwork.refine import refined
from etchcalc.artwork.source import Asked

WIDTH, HEIGHT = 30.0, 20.0
KINDS = ("svg", "pdf", "dxf", "tif", "png")
FINE = 1200 / 25.4


def ring(radius, middle, corners=720):
    turn = np.linspace(0, 2 * math.pi, corners, endpoint=False)
    return np.column_stack([middle[0] + radius * np.cos(turn), middle[1] + radius * np.sin(turn)])


def koch(times=3, side=5.0, corner=(21.0, 3.0)):
    points = np.array([0, side, side / 2 + side * math.sqrt(3) / 2 * 1j])
    for _ in range(times):
        third = (np.roll(points, -1) - points) / 3
        peak = points + third + third * np.exp(-1j * math.pi / 3)
        points = np.stack([points, points + third, peak, points + 2 * third], axis=1).ravel()
    return np.column_stack([points.real + corner[0], points.imag + corner[1]])


def box(left, top, wide, high):
    return np.array(
        [[left, top], [left + wide, top], [left + wide, top + high], [left, top + high]]
    )


def letters():
    """Outlines of DejaVu Sans, a free font that comes with matplotlib, curves as polygons."""
    flat = TextPath((0, 0), "Rg8", size=6).to_polygons()
    return [np.column_stack([5 + p[:-1, 0], 18 - p[:-1, 1]]) for p in flat]


# filled by the even-odd rule: a ring, a comb of 0.40 mm lines 0.50 mm apart, a snowflake, letters
SHAPES = [
    ring(3.0, (5.0, 5.0)), ring(2.4, (5.0, 5.0)),
    *(box(10 + 0.9 * i, 2, 0.4, 7) for i in range(10)),
    koch(), *letters(),
]  # fmt: skip


def area_of(points):
    x, y = points.T
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def inside(across, down):
    """Even-odd filling at points, by matplotlib: independent of any renderer here."""
    points = np.column_stack([across.ravel(), down.ravel()])
    found = np.zeros(len(points), bool)
    for shape in SHAPES:
        low, high = shape.min(axis=0), shape.max(axis=0)
        near = ((points >= low) & (points <= high)).all(axis=1)
        found[near] ^= Outline(np.vstack([shape, shape[:1]])).contains_points(points[near])
    return found.reshape(across.shape)


def by_points(resolution):
    columns, rows = round(WIDTH * resolution), round(HEIGHT * resolution)
    return inside(*np.meshgrid((np.arange(columns) + 0.5) / resolution,
                               (np.arange(rows) + 0.5) / resolution))  # fmt: skip


# closed forms: even-odd, so the ring's hole and the letters' counters are taken off
def _signed():
    total = area_of(SHAPES[0]) - area_of(SHAPES[1]) + 10 * 0.4 * 7 + area_of(koch())
    for shape in letters():
        holes = sum(
            Outline(np.vstack([o, o[:1]])).contains_point(shape[0])
            for o in letters() if not np.array_equal(o, shape)
        )  # fmt: skip
        total += -area_of(shape) if holes % 2 else area_of(shape)
    return total


AREA = _signed()
EDGES = sum(np.hypot(*(np.roll(s, -1, axis=0) - s).T).sum() for s in SHAPES)


def saved(folder, kind, resolution):
    path = folder / f"plate.{kind}"
    if kind == "svg":
        d = "".join("M" + "L".join(f"{x:.6f},{y:.6f}" for x, y in s) + "Z" for s in SHAPES)
        path.write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" '
            f'viewBox="0 0 {WIDTH} {HEIGHT}"><path fill-rule="evenodd" d="{d}"/></svg>'
        )
    elif kind == "pdf":
        path.write_bytes(_pdf())
    elif kind == "dxf":
        document = ezdxf.new()
        document.header["$INSUNITS"] = 4
        hatch = document.modelspace().add_hatch(color=7, dxfattribs={"hatch_style": 0})
        for shape in SHAPES:
            hatch.paths.add_polyline_path([(x, HEIGHT - y) for x, y in shape], is_closed=True)
        document.saveas(path)
    elif kind == "tif":
        dpi = resolution * 25.4
        tifffile.imwrite(path, ~by_points(resolution), photometric="minisblack",
                         resolution=(dpi, dpi), resolutionunit="INCH")  # fmt: skip
    else:
        Image.fromarray(~by_points(resolution)).save(path, dpi=(resolution * 25.4,) * 2)
    return path


def _pdf():
    scale = 72 / 25.4
    body = "".join(
        " ".join(f"{x * scale:.6f} {(HEIGHT - y) * scale:.6f} {'l' if i else 'm'}"
                 for i, (x, y) in enumerate(s)) + " h\n"
        for s in SHAPES
    ) + "f*"  # fmt: skip
    parts = [
        "<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {WIDTH * scale:.6f} {HEIGHT * scale:.6f}] "
        "/Contents 4 0 R >>",
        f"<< /Length {len(body)} >>\nstream\n{body}\nendstream",
    ]  # fmt: skip
    out, places = "%PDF-1.4\n", []
    for number, part in enumerate(parts, 1):
        places.append(len(out))
        out += f"{number} 0 obj\n{part}\nendobj\n"
    table = "".join(f"{place:010d} 00000 n \n" for place in places)
    out += f"xref\n0 5\n0000000000 65535 f \n{table}trailer << /Size 5 /Root 1 0 R >>\n"
    return (out + f"startxref\n{out.index('xref')}\n%%EOF\n").encode()


def found(path: Path, resolution):
    asked = Asked(path, WIDTH, HEIGHT, resolution)
    return refined(measure(read.film(asked)[0]), asked)


@pytest.fixture(scope="module")
def measures(tmp_path_factory):
    folder = tmp_path_factory.mktemp("formats")
    return {kind: found(saved(folder, kind, FINE), FINE) for kind in KINDS}


def test_the_drawing_itself():
    assert 28 + 17 + 12 < AREA < 28 + 17 + 30 and 250 < EDGES < 350


@pytest.mark.parametrize("kind", KINDS)
def test_the_area_is_right_to_half_a_pixel_of_edge_and_better_when_finer(measures, tmp_path, kind):
    error = abs(measures[kind].open_area - AREA)
    assert error <= EDGES / FINE / 2
    coarse = 150 / 25.4
    rough = abs(read_area(saved(tmp_path, kind, coarse), coarse) - AREA)
    assert rough <= EDGES / coarse / 2
    assert error < 0.1 * EDGES / FINE  # in truth far better than the bound


def read_area(path, resolution):
    film, _ = read.film(Asked(path, WIDTH, HEIGHT, resolution))
    return film.unpacked().sum() / resolution**2


@pytest.mark.parametrize("kind", KINDS[1:])
def test_every_format_measures_the_same(measures, kind):
    first, other = measures["svg"], measures[kind]
    assert other.open_area == pytest.approx(first.open_area, abs=EDGES / FINE / 2)
    assert other.narrowest_line == pytest.approx(first.narrowest_line, abs=first.pixel)
    assert other.narrowest_land == pytest.approx(first.narrowest_land, abs=first.pixel)
    assert other.edge_length == pytest.approx(first.edge_length, rel=0.01)
    assert other.shares == pytest.approx(first.shares, abs=0.01)
    assert (other.etched_pieces, other.kept_pieces) == (first.etched_pieces, first.kept_pieces)
    assert other.island_area == pytest.approx(first.island_area, abs=0.03)


def test_the_comb_is_the_narrowest_line_and_refined_to_a_quarter_pixel(measures):
    # 0.90 mm apart, 0.40 mm wide; the letters' strokes are wider, their counters too
    for kind in ("svg", "pdf", "dxf"):
        assert measures[kind].narrowest_line == pytest.approx(0.4, abs=measures[kind].width_bound)
        assert measures[kind].width_bound == pytest.approx(1 / FINE / 4)
    for kind in ("tif", "png"):
        assert measures[kind].narrowest_line == pytest.approx(0.4, abs=1 / FINE)


def test_edges_are_as_long_as_they_are_drawn(measures):
    # the snowflake's finest sides, 0.19 mm, are nine pixels
    assert measures["svg"].edge_length == pytest.approx(EDGES, rel=0.02)
