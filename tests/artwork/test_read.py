import math
from pathlib import Path

import numpy as np
import pytest

import etchcalc
from etchcalc.artwork import drawing, read
from etchcalc.artwork.read import read_svg
from etchcalc.core.faults import BadInput

HEAD = 'xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10"'
DEMO = Path(etchcalc.__file__).parent / "data" / "demo" / "artwork.svg"
PIXEL = 25.4 / 1200


def film(folder, body, head=HEAD, before="", **size):
    path = folder / "plate.svg"
    path.write_text(f"{before}<svg {head}>{body}</svg>", encoding="utf-8")
    return read_svg(path, **{"width": 20, "height": 10, **size})


def area(film):
    return film.unpacked().sum() / film.resolution**2


def refusal(folder, body="", **more):
    with pytest.raises(BadInput) as caught:
        film(folder, body, **more)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_rectangle_in_true_size_and_place(tmp_path):
    drawn = film(tmp_path, '<rect x="2" y="3" width="10" height="4"/>')
    assert (drawn.columns, drawn.rows) == (945, 472)  # 20 and 10 mm at 47.244 a mm
    rows, columns = np.nonzero(drawn.unpacked())
    assert columns.min() * PIXEL == pytest.approx(2, abs=PIXEL / 2)
    assert (columns.max() + 1) * PIXEL == pytest.approx(12, abs=PIXEL / 2)
    assert rows.min() * PIXEL == pytest.approx(3, abs=PIXEL / 2)
    assert (rows.max() + 1) * PIXEL == pytest.approx(7, abs=PIXEL / 2)


def test_a_ring_by_stroke_and_by_knocking_out(tmp_path):
    by_stroke = film(
        tmp_path, '<circle cx="10" cy="5" r="3" fill="none" stroke="#000" stroke-width="2"/>'
    )
    by_white = film(
        tmp_path, '<circle cx="10" cy="5" r="4"/><circle cx="10" cy="5" r="2" fill="white"/>'
    )
    ring = math.pi * (16 - 4)
    assert area(by_stroke) == pytest.approx(ring, abs=0.1)  # an edge off by 3 µm
    assert area(by_white) == pytest.approx(ring, abs=0.1)


def test_user_units_of_a_drawing_without_viewbox_are_96_an_inch(tmp_path):
    head = 'xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm"'
    drawn = film(tmp_path, '<rect width="37.7953" height="18.8976"/>', head=head)
    assert area(drawn) == pytest.approx(10 * 5, abs=0.2)


def test_sizes_in_cm_and_inches(tmp_path):
    head = HEAD.replace("20mm", "2cm").replace("10mm", "0.3937in")
    assert area(film(tmp_path, '<rect width="4" height="2"/>', head=head)) == pytest.approx(8, 0.01)


def test_bands_do_not_show(tmp_path, monkeypatch):
    body = '<path d="M1 1 19 3 8 9z"/>'
    whole = film(tmp_path, body)
    monkeypatch.setattr(read, "_BAND", 945 * 50)
    assert np.array_equal(film(tmp_path, body).bits, whole.bits)


def test_crisp_whatever_the_drawing_asks_for(tmp_path):
    body = '<path shape-rendering="geometricPrecision" d="M1 1 19 3 8 9z"/>'
    assert np.array_equal(
        film(tmp_path, body).bits, film(tmp_path, '<path d="M1 1 19 3 8 9z"/>').bits
    )


def test_transparent_is_white_and_nothing_drawn_is_a_clear_film(tmp_path):
    assert area(film(tmp_path, "")) == 0


@pytest.mark.parametrize(
    "body",
    [
        '<rect width="4" height="2" fill="#231f20"/>',
        '<rect width="4" height="2" style="fill:rgb(0,0,0);stroke:none;opacity:1"/>',
        '<style>.a { fill: black } /* x */</style><rect class="a" width="4" height="2"/>',
        '<rect width="4" height="2"/><g style="display:none"><text>x</text></g>',
        '<defs><linearGradient id="g"/></defs><rect width="4" height="2" fill="currentColor"/>',
        '<metadata><x xmlns="urn:x">y</x></metadata><rect width="4" height="2" onclick="x()"/>',
        '<defs><rect id="r" width="4" height="2"/></defs><use href="#r"/>',
        '<mask id="m"><rect width="4" height="2" fill="#fff"/></mask>'
        '<rect width="9" height="9" mask="url(#m)"/>',
    ],
)
def test_what_is_accepted(tmp_path, body):
    assert area(film(tmp_path, body)) == pytest.approx(8, abs=0.15)


