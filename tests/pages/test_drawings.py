"""Pictures are measured: parsed as XML, their lengths compared with what they are to show."""

import itertools
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from etchcalc.job import commission_file, record
from etchcalc.job.plan import planned
from etchcalc.pages import drawings, sheet
from etchcalc.pages.panels import texts

SVG = "{http://www.w3.org/2000/svg}"
SAYS = {
    "film": "film",
    "line": "line",
    "depth": "depth",
    "undercut": "undercut",
    "wanted": "wanted",
}


def parsed(text):
    return ET.fromstring(text)


def numbers(path):
    return [float(n) for n in re.findall(r"-?\d+\.?\d*", path)]


def by_class(root, name):
    return next(e for e in root.iter() if e.get("class") == name)


def groove(film=0.1, undercut=0.15, depth=0.2, wanted=None, reach=None):
    return parsed(
        drawings.groove(
            film=film, undercut=undercut, depth=depth, says=SAYS, wanted=wanted, reach=reach
        )
    )


@pytest.mark.parametrize(
    ("film", "undercut", "depth"), [(0.1, 0.15, 0.2), (0.4, 0.3, 0.4), (1, 0.05, 0.1)]
)
def test_groove_is_drawn_to_one_scale(film, undercut, depth):
    root = groove(film, undercut, depth)
    scale = drawings.groove_scale(film + 2 * undercut, depth)
    wall = numbers(by_class(root, "etch-wall").get("d"))
    left, floor = wall[0], wall[7]  # move to the left edge, curve to the floor
    assert left == pytest.approx(220 - (film + 2 * undercut) / 2 * scale, abs=0.06)
    assert floor - drawings.FACE == pytest.approx(depth * scale, abs=0.06)
    resist = [e for e in root.iter(f"{SVG}rect") if e.get("height") == "10"]
    gap = float(resist[1].get("x")) - float(resist[0].get("width"))
    assert gap == pytest.approx(film * scale, abs=0.11)


def test_groove_marks_the_width_that_was_ordered():
    assert "etch-wanted" not in {e.get("class") for e in groove().iter()}
    root = groove(wanted=0.2)
    xs = numbers(by_class(root, "etch-wanted").get("d"))
    scale = drawings.groove_scale(0.4, 0.2)
    assert xs[3] - xs[0] == pytest.approx(0.2 * scale, abs=0.11)


@pytest.mark.parametrize("depth", [0.02, 0.08, 0.237, 0.6, 1.1])
def test_the_handle_stands_on_the_floor(depth):
    root = groove(depth=depth, reach=(0.02, 0.6))
    handle = by_class(root, "etch-drag")
    floor = numbers(by_class(root, "etch-wall").get("d"))[7]
    for part in handle:  # the target and the grip
        middle = float(part.get("y")) + float(part.get("height")) / 2
        assert middle == pytest.approx(floor, abs=0.5)
    # a pull by as many units as the floor lies deep is a pull by the depth
    mm = (floor - drawings.FACE) * float(handle.get("data-mm-per-unit"))
    assert mm == pytest.approx(depth, abs=0.5 * float(handle.get("data-mm-per-unit")))
    low, now, high = (float(handle.get(f"aria-value{end}")) for end in ("min", "now", "max"))
    assert now == pytest.approx(depth) and low <= now <= high
    # WAI-ARIA 1.2: what is in an img is presentational, so a slider in one would not be heard
    assert root.get("role") == "group" and root.find(f"{SVG}title").text


@pytest.mark.parametrize("line", [0.1, 0.2, 0.4, 0.8, 1.0])
def test_a_pulled_groove_keeps_one_scale_for_all_depths_that_its_line_can_take(line):
    scales, within = set(), []
    for depth in np.arange(0.02, 0.605, 0.01):
        undercut = depth / 1.4
        film = max(line - 2 * undercut, 0.1)  # the narrowest that film and resist resolve
        wanted = line if film + 2 * undercut > line + 1e-9 else None
        root = groove(film, undercut, depth, wanted, (0.02, 0.6))
        grip, picture = by_class(root, "etch-drag")[1], root.get("viewBox").split()
        assert float(grip.get("y")) + float(grip.get("height")) < float(picture[3])
        if depth <= 1.25 * line:
            scales.add(by_class(root, "etch-drag").get("data-mm-per-unit"))
        within.append(max(numbers(by_class(root, "etch-wall").get("d"))[::2]))
    assert len(scales) == 1
    assert max(within) <= drawings.GROOVE_WIDTH


