import gzip
import math
import time
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.artwork import svg, svg_checks, svg_near
from etchcalc.artwork.film import Film
from etchcalc.artwork.source import Asked
from etchcalc.artwork.svg_outline import outline_box, outline_length
from etchcalc.core.faults import BadInput

SIZE = (20, 10)
HEAD = 'xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10"'
BARE = 'xmlns="http://www.w3.org/2000/svg"'
RESOLUTION = 1200 / 25.4


def opened(folder, body, head=HEAD, before="", unit=None):
    path = folder / "plate.svg"
    path.write_text(f"{before}<svg {head}>{body}</svg>", encoding="utf-8")
    return svg.opened(Asked(path, *SIZE, unit=unit))


def film(source, left=0.0, top=0.0, columns=945, rows=472, resolution=RESOLUTION):
    return Film(source.rendered(left, top, resolution, columns, rows), columns, rows, resolution)


def area(source, **window):
    return film(source, **window).unpacked().sum() / RESOLUTION**2


def refusal(folder, body="", **more):
    with pytest.raises(BadInput) as caught:
        film(opened(folder, body, **more))
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_user_units_of_a_drawing_without_viewbox_are_96_an_inch(tmp_path):
    head = f'{BARE} width="20mm" height="10mm"'
    drawn = opened(tmp_path, '<rect width="37.7953" height="18.8976"/>', head=head)
    assert area(drawn) == pytest.approx(10 * 5, abs=0.2)


@pytest.mark.parametrize(
    ("size", "unit", "expected"),
    [
        ('width="2cm" height="0.3937in"', None, (20, 10, True)),
        ('width="96px" height="48"', None, (25.4, 12.7, False)),
        ('width="72pt" height="3pc"', None, (25.4, 12.7, False)),
        ('viewBox="0 0 96 48"', None, (25.4, 12.7, False)),
        ('width="100%" height="100%" viewBox="0,0,96,48"', None, (25.4, 12.7, False)),
        ('width="96" height="48"', 0.5, (48, 24, True)),
        ('width="960" height="480" viewBox="0 0 96 48"', 0.5, (48, 24, True)),
        ('width="96mm" height="48mm" viewBox="0 0 1 1"', 0.5, (96, 48, True)),
    ],
)
def test_sizes(tmp_path, size, unit, expected):
    # Units of length: CSS Values and Units 3, section 6.2: 1 in = 96 px = 72 pt = 6 pc.
    source = opened(tmp_path, "", head=f"{BARE} {size}", unit=unit)
    assert (source.width, source.height, source.sized) == (
        *(pytest.approx(side, rel=1e-4) for side in expected[:2]),
        expected[2],
    )


@pytest.mark.parametrize("size", ["", 'width="20mm"', 'width="0mm" height="10mm"'])
def test_a_drawing_without_any_size(tmp_path, size):
    assert "does not say how large it is" in refusal(tmp_path, head=f"{BARE} {size}")


def test_any_window_is_that_part_of_the_whole(tmp_path):
    source = opened(tmp_path, '<path d="M1 1 19 3 8 9z"/><circle cx="15" cy="7" r="2"/>')
    whole = film(source, resolution=40, columns=800, rows=400).unpacked()
    part = film(source, left=-2.5, top=5, columns=900, rows=300, resolution=40).unpacked()
    assert not part[:, :100].any()
    assert not part[200:].any()
    assert np.array_equal(part[:200, 100:], whole[200:])


def test_pieces_do_not_show(tmp_path, monkeypatch):
    source = opened(tmp_path, '<path d="M1 1 19 3 8 9z"/>')
    whole = film(source)
    monkeypatch.setattr(svg, "_NARROWEST", 56)
    assert np.array_equal(film(source).bits, whole.bits)