def test_a_plain_doctype_is_read(tmp_path):
    before = '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x.dtd">'
    assert area(film(tmp_path, '<rect width="4" height="2"/>', before=before)) > 7


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("<text>Hello</text>", "convert text to outlines"),
        ('<image href="data:image/png;base64,AA"/>', "an embedded image"),
        ("<script>1</script>", "a script"),
        ('<rect><animate attributeName="x"/></rect>', "an animation"),
        ("<foreignObject/>", "a foreign object"),
        ("<a><rect/></a>", "a link"),
        ("<video/>", "<video>"),
        ('<linearGradient id="g"/><rect fill="url(#g)"/>', "a gradient"),
        ('<pattern id="g"/><rect style="stroke:url(#g)"/>', "a pattern"),
        ('<rect fill="url(#gone)"/>', "a paint that cannot be read"),
        ('<rect filter="url(#f)"/>', "a filter"),
        ('<rect style="mix-blend-mode:multiply"/>', "blends colours"),
        ('<g opacity="0.5"/>', "opacity 0.5"),
        ('<rect fill-opacity="50%"/>', "fill-opacity 50%"),
        ('<rect style="stroke-opacity:.2"/>', "stroke-opacity .2"),
        ('<rect fill="rgba(0,0,0,0)"/>', "translucent fill"),
        ('<rect fill="#00000080"/>', "translucent fill"),
        ('<rect fill="red"/>', "fill red, which is neither black nor white"),
        ('<rect stroke="#808080"/>', "stroke #808080"),
        ('<rect fill="var(--ink)"/>', "cannot be read"),
        ("<style>.a{fill:#0f0}</style>", "fill #0f0"),
        ("<style>@import 'x.css';</style>", "cannot be checked"),
        ('<rect style="transform:scale(2)"/>', "sets transform in a style"),
        ('<rect vector-effect="non-scaling-stroke"/>', "no true size"),
        ('<rect style="-inkscape-stroke:hairline"/>', "hairline"),
        ('<use href="other.svg#a"/>', "outside itself (other.svg#a)"),
        ('<rect clip-path="url(http://x.example/a#b)"/>', "outside itself"),
        ("<g>" * 300 + "</g>" * 300, "groups more than 200 deep"),
        ("<g>", "cannot be read as an SVG"),
        (
            '<mask id="m"><rect width="9" height="9" fill="#fff"/><path id="p" '
            'd="M0 0h9v9h-9z" fill="#404040"/></mask><rect width="9" height="9" mask="url(#m)"/>',
            "comes out grey",
        ),
    ],
)
def test_what_is_refused_and_how(tmp_path, body, said):
    assert said in refusal(tmp_path, body)


def test_entities_are_refused_unexpanded(tmp_path):
    before = '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    assert "entities" in refusal(tmp_path, "<desc>&b;</desc>", before=before)


def test_an_outside_style_sheet_is_refused(tmp_path):
    assert "a style sheet" in refusal(tmp_path, before='<?xml-stylesheet href="a.css"?>')


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ('width="454px" height="170px"', 'width="454px" and height="170px"'),
        ('width="100%" height="10mm"', 'width="100%"'),
        ("", "no width and no height"),
    ],
)
def test_a_drawing_without_true_size(tmp_path, size, said):
    text = refusal(tmp_path, head=f'xmlns="http://www.w3.org/2000/svg" {size}')
    assert said in text
    assert "Write its width and height in mm" in text


def test_the_wrong_size_is_said_both_ways(tmp_path):
    assert refusal(tmp_path, width=12, height=4.5).startswith(
        "The drawing is 20 × 10 mm but the plate is 12 × 4.5 mm:"
    )
    assert refusal(tmp_path, width=20.2, height=10).startswith(
        "The drawing is 20 × 10 mm but the plate is 20.2 × 10 mm:"
    )
    assert film(tmp_path, "", width=20.05, height=9.95).columns == 947


def test_a_film_too_large(tmp_path):
    assert "give a smaller plate" in refusal(tmp_path, width=2000, height=2000)


def test_files_that_are_no_drawing(tmp_path, monkeypatch):
    path = tmp_path / "a.svg"
    for content, said in (("", "is empty"), ("hello", "cannot be read"), ("<html/>", "<html>")):
        path.write_text(content)
        with pytest.raises(BadInput, match=said):
            read_svg(path, width=20, height=10)
    with pytest.raises(BadInput, match=r"b\.svg cannot be opened"):
        read_svg(tmp_path / "b.svg", width=20, height=10)
    monkeypatch.setattr(drawing, "LARGEST", 3)
    with pytest.raises(BadInput, match="accepted are up to"):
        read_svg(path, width=20, height=10)


def test_the_demo_is_one_of_ours():
    text = DEMO.read_text(encoding="utf-8")
    assert "invented demonstration" in text
    assert read_svg(DEMO, width=120, height=45).columns == 5669