def test_the_handle_is_on_the_live_sheet_and_not_in_the_record():
    plan = planned(
        commission_file.parsed(
            "[commission]\ntitle = 'Trial'\n[plate]\nmetal = 'brass'\nplate_width = '90 mm'\n"
            "plate_height = '60 mm'\n[lines]\nfinest_line = '0.4 mm'\ndepth = '0.2 mm'\n"
        )
    )
    live, kept = texts.answers_html(plan), sheet.page(record.record(plan, "2026-01-02"))
    assert live.count("etch-drag") == 1 and "aria-valuetext='0.20 mm'" in live
    assert "etch-groove" in kept and "etch-drag" not in kept and "tabindex" not in kept


def test_a_finger_finds_the_handle_on_a_phone():
    # WCAG 2.1, success criterion 2.5.5: 44 px each way; 340 px is the picture on a narrow phone
    target = by_class(groove(reach=(0.02, 0.6)), "etch-drag")[0]
    assert min(float(target.get(side)) for side in ("width", "height")) * 340 / 440 >= 44


@pytest.mark.parametrize(
    ("film", "undercut", "depth"), [(0.1, 0.15, 0.2), (0.1, 0.01, 0.02), (0.36, 0.01, 0.02)]
)
def test_the_grip_covers_no_words(film, undercut, depth):
    root = groove(film, undercut, depth, reach=(0.02, 0.6))
    grip = by_class(root, "etch-drag")[1]
    top, foot = float(grip.get("y")), float(grip.get("y")) + float(grip.get("height"))
    line = next(e for e in root.iter(f"{SVG}text") if e.text == "line")
    base, size = float(line.get("y")), float(line.get("font-size"))
    assert base < top or base - 0.75 * size > foot  # capitals are some 0.72 of the size high


def test_plate_keeps_its_proportion_and_its_boxes_their_edges():
    text, places = drawings.plate(120, 45)
    root = parsed(text)
    rect = next(root.iter(f"{SVG}rect"))
    width, height = float(rect.get("width")), float(rect.get("height"))
    assert width / height == pytest.approx(120 / 45, rel=2e-3)
    box = [float(n) for n in root.get("viewBox").split()]
    x, y = places["plate_width"]
    assert x * box[2] == pytest.approx(float(rect.get("x")) + width / 2, abs=0.2)
    assert y * box[3] > float(rect.get("y")) + height
    x, y = places["plate_height"]
    assert x * box[2] < float(rect.get("x"))
    assert y * box[3] == pytest.approx(float(rect.get("y")) + height / 2, abs=0.2)


def fan(gauge=40.0):
    depths = np.linspace(0.01, 0.29, 24)
    return drawings.fan(
        depths=depths, early=depths / 0.2 * 38, middle=depths / 0.2 * 80, late=depths / 0.2 * 170,
        ordered=0.2, gauge=gauge, says={"ordered": "ordered", "gauge": "gauge"}, ticks=[(0, "0"), (0.1, "0.1")],
    )  # fmt: skip


def test_fan_puts_the_ordered_depth_and_times_where_they_are():
    root = parsed(fan())
    done = numbers(by_class(root, "etch-done").get("d"))
    left, right, most = 50.0, drawings.FAN_WIDTH - 14.0, 170 * 1.06
    assert done[0] == pytest.approx(left + (right - left) * 38 / most, abs=0.2)
    assert done[2] == pytest.approx(left + (right - left) * 170 / most, abs=0.2)
    top, base = 14.0, drawings.FAN_HEIGHT - 28.0
    assert done[1] == pytest.approx(base - (base - top) * 0.2 / 0.29, abs=0.2)
    arrow = numbers(by_class(root, "etch-gauge").get("d"))
    assert arrow[0] == pytest.approx(left + (right - left) * 40 / most, abs=0.2)


@pytest.mark.parametrize("text", [drawings.plate(10, 10)[0], fan(), fan(165.0)])
def test_every_picture_has_a_title_and_a_description(text):
    root = parsed(text)
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text and root.find(f"{SVG}desc").text


def test_what_is_said_in_a_picture_cannot_run():
    says = SAYS | {"line": "<script>alert(1)</script>"}
    root = parsed(drawings.groove(film=0.1, undercut=0.1, depth=0.1, says=says))
    assert not list(root.iter(f"{SVG}script"))


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


TEXTS = ("ink", "muted", "blue", "brown", "red")


@pytest.mark.parametrize(
    ("name", "ground", "place"), list(itertools.product(TEXTS, ("paper", "soft"), (0, 1)))
)
def test_text_stands_out_on_light_and_dark(name, ground, place):
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1; its formula of relative luminance
    assert contrast(drawings.COLOURS[name][place], drawings.COLOURS[ground][place]) >= 4.5


@pytest.mark.parametrize("place", (0, 1))
def test_text_stands_out_on_brass(place):
    assert contrast(drawings.COLOURS["on"][place], drawings.COLOURS["brass"][place]) >= 4.5