SHAPES = st.sampled_from(
    (
        '<rect x="{}" y="{}" width=".5" height=".3"/>',
        '<circle cx="{}" cy="{}" r=".4"/>',
        '<line x1="{}" y1="{}" x2="9" y2="2"/>',
        '<path transform="translate({} {}) rotate(130 4 -3) scale(.5,-1)" d="m0 0a1 1 0 012 1q1 1 1 0z"/>',
        '<g transform="matrix(.1 .2 -.2 .1 {} {})"><polygon points="0,0 4,1 2 7"/></g>',
        '<g clip-path="url(#c)"><ellipse cx="{}" cy="{}" rx="2" ry=".1"/></g>',
        '<use href="#u" x="{}" y="{}"/>',
        '<path transform="skewX(20)" d="M{} {}v2l1-1"/>',
        '<rect x="{}mm" y="{}" width="1" height="1" fill="#fff"/>',
    )
)
PLACES = st.floats(-5, 25).map(lambda place: round(place, 3))
DEFS = '<clipPath id="c"><rect width="15" height="9"/></clipPath><defs><path id="u" d="M0 0h1v1"/></defs>'


@settings(max_examples=60)
@given(
    shapes=st.lists(st.tuples(SHAPES, PLACES, PLACES), min_size=30, max_size=60),
    stroke=st.sampled_from(("", 'stroke="#000" stroke-width="1.5" stroke-miterlimit="9"')),
    box=st.sampled_from(("0 0 20 10", "-3 2 17 13", "0 0 40 20")),
    corner=st.tuples(st.floats(-2, 18), st.floats(-2, 9)),
)
def test_what_lies_elsewhere_makes_no_difference(shapes, stroke, box, corner):
    body = "".join(shape.format(*place) for shape, *place in shapes)
    root = ET.fromstring(f'<svg {BARE} viewBox="{box}">{DEFS}<g {stroke}>{body}</g></svg>')
    part = (*corner, 40, 150, 90)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(svg_near, "_MANY", 10**9)
        whole = svg.source_of(root, *SIZE).rendered(*part)
        patch.setattr(svg_near, "_MANY", 0)
        assert np.array_equal(svg.source_of(root, *SIZE).rendered(*part), whole)


def test_what_lies_elsewhere_is_not_rendered(tmp_path):
    dots = "".join(f'<circle cx="{i % 60}" cy="{i // 60}" r=".3"/>' for i in range(600))
    near = opened(tmp_path, dots, head=HEAD.replace("0 0 20 10", "0 0 60 30")).near
    assert near.text(1, 1, 2, 2).count("<circle") == 16  # at 3, 4, 5 and 6 thirds of a mm


def test_wider_than_the_renderer_can_at_once(tmp_path):
    source = opened(tmp_path, '<path d="M1 1 19 3 8 9z"/>')
    wide = film(source, resolution=20_000, top=2.5, columns=400_000, rows=3)
    # 1.5 mm below its upper corner the triangle lies between these, by hand.
    left, right = 1 + 7 * 1.5 / 8, 1 + 18 * 1.5 / 2
    first, last = np.nonzero(wide.unpacked()[0])[0][[0, -1]]
    assert first / 20_000 == pytest.approx(left, abs=2e-4)
    assert (last + 1) / 20_000 == pytest.approx(right, abs=6e-4)  # 9 across to 1 down


def test_crisp_whatever_the_drawing_asks_for(tmp_path):
    crisp = film(opened(tmp_path, '<path d="M1 1 19 3 8 9z"/>')).bits
    body = '<path shape-rendering="geometricPrecision" d="M1 1 19 3 8 9z"/>'
    assert np.array_equal(film(opened(tmp_path, body)).bits, crisp)


