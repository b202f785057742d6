"""The drawn maps: parsed as XML, what is shaded and where the lines run compared with the map."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from etchcalc.job.commission_file import parsed
from etchcalc.job.maps import mapped, survives
from etchcalc.job.plan import planned
from etchcalc.pages.drawings import COLOURS
from etchcalc.pages.map_figures import map_plot

SVG = "{http://www.w3.org/2000/svg}"
ORDER = """[plate]
metal = "CuZn37"
plate_width = "120 mm"
plate_height = "45 mm"
[lines]
finest_line = "0.4 mm"
depth = "0.15 mm"
[commission]
units = "%s"
"""


@pytest.fixture(scope="module")
def plan():
    return planned(parsed(ORDER % "metric"))


def words(svg):
    return ["".join(e.itertext()).strip() for e in ET.fromstring(svg).iter(f"{SVG}text")]


def paths(svg, style):
    return [
        np.array(re.findall(r"-?\d+\.?\d*", p.get("d")), float).reshape(-1, 2)
        for p in ET.fromstring(svg).iter(f"{SVG}path")
        if style in p.get("style", "") and p.get("d")
    ]


def frame(svg):
    """Left, right, top and foot of the axes, by the rectangle that clips them."""
    box = next(ET.fromstring(svg).iter(f"{SVG}clipPath"))[0]
    x, y, wide, high = (float(box.get(key)) for key in ("x", "y", "width", "height"))
    return x, x + wide, y, y + high


def area(points):
    """The area of a polygon, by the shoelace formula."""
    x, y = points.T
    return abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))) / 2


def test_the_shaded_part_is_what_is_safe(plan):
    found = survives(plan)
    svg = map_plot(found, plan)
    (shade,) = paths(svg, "fill-opacity: 0.18")
    left, right, top, foot = frame(svg)
    assert area(shade) / ((right - left) * (foot - top)) == pytest.approx(
        np.mean(found.safe), abs=0.01
    )


def test_the_edge_of_what_is_safe_lies_where_it_does(plan):
    # greatest depth = depth: at 0.6 mm of line 1.4 · 0.5/2 = 0.35 mm, at 0.9 mm 0.56 mm
    svg = map_plot(survives(plan), plan)
    left, right, top, foot = frame(svg)
    points = np.vstack(paths(svg, "stroke-width: 2"))
    across = 0.02 + 0.58 * (points[:, 0] - left) / (right - left)
    up = 0.1 + 1.4 * (foot - points[:, 1]) / (foot - top)
    order = np.argsort(up)
    found = np.interp([0.6, 0.75, 0.9], up[order], across[order])
    assert found == pytest.approx([0.35, 0.455, 0.56], abs=0.003)


def test_this_job_is_marked(plan):
    svg = map_plot(survives(plan), plan)
    left, right, top, foot = frame(svg)
    dot = next(e for e in ET.fromstring(svg).iter(f"{SVG}use") if "--e-brown" in e.get("style", ""))
    x, y = (float(dot.get(key)) for key in "xy")
    assert 0.02 + 0.58 * (x - left) / (right - left) == pytest.approx(0.15, abs=1e-3)
    assert 0.1 + 1.4 * (foot - y) / (foot - top) == pytest.approx(0.4, abs=1e-3)
    assert "this job" in words(svg)


def test_a_job_beyond_the_sliders_is_not_marked():
    plan = planned(parsed((ORDER % "metric").replace("0.4 mm", "3 mm")))
    assert "this job" not in words(map_plot(survives(plan, columns=9, rows=9), plan))


def test_nothing_is_shaded_where_nothing_is_safe_or_no_limit_said(plan):
    for limit in (6.0, None):
        found = mapped(
            plan, "temperature", "strength", "etch_time", most=limit, columns=20, rows=20
        )
        svg = map_plot(found, plan)
        assert not paths(svg, "fill-opacity: 0.18")
        assert "what is safe" not in svg


def test_all_is_shaded_where_all_is_safe(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", most=1e5, columns=20, rows=20)
    svg = map_plot(found, plan)
    left, right, top, foot = frame(svg)
    (shade,) = paths(svg, "fill-opacity: 0.18")
    assert area(shade) == pytest.approx((right - left) * (foot - top), rel=1e-3)
    assert not paths(svg, "stroke-width: 2;")


@pytest.mark.parametrize(
    ("units", "labels", "caption"),
    [
        ("metric", {"temperature, °C", "strength, g/L"}, "etch rate, µm/min"),
        ("imperial", {"temperature, °C", "strength, oz/imp gal"}, "etch rate, thou/h"),
        ("US", {"temperature, °F", "strength, oz/US gal"}, "etch rate, thou/h"),
    ],
)
def test_it_is_labelled_in_the_makers_units(units, labels, caption):
    plan = planned(parsed(ORDER % units))
    found = mapped(plan, "temperature", "strength", "etch_rate", columns=20, rows=20)
    texts = words(map_plot(found, plan))
    assert labels | {caption} <= set(texts)


def test_times_are_said_by_the_clock(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", columns=30, rows=30)
    texts = words(map_plot(found, plan))
    assert "45 min" in texts and "1 h 30 min" in texts
    assert "etch time" in texts


def test_a_map_with_settings_that_cannot_be(plan):
    thin = planned(
        parsed((ORDER % "metric").replace("[lines]", 'plate_thickness = "0.3 mm"\n[lines]'))
    )
    found = survives(thin, columns=30, rows=30)
    assert np.isnan(found.values).any()
    assert paths(map_plot(found, thin), "fill-opacity: 0.18")


def test_the_same_picture_again_in_the_pages_own_colours(plan):
    found = mapped(plan, "temperature", "strength", "etch_time", most=60.0, columns=30, rows=30)
    svg = map_plot(found, plan)
    assert svg == map_plot(found, plan)
    known = {f"var(--e-{name},{light})" for name, (light, _) in COLOURS.items()}
    assert set(re.findall(r"var\(--e-\w+,#\w+\)", svg)) <= known
    left = re.sub(r"var\(--e-\w+,#\w+\)|url\(#\w+\)|href=\"#\w+\"", "", svg)
    assert not re.findall(r"(?:stroke|fill): ?#", left)
    assert "<title>etch time over temperature and strength; what is safe is shaded</title>" in svg
