"""Of an SVG with many shapes, only those near the part that is rendered.

The renderer reads its whole text anew for each part, so a drawing of a hundred
thousand dots would be read whole for each of a hundred bands. Whatever is not
sure to lie elsewhere stays.
"""

import cmath
import math
import re
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt

from etchcalc.artwork.svg_checks import RULE, declarations, local_name, rules
from etchcalc.artwork.svg_outline import numbers, outline_box

_Matrix = npt.NDArray[np.float64]
_Box = tuple[float, float, float, float]
_MANY = 300  # elements; fewer are not worth the while
# Where one of these is, what is drawn may lie elsewhere than its outline, or hang on its neighbours.
_UNSURE = re.compile(r"marker|clip-path|mask|[xyrd]|[cr][xy]|width|height|transform.*")
_EVERYWHERE = (-math.inf, -math.inf, math.inf, math.inf)


class Near:
    """The text of a drawing, in pieces of which those near a part can be had.

    Parameters
    ----------
    root : Element
        Its root, with a viewBox.
    width, height : float
        What the viewBox fills, mm.
    """

    def __init__(self, root: ET.Element, width: float, height: float) -> None:
        self._texts: list[str] = []
        self._boxes: list[_Box] = []
        reach = _reach(root) if sum(1 for _ in root.iter()) > _MANY else None
        if reach is None:
            self._add(ET.tostring(root, encoding="unicode"))
        else:
            self._gather(root, _filling(root, width, height), reach)
        self._corners = np.array(self._boxes).T

    def text(self, left: float, top: float, right: float, bottom: float) -> str:
        """Return the drawing without what surely lies outside a box in mm."""
        if len(self._texts) == 1:
            return self._texts[0]
        first, upper, last, lower = self._corners
        far = (first > right) | (last < left) | (upper > bottom) | (lower < top)
        return "".join([self._texts[i] for i in np.flatnonzero(~far)])

    def share(self, top: float, bottom: float) -> float:
        """Return what share of all pieces may lie between two heights, in mm."""
        _, upper, _, lower = self._corners
        return float(((upper <= bottom) & (lower >= top)).mean())

    def _add(self, text: str, box: _Box = _EVERYWHERE) -> None:
        self._texts.append(text)
        self._boxes.append(box)

    def _gather(self, element: ET.Element, above: _Matrix, reach: float) -> None:
        """Add an element: a plain group as its tags and what is within, a shape with its box."""
        kind, root = local_name(element), not self._texts
        moved = np.eye(3) if root else _matrix(element.get("transform", ""))
        box = outline_box(element, kind)
        if moved is not None and (root or (kind == "g" and not _cut(element))):
            empty = ET.Element(element.tag, element.attrib)
            tags = ET.tostring(empty, "unicode", short_empty_elements=False)
            opening, closing = tags.rsplit("</", 1)
            self._add(opening)
            for child in element:
                self._gather(child, above @ moved, reach)
            self._add("</" + closing)
        elif moved is None or box is None:
            self._add(ET.tostring(element, encoding="unicode"))
        else:
            self._add(ET.tostring(element, encoding="unicode"), _moved(box, above @ moved, reach))


def _moved(box: _Box, matrix: _Matrix, reach: float) -> _Box:
    """Return the box around a box that was widened by a reach and then moved by a matrix."""
    left, top, right, bottom = box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach
    corners = matrix[:2] @ [[left, right, left, right], [top, top, bottom, bottom], [1.0] * 4]
    (first, upper), (last, lower) = corners.min(axis=1), corners.max(axis=1)
    return float(first), float(upper), float(last), float(lower)


def _filling(root: ET.Element, width: float, height: float) -> _Matrix:
    """Return the matrix from a viewBox to millimetres: SVG 1.1, section 7.8, in the middle."""
    left, top, across, down = map(float, numbers(root.get("viewBox", "")))
    scale = min(width / across, height / down)
    right = (width - across * scale) / 2 - left * scale
    below = (height - down * scale) / 2 - top * scale
    return np.array([[scale, 0.0, right], [0.0, scale, below], [0.0, 0.0, 1.0]])


def _cut(element: ET.Element) -> bool:
    """Return whether a group is cut as one, by what may be measured by all that is within it."""
    inline = dict(declarations(element.get("style", "")))
    return any(key in element.attrib or key in inline for key in ("clip-path", "mask"))


def _reach(root: ET.Element) -> float | None:
    """Return how far a stroke may reach beyond an outline, None where that is not sure."""
    sheets = [element.text or "" for element in root.iter() if local_name(element) == "style"]
    selectors = " ".join(selector for sheet in sheets for selector, _ in RULE.findall(sheet))
    styled = [pair for sheet in sheets for pair in rules(sheet)]
    for element in root.iter():
        styled += declarations(element.get("style", ""))
    if {"preserveAspectRatio", "transform"} & root.attrib.keys():
        return None
    if re.search(r"[:+~\[]", selectors) or any(_UNSURE.fullmatch(key) for key, _ in styled):
        return None
    said = [pair for element in root.iter() for pair in element.attrib.items()] + styled
    if any(key.startswith("marker") for key, _ in said):
        return None
    if not any(key == "stroke" and value.strip() != "none" for key, value in said):
        return 0.0
    widths = [value for key, value in said if key == "stroke-width"]
    spikes = [value for key, value in said if key == "stroke-miterlimit"]
    if any(len(numbers(value)) != 1 or value.strip(" .0123456789") for value in widths):
        return None
    widest = max([1.0, *map(float, widths)])
    longest = max([4.0, *(float(n) for value in spikes for n in numbers(value))])
    return widest / 2 * longest


def _matrix(transform: str) -> _Matrix | None:
    """Return the matrix of a transform attribute (SVG 1.1, section 7.6), None where unsure."""
    whole: _Matrix = np.eye(3)
    for kind, text in re.findall(r"(\w+)\s*\(([^)]*)\)", transform):
        said = [float(number) for number in numbers(text)]
        many = len(said)
        if kind == "matrix" and many == 6:
            a, b, c, d, e, f = said
        elif kind == "translate" and many in (1, 2):
            a, b, c, d, e, f = 1.0, 0.0, 0.0, 1.0, said[0], (*said, 0.0)[1]
        elif kind == "scale" and many in (1, 2):
            a, b, c, d, e, f = said[0], 0.0, 0.0, said[-1], 0.0, 0.0
        elif kind == "rotate" and many in (1, 3):
            turn = cmath.rect(1.0, math.radians(said[0]))
            about = complex(*said[1:])
            to = about - turn * about
            a, b, c, d, e, f = turn.real, turn.imag, -turn.imag, turn.real, to.real, to.imag
        else:
            return None
        whole = whole @ np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])
    return whole