@pytest.mark.parametrize(
    "body",
    [
        '<rect width="4" height="2" fill="#231f20"/>',
        '<rect width="4" height="2" style="fill:rgb(0,0,0);stroke:none;opacity:1"/>',
        '<style>.a { fill: black } /* x */</style><rect class="a" width="4" height="2"/>',
        "<style>svg > rect { fill: none; stroke: black }</style>"
        '<rect x="1" y="1" width="3" height="1"/>',
        '<style>g { fill: none }</style><rect width="4" height="2"/>',
        '<rect width="4" height="2"/><g style="display:none"><text>x</text></g>',
        '<defs><linearGradient id="g"/></defs><rect width="4" height="2" fill="currentColor"/>',
        '<metadata><x xmlns="urn:x">y</x></metadata><rect width="4" height="2" onclick="x()"/>',
        '<defs><rect id="r" width="4" height="2"/></defs><use href="#r"/>',
        '<mask id="m"><rect width="4" height="2" fill="#fff"/></mask>'
        '<rect width="9" height="9" mask="url(#m)"/>',
        '<svg x="3" y="3" width="8" height="4" viewBox="0 0 4 2"><rect x="1" y=".5" width="2" '
        'height="1"/></svg>',
        '<symbol id="s" viewBox="0 0 4 2"><rect x="1" y=".5" width="2" height="1"/></symbol>'
        '<use href="#s" x="3" y="3" width="8" height="4"/>',
        '<clipPath id="c"><rect width="4" height="2"/></clipPath>'
        '<rect width="9" height="9" clip-path="url(#c)"/>',
        '<path d="M0,0h4v2h-4zM9 9.5a1 1 0 012 0"/>',
        '<path d="m0 0l4-0 0,2-4.0.0z" transform="translate(1,1) rotate(90 4 4)"/>',
        '<path d=""/><polygon points="0,0 4,0 4,2 0,2"/>',
        '<path d="M0 1h8" stroke="#000" stroke-width="2" stroke-dasharray="1"/>',
    ],
)
def test_what_is_accepted(tmp_path, body):
    assert area(opened(tmp_path, body), rows=380) == pytest.approx(8, abs=0.15)


def test_a_plain_doctype_is_read(tmp_path):
    before = '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x.dtd">'
    assert area(opened(tmp_path, '<rect width="4" height="2"/>', before=before)) > 7


USES = "".join(f'<g id="u{i + 1}">{10 * f"""<use href="#u{i}"/>"""}</g>' for i in range(6))
CLIPS = "".join(f'<clipPath id="c{i}" clip-path="url(#c{i + 1})"/>' for i in range(50))
CHAIN = "".join(f'<g id="u{i + 1}"><use href="#u{i}"/></g>' for i in range(150))


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
            'd="M0 0h9v9h-9z" fill="#404040"/></mask>'
            '<rect x="2" y="1" width="9" height="9" mask="url(#m)"/>',
            "comes out grey (first 1.99 mm from its left and 0.99 mm down)",
        ),
        ('<svg width="3" height="3"><rect width="9" height="9"/></svg>', "ungroup that"),
        ('<path d="M0 0 h5 q 3"/>', 'a <path> whose d cannot be read ("M0 0 h5 q 3")'),
        ('<path d="h5 v5"/>', "whose d cannot be read"),
        ('<rect width="nan" height="5"/>', "a <rect> whose width cannot be read"),
        ('<g transform="scale(2"/>', "a <g> whose transform cannot be read"),
        ('<path d="M0 0 L1e30 5 5 5z"/>', "goes beyond all bounds"),
        ('<circle r="123456789"/>', "goes beyond all bounds"),
        ('<svg viewBox="0 0 0 5"/>', "four numbers"),
        (f'<defs><rect id="u0"/>{USES}</defs>', "more than 200,000 parts"),
        (f'<defs><rect id="u0"/>{CHAIN}</defs>', "copies more than 200 deep"),
        ('<g id="a"><use href="#a"/></g>', "copies itself"),
        ('<mask id="a"><rect mask="url(#a)"/></mask>', "copies itself"),
        (
            '<style>.c{clip-path:url(#a)}</style><clipPath id="a"><rect class="c"/></clipPath>',
            "itself",
        ),
        (
            f'<marker id="m">{"<rect/>" * 999}</marker>'
            f'<g marker-mid="url(#m)"><path d="M0 0{"h1" * 999}"/></g>',
            "more than 200,000 parts",
        ),
        (CLIPS, "more than 8 within one another"),
        ('<path d="M0 5H20" stroke="#000" stroke-dasharray="1e-5"/>', "dashes so short"),
        (
            f'<style>.a{{stroke-dasharray:.01 .01}}</style><path d="M0 0{"l9 9-9-9" * 200}"/>',
            "dashes so short",
        ),
    ],
)
def test_what_is_refused_and_how(tmp_path, body, said):
    started = time.process_time()
    assert said in refusal(tmp_path, body)
    assert time.process_time() - started < 5  # a bomb would take minutes


