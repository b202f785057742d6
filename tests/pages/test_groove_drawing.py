"""The picture of the growing groove is measured, as the others are; an invented bath."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from etchcalc.core.units import Quantity, read
from etchcalc.pages import groove_drawing
from etchcalc.process.groove import Groove

SHOWN = (read("0.1 mm"), read("0.2 mm"))


def mm(numbers):
    return Quantity(np.asarray(numbers, dtype=float), "mm")


def box(half, depth):
    return mm([[-half, 0], [-half + 0.01, depth], [0, depth], [half - 0.01, depth], [half, 0]])


def drawn(film=0.2, undercut=0.14, land=None, system="metric"):
    """A groove made up for the picture."""
    minutes = Quantity(np.array([60.0, 120.0]), "min")
    made = Groove(
        depth=mm([0.1, 0.2]),
        undercut=mm([undercut / 2, undercut]),
        bulge=mm([0, 0]),
        own_time=minutes,
        rate_time=minutes,
        film_line=mm(film),
        outlines=(box(film / 2 + undercut / 2, 0.1), box(film / 2 + undercut, 0.2)),
        mass_error=Quantity(0.0),
    )
    return ET.fromstring(groove_drawing.growing(made, SHOWN, land, system))


def numbers(path):
    return np.array([float(n) for n in re.findall(r"-?\d+\.?\d*", path)]).reshape(-1, 2)


def by_class(root, name):
    return [e for e in root.iter() if e.get("class") == name]


def words(root):
    return " ".join(e.text for e in root.iter() if e.text)


@pytest.mark.parametrize(("film", "undercut"), [(0.2, 0.14), (1, 0.1), (0.05, 0.2)])
def test_it_is_drawn_in_true_proportion(film, undercut):
    root = drawn(film, undercut)
    deepest, shallow = (numbers(e.get("d")) for e in by_class(root, "etch-outline"))
    scale = np.ptp(deepest[:, 0]) / (film + 2 * undercut)
    assert np.ptp(deepest[:, 1]) == pytest.approx(0.2 * scale, abs=0.15)
    assert np.ptp(shallow[:, 1]) == pytest.approx(0.1 * scale, abs=0.15)
    left, right = by_class(root, "etch-resist")
    gap = float(right.get("x")) - float(left.get("x")) - float(left.get("width"))
    assert gap == pytest.approx(film * scale, abs=0.15)
    assert float(left.get("y")) + float(left.get("height")) == deepest[:, 1].min()
    width, height = (float(n) for n in root.get("viewBox").split()[2:])
    assert deepest.min() > 0 and deepest[:, 0].max() < width and deepest[:, 1].max() < height


def test_its_words_and_what_they_rest_on():
    root = drawn()
    said = words(root)
    assert "etch factor 1.43" in said and "worked out, not measured" in said
    assert "0.20 mm deep, 0.14 mm under each edge" in said
    title = next(e for e in root if e.tag.endswith("title"))
    description = next(e for e in root if e.tag.endswith("desc"))
    assert "0.20 mm deep" in title.text and "Same scale across and down" in description.text
    assert "film 0.20 mm" in said
    # but for the bar, which names its own unit
    assert words(drawn(system="imperial")).replace("0.1 mm", "").count(" mm") == 0


def test_lines_that_have_met_have_no_etch_factor():
    root = drawn(land=read("0.28 mm"))
    assert "has met the next line" in words(root) and "etch factor" not in words(root)
    assert "etch factor" in words(drawn(land=read("0.5 mm")))


def test_the_resist_is_as_wide_as_the_land():
    root = drawn(undercut=0.04, land=read("0.1 mm"))
    scale = np.ptp(numbers(by_class(root, "etch-outline")[0].get("d"))[:, 0]) / 0.28
    for bar in by_class(root, "etch-resist"):
        assert float(bar.get("width")) == pytest.approx(0.1 * scale, abs=0.15)
