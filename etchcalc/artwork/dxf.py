"""A DXF in true size: its model space as black lines and solid hatches on white."""

import contextlib
import io
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np

from etchcalc.artwork.dxf_checks import Walk
from etchcalc.artwork.dxf_pen import Mark, Points, ezdxf
from etchcalc.artwork.source import Asked, Source
from etchcalc.artwork.svg import source_of
from etchcalc.core.faults import BadInput

LARGEST = 50_000_000  # bytes
_SAME = 0.1  # mm by which a drawing may stand out of its plate
_UNITS = {  # millimetres to the unit that a DXF's $INSUNITS numbers
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 0.0254,
    10: 914.4,
    13: 0.001,
    14: 100.0,
}


def opened(asked: Asked) -> Source:
    """Return a DXF opened and checked, ready to be drawn.

    Where all of it lies within the plate as measured from the drawing's
    origin, the drawing is the plate; otherwise it is as large as what is drawn.

    Parameters
    ----------
    asked : Asked
        The file, the plate's size and, where the file does not say them, the
        unit and the width of lines without one.

    Raises
    ------
    BadInput
        For what is no DXF or is broken, draws nothing, or holds text,
        dimensions, pictures, solids, gradients, construction lines or anything
        outside itself.
    """
    document = _document(asked)
    unit = _unit(document, asked)
    walk = Walk(document, unit)
    drawn = _walked(walk, document, unit, asked)
    if not any(mark.paths for mark in drawn):
        raise BadInput(_empty(document, asked))
    low, high = _extents(drawn)
    plate = np.array([asked.width, asked.height])
    if (low >= -_SAME).all() and (high <= plate + _SAME).all():
        low, high = np.zeros(2), plate
    width, height = (float(side) for side in high - low)
    if width <= 0 or height <= 0:
        raise BadInput(
            f"The drawing {asked.path.name} is {width:g} × {height:g} mm: draw the plate's outline "
            "on a layer that is not plotted, or put its corner at the origin."
        )
    return source_of(_svg(drawn, low, high, asked.thin_line), width, height, _notes(walk, asked))


def _document(asked: Asked) -> Any:
    """Return a file as ezdxf reads it."""
    name = asked.path.name
    try:
        size = asked.path.stat().st_size
    except OSError as fault:
        raise BadInput(
            f"The drawing {name} cannot be opened ({fault.strerror}): give the path of a DXF file "
            "that is there."
        ) from fault
    if size > LARGEST:
        raise BadInput(
            f"The DXF {name} has {size / 1e6:.0f} MB; accepted are up to {LARGEST / 1e6:.0f} MB: "
            "purge it and simplify it."
        )
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            return ezdxf.readfile(asked.path)
    except Exception as fault:  # of a broken file it raises whatever it stumbles over
        raise BadInput(
            f"The DXF {name} is broken or cut short: export it again, and copy the whole file."
        ) from fault


def _unit(document: Any, asked: Asked) -> float:
    """Return the millimetres to a drawing's unit."""
    unit = _UNITS.get(document.header.get("$INSUNITS", 0), asked.unit)
    if unit is None:
        raise BadInput(
            f"The DXF {asked.path.name} does not say in which unit it is drawn. Write mm, cm, m or "
            'in, such as drawing_unit = "mm".'
        )
    return unit


def _walked(walk: Walk, document: Any, unit: float, asked: Asked) -> list[Mark]:
    """Return what a drawing draws, in mm, and ask for the width of lines without one."""
    try:
        with contextlib.redirect_stdout(io.StringIO()) as said:
            walk.draw_layout(document.modelspace())
            drawn = walk.pen.lines(unit)
    except BadInput:
        raise
    except Exception as fault:  # as above: a broken object may only show when it is drawn
        raise BadInput(
            f"The DXF {asked.path.name} holds an object that cannot be drawn: audit it in the "
            "program that wrote it, and export it again."
        ) from fault
    if "timeout" in said.getvalue():
        raise BadInput(
            "The drawing holds a hatch of so many lines that it was not drawn within 10 s: make "
            "it solid."
        )
    if walk.pen.thin and asked.thin_line is None:
        raise BadInput(
            f"The drawing holds lines of no width ({walk.pen.thin}): give them a width, fill their "
            'outlines with solid hatches, or say how wide they are, such as thin_line = "0.25 mm".'
        )
    return drawn


def _extents(drawn: list[Mark]) -> tuple[Points, Points]:
    """Return the lower left and upper right corner of what is drawn, widths left out."""
    points = [path for mark in drawn for path in mark.paths]
    low = np.min([path.min(axis=0) for path in points], axis=0)
    return low, np.max([path.max(axis=0) for path in points], axis=0)


def _svg(drawn: list[Mark], low: Points, high: Points, thin: float | None) -> ET.Element:
    """Return an SVG of what lies between two corners, its unit a millimetre."""
    width, height = high - low
    root = ET.Element("{http://www.w3.org/2000/svg}svg", viewBox=f"0 0 {width!s} {height!s}")
    for mark in drawn:
        outline = []
        for path in mark.paths:
            at = (path - low) * (1, -1) + (0, height)
            outline.append("M" + " ".join([f"{x:.5f} {y:.5f}" for x, y in at.tolist()]))
        said = {"d": " ".join(outline)}
        paint = "#fff" if mark.white else "#000"
        if mark.width is None:
            said |= {"fill": paint, "fill-rule": mark.rule}
        else:
            said |= {"fill": "none", "stroke": paint, "stroke-width": f"{mark.width or thin:.5f}"}
            said |= {"stroke-linecap": "round", "stroke-linejoin": "round"}
        ET.SubElement(root, "{http://www.w3.org/2000/svg}path", said)
    return root


def _notes(walk: Walk, asked: Asked) -> tuple[str, ...]:
    """Return what the maker should know of how a drawing was read."""
    notes = []
    if walk.pen.thin:
        notes.append(f"Lines of no width are drawn {asked.thin_line:g} mm wide ({walk.pen.thin}).")
    if walk.closed:
        notes.append(
            f"Closed outlines are drawn as lines ({walk.closed}): hatch them solid to fill them."
        )
    if walk.coloured:
        notes.append("Colours other than white are taken as black.")
    if walk.points:
        notes.append(f"Points are not drawn, for they have no size ({walk.points}).")
    return tuple(notes)


def _empty(document: Any, asked: Asked) -> str:
    """Return the sentence for a drawing that draws nothing."""
    sheets = (layout for layout in document.layouts if layout.name != "Model")
    if any(entity.dxftype() != "VIEWPORT" for sheet in sheets for entity in sheet):
        where = "has nothing in model space, only on a sheet: draw it in model space"
    elif len(document.modelspace()):
        where = (
            "draws nothing: its layers are off, frozen or not plotted, or it holds points only; "
            "turn on the layers of the artwork"
        )
    else:
        where = "is empty: draw the artwork in model space"
    return f"The DXF {asked.path.name} {where}."