@pytest.mark.parametrize(
    ("path", "length", "box"),
    [  # by hand; each begins one step away from the corner that a path begins at
        ("M1 0H3V2H1Z", 9, (1, 0, 3, 2)),
        ("m1 0h2v2h-2z", 9, (1, 0, 3, 2)),
        ("M1,0L3,0 3,2 1,2 1,0", 9, (1, 0, 3, 2)),
        ("m1 0 2 0 0 2-2 0zl1 1", 9 + math.sqrt(2), (1, 0, 3, 2)),
        ("M0 0C1 0 2 0 3 0S5 0 6 0q1 0 2 0t1 0", 9, (0, 0, 9, 0)),
        ("M0 0q1 1 2 0t2 0t2 0", 6 * math.sqrt(2), (0, -1, 6, 1)),
    ],
)
def test_outlines_are_measured_by_their_control_points(path, length, box):
    element = ET.Element("path", d=path)
    assert outline_length(element) == pytest.approx(length)
    assert outline_box(element, "path") == box


def test_an_arc_whose_radii_are_too_small_grows():
    for path in ("M0 0a1 1 0 0120 0", "M0 0A.1 1 30 0 1 20 0"):
        left, top, right, bottom = outline_box(ET.Element("path", d=path), "path")
        assert left <= 0
        assert right >= 20
        assert top <= -10 < 10 <= bottom
        assert outline_length(ET.Element("path", d=path)) >= 10 * math.pi


def test_entities_are_refused_unexpanded(tmp_path):
    before = '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    assert "entities" in refusal(tmp_path, "<desc>&b;</desc>", before=before)


def test_an_outside_style_sheet_is_refused(tmp_path):
    assert "a style sheet" in refusal(tmp_path, before='<?xml-stylesheet href="a.css"?>')


def test_files_that_are_no_svg(tmp_path, monkeypatch):
    path = tmp_path / "a.svg"
    packed = gzip.compress(b"<svg/>")
    for content, said in ((b"", "is empty"), (b"<html/>", "<html>"), (packed, "unpack it")):
        path.write_bytes(content)
        with pytest.raises(BadInput, match=said):
            svg.opened(Asked(path, *SIZE))
    monkeypatch.setattr(svg_checks, "LARGEST", 3)
    with pytest.raises(BadInput, match="accepted are up to"):
        svg.opened(Asked(path, *SIZE))


VALID = [
    f'<svg {HEAD}><path d="M1 1 19 3 8 9z" transform="rotate(3)"/></svg>',
    f'<svg {HEAD}><style>.a{{stroke:#000}}</style><g id="b"><circle r="3" class="a"/></g>'
    '<use href="#b" x="4"/></svg>',
    f'<svg {HEAD}><clipPath id="c"><rect width="5" height="5"/></clipPath><path clip-path="url(#c)" '
    'd="m1 1c1 0 2 1 3 3a1 1 0 013 2z" stroke="#000" stroke-dasharray="1 2"/></svg>',
]
CHANGES = st.lists(
    st.tuples(st.floats(0, 1), st.sampled_from("dic"), st.binary(min_size=1, max_size=4)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=300)
@given(drawing=st.sampled_from(VALID), changes=CHANGES)
def test_a_spoilt_drawing_is_read_or_refused_in_one_sentence(tmp_path_factory, drawing, changes):
    data = bytearray(drawing.encode())
    for where, how, what in changes:
        at = round(where * len(data))
        data[at : at + (0 if how == "i" else len(what))] = b"" if how == "d" else what
    path = tmp_path_factory.getbasetemp() / "spoilt.svg"
    path.write_bytes(data)
    try:
        source = svg.opened(Asked(path, *SIZE))
        assert source.rendered(0, 0, 5, 100, 50).shape == (50, 13)
    except BadInput as fault:
        assert "\n" not in str(fault)
