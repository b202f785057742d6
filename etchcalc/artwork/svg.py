"""An SVG drawing as a source of black and white: any part of it rendered in true size.

The drawing is rendered without anti-aliasing: a pixel is black where the
drawing is black at its centre. So an edge lies within half a pixel (5.3 µm at
2400 dpi) of where it was drawn, and nothing comes out grey; anything that does
is refused.
"""

from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from xml.etree import ElementTree as ET

import imagecodecs
import numpy as np
import numpy.typing as npt
import resvg_py

from etchcalc.artwork.film import Bits
from etchcalc.artwork.source import Asked, Source
from etchcalc.artwork.svg_checks import BLACKEST, WHITEST, drawn_size, local_name, parse_drawing
from etchcalc.artwork.svg_load import check_load
from etchcalc.artwork.svg_near import Near
from etchcalc.core.faults import BadInput

_CRISP = "* { shape-rendering: crispEdges !important }"  # whatever the drawing asks for
_PIXELS_AN_INCH, _MM_AN_INCH = 96, 25.4
# Of a simple drawing, narrow pieces are faster (their rows stay in the processor's cache, and
# many are white); of one that takes long to parse, as few pieces as there can be.
_NARROWEST = 512  # pixels, a multiple of 8
_LETTERS = 100  # of work to each pixel of a piece's width


def opened(asked: Asked) -> Source:
    """Return an SVG drawing opened and checked, ready to be rendered.

    Parameters
    ----------
    asked : Asked
        The file and, where it is not sized in mm, cm or in, `unit`: the
        millimetres to one of its own units. Without it, such a drawing counts
        96 pixels to the inch and is not `sized`.

    Raises
    ------
    BadInput
        For what cannot be read, checked, sized or held by a film.
    """
    root = parse_drawing(asked.path)
    work = check_load(root)
    width, height, sized = drawn_size(root, asked.unit)
    return _Drawn(_nested(root, width, height), work, width, height, sized)


def source_of(root: ET.Element, width: float, height: float, notes: tuple[str, ...] = ()) -> Source:
    """Return the source of an SVG that another reader has made itself, in black and white.

    Parameters
    ----------
    root : Element
        Its root; what its `viewBox` shows fills the size below.
    width, height : float
        Its true size, mm.
    notes : tuple of str
        What the maker should know of how it was read.
    """
    work = len(ET.tostring(root))
    return _Drawn(_nested(root, width, height), work, width, height, sized=True, notes=notes)


@dataclass(eq=False)
class _Drawn:
    """A checked SVG, as the text of an element whose size is its own, in millimetres.

    `work` is how much there is to do before the first pixel, in letters of a path.
    """

    near: Near
    work: int
    width: float
    height: float
    sized: bool
    notes: tuple[str, ...] = ()
    resolution: float | None = None

    def rendered(self, left: float, top: float, resolution: float, columns: int, rows: int) -> Bits:
        """Return a part of the drawing, packed, 1 where it is black (see `Source`)."""
        share = self.near.share(top, top + rows / resolution)
        wide = max(_NARROWEST, int(self.work * share) // _LETTERS // 8 * 8)
        pieces = [
            self._piece(
                left + first / resolution, top, resolution, min(wide, columns - first), rows
            )
            for first in range(0, columns, wide)
        ]
        return pieces[0] if len(pieces) == 1 else np.hstack(pieces)

    def _piece(self, left: float, top: float, resolution: float, columns: int, rows: int) -> Bits:
        """Return a part as one picture. All wrappers are <svg>, so no style sheet tells them."""
        more = 2 / resolution  # pixels
        across, down = columns / resolution + more, rows / resolution + more
        text = self.near.text(left - more, top - more, left + across, top + down)
        picture = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{columns}" height="{rows}" '
            f'viewBox="0 0 {columns} {rows}"><svg x="{-left * resolution:.6f}" '
            f'y="{-top * resolution:.6f}" width="{self.width * resolution:.6f}" '
            f'height="{self.height * resolution:.6f}" viewBox="0 0 {self.width} {self.height}" '
            f'preserveAspectRatio="none" overflow="visible">{text}</svg></svg>'
        )
        png = _png(picture)
        if png == _png_of_nothing(columns, rows):
            return np.zeros((rows, (columns + 7) // 8), np.uint8)
        light = imagecodecs.spng_decode(png)[..., 1]  # green stands for all, where none is grey
        if light.shape != (rows, columns):
            raise BadInput(
                "The drawing cannot be rendered in true size: save it again as plain SVG."
            )
        _refuse_grey(light, left, top, resolution)
        return np.packbits(light < 128, axis=1)


def _nested(root: ET.Element, width: float, height: float) -> Near:
    """Return a drawing as an element whose size is its own, in millimetres."""
    nested = deepcopy(root)
    for element in nested.iter():  # shorter without, and the wrappers give it
        element.tag = local_name(element)
    if "viewBox" not in nested.attrib:
        drawn = (side * _PIXELS_AN_INCH / _MM_AN_INCH for side in (width, height))
        nested.set("viewBox", "0 0 {:.6f} {:.6f}".format(*drawn))
    for place in ("x", "y"):  # say nothing at a root
        nested.attrib.pop(place, None)
    nested.set("width", repr(float(width)))
    nested.set("height", repr(float(height)))
    # Without this the renderer clips through a second picture of the whole size.
    nested.set("overflow", "visible")
    return Near(nested, width, height)


def _png(svg: str) -> bytes:
    """Return a picture rendered on white, nothing smoothed and nothing fetched."""
    try:
        return resvg_py.svg_to_bytes(
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


@lru_cache(maxsize=8)
def _png_of_nothing(columns: int, rows: int) -> bytes:
    """Return the picture of a part where nothing is drawn, known without being decoded."""
    return _png(f'<svg xmlns="http://www.w3.org/2000/svg" width="{columns}" height="{rows}"/>')


def _refuse_grey(light: npt.NDArray[np.uint8], left: float, top: float, resolution: float) -> None:
    """Refuse a picture that is not black and white alone, and say where."""
    # Numbers below the blackest wrap round, so one comparison tells.
    grey = light - np.uint8(BLACKEST + 1) < WHITEST - BLACKEST - 1
    if grey.any():
        row, column = np.argwhere(grey)[0]
        raise BadInput(
            f"The drawing comes out grey (first {left + column / resolution:.2f} mm from its left "
            f"and {top + row / resolution:.2f} mm down): accepted is solid black on white; take "
            "off what fades or is translucent, and where a symbol or a nested <svg> cuts through "
            "a shape, ungroup that."
        )
