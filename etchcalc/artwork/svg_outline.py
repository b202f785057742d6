"""How long a shape's outline is and where it lies, without drawing it: never too short, too small.

Curves lie within their control points, arcs within twice their radius of where they begin.
"""

import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

# Possessive throughout (++), so that no text makes the matching slow.
GAP = r"[ \t\r\n\f,]*+"
NUMBER = r"[+-]?+(?>[0-9]++\.?+[0-9]*+|\.[0-9]++)(?>[eE][+-]?+[0-9]++)?+"
ARC = GAP.join(f"({each})" for each in [*[NUMBER] * 3, "[01]", "[01]", *[NUMBER] * 2])
numbers = re.compile(NUMBER).findall
_ARCS = re.compile(ARC)
_COMMANDS = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_PLAIN = re.compile(rf"\s*+{NUMBER}\s*+")
_REACHED = {  # of each simple shape: the sides that its box is made of, in order
    "rect": ("x", "y", "width", "height"),
    "circle": ("cx", "cy", "r", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "line": ("x1", "y1", "x2", "y2"),
}


def outline_length(element: ET.Element) -> float:
    """Return at least the length of a shape's outline, in its own units; nought of a group."""
    if "d" in element.attrib:
        length, here = 0.0, 0j
        for points, around, drawn in _steps(element.attrib["d"]):
            for point in points:
                length += abs(point - here)
                here = point
            length += math.pi * around
            here = drawn
        return length
    sizes = ("x1", "x2", "y1", "y2", "width", "height", "r", "rx", "ry", "points")
    said = numbers(" ".join(element.get(key, "") for key in sizes))
    return 2 * math.pi * sum(abs(float(number)) for number in said)


def outline_box(element: ET.Element, kind: str) -> tuple[float, float, float, float] | None:
    """Return left, top, right and bottom of a box around a shape, None where that is not sure."""
    if kind == "path":
        return _around(element.get("d", ""))
    if kind in ("polyline", "polygon"):
        said = [float(number) for number in numbers(element.get("points", ""))]
        across, down = said[::2], said[1::2]
        return (min(across), min(down), max(across), max(down)) if down else None
    sides = [element.get(key, "0") for key in _REACHED.get(kind, ())]
    if len(sides) != 4 or not all(_PLAIN.fullmatch(side) for side in sides):
        return None
    a, b, c, d = map(float, sides)
    if kind == "rect":
        return a, b, a + c, b + d
    if kind == "line":
        return min(a, c), min(b, d), max(a, c), max(b, d)
    return a - c, b - d, a + c, b + d


def _around(path: str) -> tuple[float, float, float, float] | None:
    """Return the box around a path."""
    across: list[float] = []
    down: list[float] = []
    for points, around, _ in _steps(path):
        for point in points:
            across += (point.real - around, point.real + around)
            down += (point.imag - around, point.imag + around)
    return (min(across), min(down), max(across), max(down)) if across else None


def _steps(path: str) -> Iterator[tuple[list[complex], float, complex]]:
    """Yield each step of a path: its control points, an arc's diameter, and where it ends."""
    here = start = control = 0j
    for letter, text in _COMMANDS.findall(path):
        kind, relative = letter.upper(), letter.islower()
        if kind == "Z":
            yield [start], 0.0, start
            here = control = start
        for i, part in enumerate(_arguments(kind, text)):
            around = 0.0
            if kind == "A":
                across, down, *_, right, below = part
                chord = abs(complex(right, below) - (0j if relative else here))
                around = _diameter(abs(across), abs(down), chord)
                part = (right, below)
            elif kind == "H":
                part = (part[0], 0.0 if relative else here.imag)
            elif kind == "V":
                part = (0.0 if relative else here.real, part[0])
            base = here if relative else 0j
            points = [base + complex(*pair) for pair in zip(part[::2], part[1::2], strict=True)]
            if kind in "ST":  # their first control point is the last one, mirrored
                points = [2 * here - control, *points]
            yield points, around, points[-1]
            here = points[-1]
            control = points[-2] if kind in "CSQT" else here
            start = here if kind == "M" and i == 0 else start


def _diameter(across: float, down: float, chord: float) -> float:
    """Return at least the longer diameter of an arc's ellipse, which grows to reach its end."""
    narrow, wide = sorted((across, down))
    if narrow == 0:  # a straight line
        return chord
    return 2 * wide * max(1.0, chord / (2 * narrow))


def _arguments(kind: str, text: str) -> list[tuple[float, ...]]:
    """Return the numbers of each repetition of a path's command."""
    if kind == "A":  # its flags may stand without a gap
        return [tuple(map(float, each)) for each in _ARCS.findall(text)]
    said = [float(number) for number in numbers(text)]
    many = {"H": 1, "V": 1, "S": 4, "Q": 4, "C": 6}.get(kind, 2)
    return [tuple(said[at : at + many]) for at in range(0, len(said), many)]
