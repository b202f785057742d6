"""What a page of a PDF holds: refused by name where a film cannot hold it, mended, measured."""

import ctypes
import math
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pypdfium2
from pypdfium2 import raw

from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

BLACKEST, WHITEST = 64, 230  # of 255: darker in every channel is black, lighter is white
SOLID_ONLY = "Accepted is solid black on white"
_MM = 25.4 / 72  # to a point
_MOST_OBJECTS, _MOST_POINTS, _DEEPEST, _MOST_CLIPS = 200_000, 4_000_000, 20, 50
_SLANTED = 1e-4  # points by which a line may lean and still count as level or upright

Matrix = npt.NDArray[np.float64]
Points = npt.NDArray[np.float64]


class Walk:
    """One walk through a page's objects, which refuses, mends and measures."""

    def __init__(self, document: pypdfium2.PdfDocument, page: pypdfium2.PdfPage, asked: Asked):
        self.longest = 0.0  # points, see Page
        self._document, self._page, self._asked = document, page, asked
        self._objects = self._points = self._thin = 0

    def through(
        self, holder: Any, count: Callable, get: Callable, matrix: Matrix, depth: int
    ) -> None:
        """Look at each object of a page or of a form within it."""
        if depth > _DEEPEST:
            raise BadInput(f"The drawing has groups more than {_DEEPEST} deep: ungroup them.")
        many = count(holder)
        self._objects += many
        if self._objects > _MOST_OBJECTS:
            raise BadInput(
                f"The drawing holds more than {_MOST_OBJECTS} objects: simplify it (fewer "
                "nodes and copies) and save it again."
            )
        for index in range(many):
            item = get(holder, index)
            kind = raw.FPDFPageObj_GetType(item)
            placed = _matrix(item) @ matrix
            if kind == raw.FPDF_PAGEOBJ_SHADING:
                raise BadInput(f"The drawing holds a gradient. {SOLID_ONLY}: take it out.")
            if kind == raw.FPDF_PAGEOBJ_FORM:
                # Whether it blends or is masked cannot be told from a plain group: grey tells.
                _check_opaque(*_colour(raw.FPDFPageObj_GetFillColor, item))
                self.through(
                    item, raw.FPDFFormObj_CountObjects, raw.FPDFFormObj_GetObject, placed, depth + 1
                )
            elif kind == raw.FPDF_PAGEOBJ_PATH:
                self._path(item, placed)
            elif kind == raw.FPDF_PAGEOBJ_TEXT:
                self._text(item)
            elif kind == raw.FPDF_PAGEOBJ_IMAGE:
                self._image(item)
            self._clip(item, matrix)

    def ask_thin_lines(self) -> None:
        """Ask for the width of strokes without one, if there are any and it was not said."""
        if self._thin and self._asked.thin_line is None:
            raise BadInput(
                f"The drawing holds lines of no width ({self._thin}): give them a width in mm, or "
                'say how wide they are, such as thin_line = "0.25 mm".'
            )

    def _path(self, item: Any, matrix: Matrix) -> None:
        fill, stroked = ctypes.c_int(), ctypes.c_int()
        raw.FPDFPath_GetDrawMode(item, fill, stroked)
        filled = fill.value != raw.FPDF_FILLMODE_NONE
        if not (filled or stroked.value):
            return
        self._check_paint(item, filled, bool(stroked.value))
        width = 0.0
        if stroked.value:
            width = self._stroke_width(item, math.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
        count = raw.FPDFPath_CountSegments(item)
        points, kinds = self._segments(item, count, raw.FPDFPath_GetPathSegment)
        dashed = raw.FPDFPageObj_GetDashCount(item) > 0
        reach = _reach(points @ matrix[:2, :2], kinds, level_too=dashed)
        self.longest = max(self.longest, reach + 5 * width if reach else 0)  # a mitred corner's tip
        if count in (4, 5) and not stroked.value:
            # A start of nothing at its opposite corner: drawn the same, but no bare rectangle.
            raw.FPDFPath_MoveTo(item, *points[2])

    def _text(self, item: Any) -> None:
        mode = raw.FPDFTextObj_GetTextRenderMode(item)
        if mode in (raw.FPDF_TEXTRENDERMODE_INVISIBLE, raw.FPDF_TEXTRENDERMODE_CLIP):
            return
        font = raw.FPDFTextObj_GetFont(item)
        if not font or not raw.FPDFFont_GetIsEmbedded(font):
            raise BadInput(
                f"The drawing holds text in a font that is not in the file ({_font_name(font)}): "
                "convert the text to outlines (paths), or embed the font when saving."
            )
        stroked = mode in (
            raw.FPDF_TEXTRENDERMODE_STROKE,
            raw.FPDF_TEXTRENDERMODE_FILL_STROKE,
            raw.FPDF_TEXTRENDERMODE_STROKE_CLIP,
            raw.FPDF_TEXTRENDERMODE_FILL_STROKE_CLIP,
        )
        only = mode in (raw.FPDF_TEXTRENDERMODE_STROKE, raw.FPDF_TEXTRENDERMODE_STROKE_CLIP)
        self._check_paint(item, not only, stroked)

    def _image(self, item: Any) -> None:
        about = raw.FPDF_IMAGEOBJ_METADATA()
        raw.FPDFImageObj_GetImageMetadata(item, self._page.raw, about)
        if about.bits_per_pixel != 1:
            raise BadInput(
                "The drawing holds a picture in greys or colours. Accepted is a picture of one bit "
                "a pixel, black and white: trace it to black shapes, or save it as one bit."
            )
        filters = set(_filters(item))
        plain = filters <= {"FlateDecode", "LZWDecode"}
        if "JBIG2Decode" in filters:
            self._check_unpacks(item)
        there = raw.FPDFImageObj_GetImageDataDecoded(item, None, 0)
        if plain and there < (about.width + 7) // 8 * about.height:
            raise BadInput(broken(self._asked))
        if about.colorspace == raw.FPDF_COLORSPACE_UNKNOWN:  # a mask, painted in the fill's colour
            self._check_paint(item, True, False)

    def _check_unpacks(self, item: Any) -> None:
        """Refuse a picture that pdfium would leave out without a word."""
        bitmap = raw.FPDFImageObj_GetBitmap(item)
        if not bitmap:
            raise BadInput(broken(self._asked))
        raw.FPDFBitmap_Destroy(bitmap)

    def _check_paint(self, item: Any, filled: bool, stroked: bool) -> None:
        """Refuse paint that is not solid black or white."""
        if raw.FPDFPageObj_HasTransparency(item):
            _check_opaque(0, 0, 0, 0)
        sides = (
            (filled, raw.FPDFPageObj_GetFillColor, raw.FPDFPageObj_GetRenderedFillPattern),
            (stroked, raw.FPDFPageObj_GetStrokeColor, raw.FPDFPageObj_GetRenderedStrokePattern),
        )
        for used, colour_of, pattern_of in sides:
            if not used:
                continue
            if pattern := pattern_of(self._document.raw, item):
                raw.FPDFBitmap_Destroy(pattern)
                raise BadInput(
                    f"The drawing is filled with a gradient or a pattern. {SOLID_ONLY}: give it "
                    "a solid colour, or expand the pattern into shapes."
                )
            red, green, blue, opaque = _colour(colour_of, item)
            _check_opaque(red, green, blue, opaque)
            if max(red, green, blue) > BLACKEST and min(red, green, blue) < WHITEST:
                raise BadInput(
                    f"The drawing has the colour #{red:02x}{green:02x}{blue:02x}, which is neither "
                    f"black nor white. {SOLID_ONLY}: make it black (#000000) or white (#ffffff)."
                )

    def _stroke_width(self, item: Any, scale: float) -> float:
        """Return a stroke's width, points; give one that has none the width asked for."""
        width = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(item, width)
        if width.value <= 0 and scale > 0:
            self._thin += 1
            width.value = (self._asked.thin_line or 0.0) / _MM / scale
            raw.FPDFPageObj_SetStrokeWidth(item, width.value)
        return width.value * scale

    def _clip(self, item: Any, matrix: Matrix) -> None:
        """Look how far the lines of an object's clip go."""
        clip, slanted = raw.FPDFPageObj_GetClipPath(item), 0
        for path in range(max(raw.FPDFClipPath_CountPaths(clip), 0) if clip else 0):

            def get(clip: Any, index: int, path: int = path) -> Any:
                return raw.FPDFClipPath_GetPathSegment(clip, path, index)

            points, kinds = self._segments(
                clip, raw.FPDFClipPath_CountPathSegments(clip, path), get
            )
            reach = _reach(points @ matrix[:2, :2], kinds)
            self.longest = max(self.longest, reach)
            slanted += reach > 0  # each is a picture of its own; a rectangle is none
            if slanted > _MOST_CLIPS:
                raise BadInput(
                    f"The drawing has more than {_MOST_CLIPS} clips within one another: release "
                    "them, and save it again."
                )

    def _segments(
        self, holder: Any, count: int, get: Callable
    ) -> tuple[Points, npt.NDArray[np.int_]]:
        """Return the points of a path, shape (count, 2), and what leads to each."""
        self._points += max(count, 0)
        if self._points > _MOST_POINTS:
            raise BadInput(
                f"The drawing holds more than {_MOST_POINTS / 1e6:.0f} million nodes: simplify it "
                "and save it again."
            )
        points, kinds = np.zeros((max(count, 0), 2)), np.zeros(max(count, 0), int)
        x, y = ctypes.c_float(), ctypes.c_float()
        for index in range(count):
            segment = get(holder, index)
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points[index] = x.value, y.value
            kinds[index] = raw.FPDFPathSegment_GetType(segment)
        return points, kinds


def _reach(points: Points, kinds: npt.NDArray[np.int_], level_too: bool = False) -> float:
    """Return how far the longest slanted piece of a path goes across or down, points.

    Parameters
    ----------
    points : array, shape (count, 2)
        Its points, and the handles of its curves.
    kinds : array of int
        What leads to each.
    level_too : bool
        Whether level and upright pieces count too (a dash begins at an end).
    """
    if len(points) < 2:
        return 0.0
    begins = kinds == raw.FPDF_SEGMENT_MOVETO
    starts = points[np.maximum.accumulate(np.where(begins, np.arange(len(kinds)), 0))]
    ends = np.append(begins[1:], True)
    curved = kinds == raw.FPDF_SEGMENT_BEZIERTO
    steps = abs(np.diff(points, axis=0, prepend=points[:1]))
    curves = steps[curved][: curved.sum() // 3 * 3].reshape(-1, 3, 2).sum(axis=1)
    closing = abs(points - starts)[ends]  # a fill closes each part
    steps = np.concatenate([steps[~curved & ~begins], curves, closing])
    counted = steps.max(axis=1) if level_too else steps.max(axis=1)[steps.min(axis=1) > _SLANTED]
    return float(counted.max(initial=0.0))


def _matrix(item: Any) -> Matrix:
    """Return an object's matrix, for points as rows."""
    m = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(item, m)
    return np.array([[m.a, m.b, 0], [m.c, m.d, 0], [m.e, m.f, 1]], float)


def _colour(get: Callable, item: Any) -> tuple[int, int, int, int]:
    """Return an object's paint: red, green, blue and how opaque, of 255; black where none is set."""
    parts = [ctypes.c_uint() for _ in range(4)]
    if not get(item, *parts):
        return 0, 0, 0, 255
    red, green, blue, opaque = (part.value for part in parts)
    return red, green, blue, opaque


def _check_opaque(_red: int, _green: int, _blue: int, opaque: int) -> None:
    if opaque < 254:
        raise BadInput(
            "The drawing is translucent, blended or softly masked somewhere. "
            f"{SOLID_ONLY}: make it opaque."
        )


def _filters(item: Any) -> Iterator[str]:
    """Yield the names of the ways in which a picture's data are packed."""
    name = ctypes.create_string_buffer(64)
    for index in range(raw.FPDFImageObj_GetImageFilterCount(item)):
        raw.FPDFImageObj_GetImageFilter(item, index, name, len(name))
        yield name.value.decode("ascii", "replace")


def _font_name(font: Any) -> str:
    name = ctypes.create_string_buffer(64)
    raw.FPDFFont_GetBaseFontName(font, name, len(name))
    return "".join(filter(str.isprintable, name.value.decode("utf-8", "replace"))) or "no name"


def broken(asked: Asked) -> str:
    """Return the sentence for a file of which something is missing."""
    return (
        f"The PDF {asked.path.name} is broken or cut short: export it again, and copy the whole "
        "file."
    )
