"""A PDF of one page: its lines, shapes, embedded type and one-bit pictures, in true size.

Pdfium draws it without smoothing. Three things that it does are undone here. A
filled rectangle comes out widened to whole pixels, unless its outline is more
than a rectangle; a stroke thinner than a pixel comes out a pixel wide, so the
page is drawn three times as finely as asked and every third pixel is taken; and
a point further than 32000 pixels from the picture's corner is moved to there, so
that a page is drawn in small squares, none of whose lines reaches so far.
"""

import ctypes
import re

import numpy as np
import numpy.typing as npt
import pypdfium2
from pypdfium2 import raw

from etchcalc.artwork.film import Bits
from etchcalc.artwork.pdf_checks import BLACKEST, SOLID_ONLY, WHITEST, Walk, broken
from etchcalc.artwork.source import Asked, Source
from etchcalc.core.faults import BadInput

LARGEST = 100_000_000  # bytes
_MM = 25.4 / 72  # to a point
_LONGEST = 5000.0  # mm of a page's side
_SQUARE = 2000  # pixels of the film drawn at a time, each way; a multiple of 8
_FINER = 3  # pixels drawn to a pixel of the film, each way; odd, so that one has its centre
_FARTHEST = 32000  # pixels from the corner beyond which pdfium moves a point
_UNDRAWN = (raw.FPDF_ANNOT_LINK, raw.FPDF_ANNOT_POPUP)  # of the remarks that have no picture
_CRISP = (
    raw.FPDF_RENDER_NO_SMOOTHPATH | raw.FPDF_RENDER_NO_SMOOTHTEXT | raw.FPDF_RENDER_NO_SMOOTHIMAGE
)


def opened(asked: Asked) -> Source:
    """Return a PDF opened and checked, ready to be drawn.

    Parameters
    ----------
    asked : Asked
        The file and, for strokes of no width, how wide they are.

    Raises
    ------
    BadInput
        For what is no PDF, is cut short or locked, has more than one page or a
        page of no size or above 5 m, or holds anything but solid black and
        white: a gradient, a pattern, a picture in grey or colour, translucent
        paint, text whose font is not in the file.
    """
    _check_whole(asked)
    document = _document(asked)
    if len(document) != 1:
        raise BadInput(
            f"The PDF {asked.path.name} has {len(document)} pages; accepted is one: save the one "
            "page that is the plate as a PDF of its own."
        )
    try:
        width, height = (side * _MM for side in document.get_page_size(0))
    except pypdfium2.PdfiumError as fault:
        raise BadInput(broken(asked)) from fault
    if not (0 < width <= _LONGEST and 0 < height <= _LONGEST):
        raise BadInput(
            f"The page of the PDF {asked.path.name} is {width:g} × {height:g} mm; accepted is up "
            f"to {_LONGEST:g} mm each way: set the page to the plate's size and save it again."
        )
    try:
        page = document[0]
    except pypdfium2.PdfiumError as fault:
        raise BadInput(broken(asked)) from fault
    if (box := page.get_mediabox(fallback_ok=False)) and (box[2] <= box[0] or box[3] <= box[1]):
        raise BadInput(  # pdfium takes a sheet of paper instead
            f"The page of the PDF {asked.path.name} has no size: set it to the plate's size and "
            "save it again."
        )
    walk = Walk(document, page, asked)
    walk.through(page.raw, raw.FPDFPage_CountObjects, raw.FPDFPage_GetObject, np.eye(3), 0)
    walk.ask_thin_lines()
    return Page(page, width, height, walk.longest * _MM, _notes(page))


