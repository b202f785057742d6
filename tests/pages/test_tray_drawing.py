"""The tray's pictures are measured: parsed as XML, their lengths compared with what they are to show."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.job.tray_layout import Box, Layout
from etchcalc.pages import tray_drawing
from etchcalc.pages.tray_drawing import above, says, scale, side

SVG = "{http://www.w3.org/2000/svg}"
# invented: a tray of 330 × 250 × 65 mm, two plates of 144 × 69 × 1.6 on feet of 10 mm, a rod
LOADED = Layout(
    length=330, width=250, depth=65, level=36, lies="face down",
    plates=(Box(10, 10, 144, 69), Box(10, 89, 144, 69)),
    faces=(Box(22, 22, 120, 45), Box(22, 101, 120, 45)),
    fits=4, count=2, tall=1.6,
    spacers=(Box(11, 11, 10, 10), Box(143, 11, 10, 10), Box(77, 68, 10, 10),
             Box(11, 90, 10, 10), Box(143, 90, 10, 10), Box(77, 147, 10, 10)),
    spacer_height=10, heater=Box(290, 80, 40, 170), heater_cover=30, tilt=37.75, slosh_margin=10,
    sentences=("Both plates go in at once.",),
)  # fmt: skip


def drawn(picture, layout, units="metric"):
    return ET.fromstring(picture(layout, says(layout, units)))


def numbers(text):
    return [float(n) for n in re.findall(r"-?\d+\.?\d*", text)]


def boxes(root, name):
    found = [e for e in root.iter(f"{SVG}rect") if e.get("class") == f"etch-{name}"]
    return [[float(e.get(side)) for side in ("x", "y", "width", "height")] for e in found]


def path(root, name):
    return numbers(next(e for e in root.iter() if e.get("class") == f"etch-{name}").get("d"))


def words(root):
    return [e.text for e in root.iter(f"{SVG}text")]


SIZE = st.floats(60, 3000)


@settings(max_examples=40, deadline=None)
@given(SIZE, SIZE, st.floats(20, 500), st.floats(0.1, 0.9))
def test_both_pictures_keep_true_proportion(length, width, depth, full):
    # half a tray covered by one plate, its face 2 mm above the floor, a heater in the last tenth
    plate = Box(length * 0.05, width * 0.1, length * 0.5, width * 0.8)
    layout = replace(
        LOADED, length=length, width=width, depth=depth, level=depth * full,
        plates=(plate,), faces=(), spacers=(Box(plate.x, plate.y, 5, 5),), spacer_height=2,
        heater=Box(length * 0.9, width * 0.4, length * 0.1, width * 0.6), heater_cover=depth * 0.05, tilt=depth - 10 - depth * full,
    )  # fmt: skip
    px = scale(layout)
    root = drawn(above, layout)
    ((left, top, w, h),) = boxes(root, "tray")
    assert (w, h) == pytest.approx((length * px, width * px), abs=0.1)
    for name, box in (("plate", plate), ("heater", layout.heater), ("spacer", layout.spacers[0])):
        at = boxes(root, name)[0]
        true = left + box.x * px, top + box.y * px, box.w * px, box.h * px
        assert at == pytest.approx(true, abs=0.1)
    seen = drawn(side, layout)
    ((x, surface, w2, deep),) = boxes(seen, "bath")
    assert (x, w2) == pytest.approx((left, w), abs=0.1)  # one under the other, to the same scale
    assert deep == pytest.approx(layout.level * px, abs=0.1)
    floor = surface + deep
    level = path(seen, "level")
    assert level[1] == pytest.approx(floor - layout.level * px, abs=0.1)
    assert path(seen, "wall")[1] == pytest.approx(floor - depth * px, abs=0.1)
    ((px_x, px_y, px_w, px_h),) = boxes(seen, "plate")
    assert px_y + px_h == pytest.approx(floor - 2 * px, abs=0.1)  # on its spacers
    assert (px_x, px_w, px_h) == pytest.approx(
        (left + plate.x * px, plate.w * px, 1.6 * px), abs=0.1
    )
    for all_of_it in (root, seen):
        view = numbers(all_of_it.get("viewBox"))
        for rect in all_of_it.iter(f"{SVG}rect"):
            if rect.get("class") == "etch-key":
                continue
            a, b, c, d = (float(rect.get(k)) for k in ("x", "y", "width", "height"))
            assert a >= 0 and b >= 0 and a + c <= view[2] and b + d <= view[3]


def test_what_lies_in_the_tray_is_drawn():
    root = drawn(above, LOADED)
    assert len(boxes(root, "plate")) == len(boxes(root, "face")) == 2
    assert len(boxes(root, "spacer")) == 6 and len(boxes(root, "heater")) == 1
    assert {"1", "2", "330 mm", "250 mm", "2 plates at once", "spacer, 10 mm high"} <= set(
        words(root)
    )
    bare = replace(LOADED, plates=(), faces=(), spacers=(), heater=None)
    root = drawn(above, bare)
    assert not boxes(root, "plate") and not boxes(root, "heater")
    assert "no plate fits" in words(root) and "no plate fits" in words(drawn(side, bare))


def test_from_the_side_plates_behind_one_another_are_one():
    root = drawn(side, LOADED)
    assert len(boxes(root, "plate")) == 1
    # of three feet under each plate three are seen, the rows behind stand behind them
    assert len(boxes(root, "spacer")) == 3
    ((_, y, _, h),), px = boxes(root, "heater"), scale(LOADED)
    floor = path(root, "wall")[2] - 1  # the wall's line lies outside
    assert (y, y + h) == pytest.approx((floor - 30 * px, floor), abs=0.1)
    assert y > path(root, "level")[1]  # covered


def test_on_edge_a_plate_higher_than_the_wall_is_drawn_whole():
    tall = replace(LOADED, lies="on edge", tall=120, spacers=(), faces=(), spacer_height=0,
                   plates=(Box(10, 10, 144, 1.6), Box(10, 21.6, 144, 1.6)))  # fmt: skip
    root, px = drawn(side, tall), scale(tall)
    ((_, y, _, h),) = boxes(root, "plate")
    assert h == pytest.approx(120 * px, abs=0.1) and y >= 0
    assert "plate on edge, 120 mm high" in words(root)


def test_the_tilted_surface_keeps_the_slosh_margin_and_the_volume():
    root, px = drawn(side, LOADED), scale(LOADED)
    floor = path(root, "wall")[2] - 1
    left, high, right, low = path(root, "tilt")
    # 10 mm below the rim of 65 at the low end; a level surface turns about its middle
    assert floor - low == pytest.approx(55 * px, abs=0.1)
    assert floor - (high + low) / 2 == pytest.approx(36 * px, abs=0.1)
    assert right - left == pytest.approx(330 * px, abs=0.1)
    assert "tilted: lift the left end by 37.7 mm at most" in words(root)
    # 15 mm deep it falls from 55 to −25: the floor's first 25/80 are bare
    shallow = replace(LOADED, level=15)
    left, high, right, low = path(drawn(side, shallow), "tilt")
    assert right - left == pytest.approx(330 * px * 55 / 80, abs=0.1)
    assert high == pytest.approx(floor, abs=0.1) and floor - low == pytest.approx(55 * px, abs=0.1)
    full = replace(LOADED, level=60, tilt=-20)
    root = drawn(side, full)
    assert "etch-tilt" not in {e.get("class") for e in root.iter()}
    assert "too full to be tilted" in words(root)


@pytest.mark.parametrize("picture", [above, side])
@pytest.mark.parametrize("units", ["metric", "imperial", "US"])
def test_every_word_has_its_room(picture, units):
    # a letter of a plain face is about half as wide as it is high, seldom above 0.55 of it
    root = drawn(picture, replace(LOADED, length=3000, width=2000, depth=300), units)
    for text in root.iter(f"{SVG}text"):
        wide = 0.55 * float(text.get("font-size")) * len(text.text)
        x = float(text.get("x"))
        begin = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.get("text-anchor")]
        assert begin >= 0 and begin + wide <= tray_drawing.WIDTH
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text and root.find(f"{SVG}desc").text
    assert units == "metric" or any(w.endswith(" in") for w in words(root))


@pytest.mark.parametrize("picture", [above, side])
def test_what_is_said_in_a_picture_cannot_run(picture):
    evil = dict.fromkeys(says(LOADED, "metric"), "<script>alert(1)</script>")
    root = ET.fromstring(picture(replace(LOADED, sentences=("<script/>",)), evil))
    assert not list(root.iter(f"{SVG}script")) and not list(root.iter("script"))
