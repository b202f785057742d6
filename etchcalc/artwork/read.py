"""A maker's drawing made into a film: one bit a pixel, in true size.

The drawing is rendered without anti-aliasing: a pixel is black where the
drawing is black at its centre. So an edge lies within half a pixel (10.6 µm at
1200 dpi) of where it was drawn, and nothing comes out grey; anything that does
is refused.
"""

import io
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt
import resvg_py
from PIL import Image

from etchcalc.artwork.drawing import drawn_size, parse_drawing
from etchcalc.artwork.film import RESOLUTION, Film
from etchcalc.core.faults import BadInput

_SVG = "{http://www.w3.org/2000/svg}"
_SAME = 0.1  # mm by which a drawing may differ from its plate
_BAND = 4_000_000  # pixels rendered at a time; each takes some 12 bytes meanwhile
_LARGEST = 400_000_000  # pixels
_MOST_ACROSS = 30_000  # pixels in a row
_CRISP = "* { shape-rendering: crispEdges !important }"  # whatever the drawing asks for
_PIXELS_AN_INCH, _MM_AN_INCH = 96, 25.4


def read_svg(
    path: Path | str, *, width: float, height: float, resolution: float = RESOLUTION
) -> Film:
    """Return the film of an SVG drawing in true size.

    Parameters
    ----------
    path : path
        The drawing: solid black and white shapes, sized in mm. White over black
        knocks out; where nothing is drawn the film is white.
    width, height : float
        The plate's size in millimetres; the drawing's own may differ by 0.1 mm.
    resolution : float
        Pixels per millimetre.

    Returns
    -------
    Film
        The plate's size to the nearest pixel, upper left corners together; each
        edge within half a pixel of where it was drawn.

    Raises
    ------
    BadInput
        For anything a drawing can do wrong.
    """
    columns, rows = round(width * resolution), round(height * resolution)
    if not (0 < columns <= _MOST_ACROSS and rows > 0 and columns * rows <= _LARGEST):
        raise BadInput(
            f"A film of {width:g} × {height:g} mm has {columns} × {rows} pixels; accepted are 1 "
            f"to {_MOST_ACROSS} across and {_LARGEST / 1e6:.0f} million in all: give a smaller "
            "plate."
        )
    root = parse_drawing(path)
    size = drawn_size(root)
    if abs(size[0] - width) > _SAME or abs(size[1] - height) > _SAME:
        raise BadInput(
            f"The drawing is {size[0]:g} × {size[1]:g} mm but the plate is {width:g} × "
            f"{height:g} mm: give the plate the drawing's size, or draw it at the plate's size "
            "(within 0.1 mm)."
        )
    nested = _nested(root, size, resolution)
    bits = np.vstack(list(_bands(nested, columns, rows)))
    return Film(bits, columns, rows, resolution)


def _nested(root: ET.Element, size: tuple[float, float], resolution: float) -> ET.Element:
    """Return the drawing as an element of a picture whose unit is one film pixel."""
    nested = deepcopy(root)
    if "viewBox" not in nested.attrib:
        drawn = (side * _PIXELS_AN_INCH / _MM_AN_INCH for side in size)
        nested.set("viewBox", "0 0 {:.6f} {:.6f}".format(*drawn))
    nested.set("width", f"{size[0] * resolution:.6f}")
    nested.set("height", f"{size[1] * resolution:.6f}")
    # Without this the renderer clips through a second picture of the whole size.
    nested.set("overflow", "visible")
    return nested


def _bands(nested: ET.Element, columns: int, rows: int) -> Iterator[npt.NDArray[np.uint8]]:
    """Yield the packed film from the top, some rows at a time to keep memory small."""
    deep = max(1, _BAND // columns)
    for top in range(0, rows, deep):
        band = min(deep, rows - top)
        outer = ET.Element(_SVG + "svg", {"width": str(columns), "height": str(band)})
        outer.set("viewBox", f"0 {top} {columns} {band}")
        outer.append(nested)
        yield _rendered(ET.tostring(outer, encoding="unicode"), columns, band)


def _rendered(svg: str, columns: int, rows: int) -> npt.NDArray[np.uint8]:
    """Return a picture's packed pixels, 1 where black; refuse a grey one."""
    try:
        png = resvg_py.svg_to_bytes(
            svg_string=svg,
            background="#ffffff",
            dpi=_PIXELS_AN_INCH,
            skip_system_fonts=True,
            style_sheet=_CRISP,
            shape_rendering="crisp_edges",
        )
    except ValueError as fault:
        raise BadInput(
            f"The drawing cannot be rendered ({fault}): save it again as plain SVG."
        ) from fault
    with Image.open(io.BytesIO(png)) as image:
        light = np.asarray(image.getchannel("G"))
    if light.shape != (rows, columns):
        raise BadInput("The drawing cannot be rendered in true size: save it again as plain SVG.")
    black = light < 128
    if ((light > 64) & (light < 230)).any():
        row, column = np.argwhere((light > 64) & (light < 230))[0]
        raise BadInput(
            f"The drawing comes out grey (first {column} pixels from the left and {row} down): "
            "accepted is solid black on white; take off what fades or is translucent."
        )
    return np.packbits(black, axis=1)