class Page:
    """The page of a PDF, as `etchcalc.artwork.source.Source` describes.

    Parameters
    ----------
    page : pypdfium2.PdfPage
        The checked page.
    width, height : float
        Its size, mm, as it is seen: cropped and turned.
    longest : float
        How far its longest slanted line goes across or down, mm.
    notes : tuple of str
        What the maker should know.
    """

    sized = True
    resolution: float | None = None

    def __init__(
        self,
        page: pypdfium2.PdfPage,
        width: float,
        height: float,
        longest: float,
        notes: tuple[str, ...],
    ):
        self.width, self.height, self.notes = width, height, notes
        self._page, self._longest = page, longest

    def rendered(self, left: float, top: float, resolution: float, columns: int, rows: int) -> Bits:
        """Return a part of the page, packed, 1 where it is black.

        Raises
        ------
        BadInput
            Where it comes out grey, or a slanted line is too long to be drawn
            so finely (30000 pixels).
        """
        finer = _FINER
        if not self._fits(resolution, finer):
            finer = 1  # still within half a pixel, but for strokes thinner than one
        if not self._fits(resolution, finer):
            most = (_FARTHEST - _SQUARE) / resolution
            raise BadInput(
                f"The drawing holds a slanted line that goes {self._longest:.0f} mm in one piece; "
                f"at {resolution * 25.4:.0f} dpi up to {most:.0f} mm are drawn right: add a node "
                'in its middle, or ask for a coarser film, such as film_resolution = "1200 dpi".'
            )
        packed = np.empty((rows, (columns + 7) // 8), np.uint8)
        for row in range(0, rows, _SQUARE):
            for column in range(0, columns, _SQUARE):
                across, down = min(_SQUARE, columns - column), min(_SQUARE, rows - row)
                corner = left + column / resolution, top + row / resolution
                black = self._square(corner, resolution, across, down, finer)
                packed[row : row + down, column // 8 : (column + across + 7) // 8] = np.packbits(
                    black, axis=1
                )
        return packed

    def _fits(self, resolution: float, finer: int) -> bool:
        return self._longest * resolution * finer <= _FARTHEST - _SQUARE * finer

    def _square(
        self, corner: tuple[float, float], resolution: float, columns: int, rows: int, finer: int
    ) -> npt.NDArray[np.bool_]:
        """Return which pixels of a small part are black at their centre."""
        size = columns * finer, rows * finer
        scale = resolution * finer * _MM  # the page comes with a pixel to the point
        moved = (-side * resolution * finer for side in corner)
        light = np.empty((size[1], -(-size[0] // 4) * 4), np.uint8)
        bitmap = raw.FPDFBitmap_CreateEx(
            *size, raw.FPDFBitmap_Gray, light.ctypes.data_as(ctypes.c_void_p), light.shape[1]
        )
        if not bitmap:
            raise MemoryError
        try:
            raw.FPDFBitmap_FillRect(bitmap, 0, 0, *size, 0xFFFFFFFF)
            raw.FPDF_RenderPageBitmapWithMatrix(
                bitmap,
                self._page.raw,
                raw.FS_MATRIX(scale, 0, 0, scale, *moved),
                raw.FS_RECTF(0, 0, *size),
                _CRISP,  # without the flag for remarks and form fields, which are so not drawn
            )
        finally:
            raw.FPDFBitmap_Destroy(bitmap)
        light = light[:, : size[0]]
        middle = light[finer // 2 :: finer, finer // 2 :: finer]
        if ((middle > BLACKEST) & (middle < WHITEST)).any():
            _refuse_grey(light, finer, corner, resolution)
        return middle < 128


def _refuse_grey(
    light: npt.NDArray[np.uint8], finer: int, corner: tuple[float, float], resolution: float
) -> None:
    """Refuse a part that is grey over more than the width of an edge.

    The edge of a clipped part is drawn smoothly whatever one asks for, and is
    grey over one pixel; grey over three each way is meant to be grey.
    """
    grey = (light > BLACKEST) & (light < WHITEST)
    grey = grey[:-2:finer] & grey[1:-1:finer] & grey[2::finer]
    grey = grey[:, :-2:finer] & grey[:, 1:-1:finer] & grey[:, 2::finer]
    if grey.any():
        row, column = np.argwhere(grey)[0]
        raise BadInput(
            f"The drawing comes out grey (first {corner[0] + column / resolution:.1f} mm from the "
            f"left and {corner[1] + row / resolution:.1f} mm down). {SOLID_ONLY}: take off what "
            "fades or is translucent."
        )


def _notes(page: pypdfium2.PdfPage) -> tuple[str, ...]:
    """Return what the maker should know of how a page is read."""
    count = 0
    for index in range(raw.FPDFPage_GetAnnotCount(page.raw)):
        if remark := raw.FPDFPage_GetAnnot(page.raw, index):
            count += raw.FPDFAnnot_GetSubtype(remark) not in _UNDRAWN
            raw.FPDFPage_CloseAnnot(remark)
    return (f"Remarks and form fields of the PDF are not drawn ({count}).",) if count else ()


def _check_whole(asked: Asked) -> None:
    """Refuse a file that is missing, too large, cut short or not in true points."""
    name = asked.path.name
    try:
        size = asked.path.stat().st_size
        if size > LARGEST:
            raise BadInput(
                f"The PDF {name} has {size / 1e6:.0f} MB; accepted are up to "
                f"{LARGEST / 1e6:.0f} MB: simplify it and save it again."
            )
        data = asked.path.read_bytes()
    except OSError as fault:
        raise BadInput(
            f"The drawing {name} cannot be opened ({fault.strerror}): give the path of a PDF file "
            "that is there."
        ) from fault
    # Pdfium pieces a file without its end together, and draws what is left of it.
    if b"%%EOF" not in data[-2048:]:
        raise BadInput(broken(asked))
    if any(float(unit) != 1 for unit in re.findall(rb"/UserUnit\s+(\d+\.?\d*)", data)):
        raise BadInput(
            f"The PDF {name} counts in units of its own (UserUnit), which are not read: save it "
            "again at 1:1 with a page below 5 m."
        )


def _document(asked: Asked) -> pypdfium2.PdfDocument:
    """Return a file as pdfium opens it."""
    try:
        return pypdfium2.PdfDocument(asked.path)
    except pypdfium2.PdfiumError as fault:
        if fault.err_code in (raw.FPDF_ERR_PASSWORD, raw.FPDF_ERR_SECURITY):
            raise BadInput(
                f"The PDF {asked.path.name} is locked with a password: save it again without one."
            ) from fault
        raise BadInput(broken(asked)) from fault
