"""The plots: parsed as XML, their lines compared with the plan, their colours with the page's."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned
from etchcalc.job.rate_map import rate_map
from etchcalc.pages import figures
from etchcalc.pages.drawings import COLOURS

SVG = "{http://www.w3.org/2000/svg}"
ORDER = """[plate]
metal = "CuZn37"
plate_width = "120 mm"
plate_height = "45 mm"
[lines]
finest_line = "0.4 mm"
depth = "0.15 mm"
[bath]
strength = "400 g/L"
temperature = "%s"
[commission]
units = "%s"
"""


def plan_of(temperature="42 °C", units="metric"):
    return planned(parsed(ORDER % (temperature, units)))


def words(svg):
    return ["".join(e.itertext()).strip() for e in ET.fromstring(svg).iter(f"{SVG}text")]


def lines(svg, width):
    """The points of every line of that width, in the order drawn."""
    paths = [
        p for p in ET.fromstring(svg).iter(f"{SVG}path")
        if f"stroke-width: {width}" in p.get("style", "") and "clip-path" in p.attrib
    ]  # fmt: skip
    return [np.array(re.findall(r"-?\d+\.?\d*", p.get("d")), float).reshape(-1, 2) for p in paths]


def test_each_curve_is_the_map():
    svg = figures.rate_against_strength(plan_of())
    curves = lines(svg, 1.5)
    found = rate_map(plan_of(), [200, 900], [20, 30, 42, 50])
    assert len(curves) == 4
    heights = np.array([curve[[0, -1], 1] for curve in curves])
    slope, base = np.polyfit(found.rates.ravel(), heights.ravel(), 1)
    assert slope < 0
    assert heights == pytest.approx(base + slope * found.rates, abs=0.02)
    # the thick stretches end where the bands end
    left, right = curves[0][[0, -1], 0]
    for curve, stretch, band in zip(curves, lines(svg, 7), found.best, strict=True):
        ends = 200 + 700 * (stretch[[0, -1], 0] - left) / (right - left)
        assert ends == pytest.approx(np.clip(band, 200, 900), abs=1)
        middle = stretch[len(stretch) // 2]
        assert middle[1] == pytest.approx(np.interp(middle[0], *curve.T), abs=0.1)


def test_this_jobs_point_lies_on_its_own_curve():
    root = ET.fromstring(figures.rate_against_strength(plan_of()))
    curve = lines(ET.tostring(root, encoding="unicode"), 1.5)[2]
    dots = [e for e in root.iter(f"{SVG}use") if "--e-ink" in e.get("style", "")]
    x, y = (float(dots[-1].get(key)) for key in "xy")
    assert (x - curve[0, 0]) / np.ptp(curve[:, 0]) == pytest.approx((400 - 200) / 700, abs=1e-3)
    assert y == pytest.approx(np.interp(x, *curve.T), abs=0.1)


@pytest.mark.parametrize(
    ("temperature", "units", "labels", "axes"),
    [
        ("42 °C", "metric", {"20 °C", "30 °C", "42 °C, this job", "50 °C"}, ("g/L", "µm/min")),
        ("25 °C", "imperial", {"20 °C", "25 °C, this job", "40 °C"}, ("oz/imp gal", "thou/h")),
        ("140 °F", "US", {"68 °F", "122 °F", "140 °F, this job"}, ("oz/US gal", "thou/h")),
    ],
)
def test_it_is_labelled_in_the_makers_units(temperature, units, labels, axes):
    found = words(figures.rate_against_strength(plan_of(temperature, units)))
    assert labels <= set(found)
    for unit in axes:
        assert any(text.endswith(f", {unit}") for text in found)
    assert sum("this job" in text for text in found) == 1


@pytest.mark.parametrize("plot", [figures.rate_against_strength, figures.time_against_temperature])
def test_colours_are_the_pages_own(plot):
    svg = plot(plan_of())
    known = {f"var(--e-{name},{light})" for name, (light, _) in COLOURS.items()}
    assert set(re.findall(r"var\(--e-\w+,#\w+\)", svg)) <= known
    left = re.sub(r"var\(--e-\w+,#\w+\)|url\(#\w+\)|href=\"#\w+\"", "", svg)
    assert not re.findall(r"(?:stroke|fill): ?#", left)
