"""Whatever a maker brings, made into the film: one bit a pixel, in true size.

A pixel is etched or not as the drawing is black or white at its centre, so an
edge lies within half a pixel (5.3 µm at 2400 dpi) of where it was drawn.
"""

import importlib
import math
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from etchcalc.artwork.film import RESOLUTION, Bits, Film, blank
from etchcalc.artwork.source import PLACED, Asked, Source
from etchcalc.core.faults import BadInput

LARGEST = 8_000_000_000  # pixels
MOST_ACROSS = 400_000  # pixels in a row
_SAME = 0.1  # mm by which a drawing may differ from its plate
_PROPORTION = 0.01  # by which its proportions may, where it is scaled
_BAND = 4_000_000  # pixels rendered at a time; each takes some 12 bytes meanwhile
_LOOKED_AT = 1024  # bytes at the start of a file

# What a file begins with, and the kind it is of; then the kinds and their readers. A reader is
# imported when a file of its kind comes: some take longer to load than a drawing to read.
_BEGINNINGS = (
    (rb"\x89PNG\r\n", "PNG"),
    (rb"(II[*+]\0|MM\0[*+])", "TIFF"),
    (rb"AutoCAD Binary DXF", "DXF"),
    (rb"(\xef\xbb\xbf)?\s*(999[ \t]*\r?\n.*)?0[ \t]*\r?\n[ \t]*SECTION", "DXF"),
    (rb"(\xef\xbb\xbf|\xff\xfe|\xfe\xff)?[\s\0]*<", "SVG"),
    (rb".*%PDF-", "PDF"),  # may stand a little further in
)
_READERS = {"SVG": "svg", "PDF": "pdf", "DXF": "dxf", "TIFF": "bitmap", "PNG": "bitmap"}
_REFUSED = (
    (rb"\xff\xd8\xff", "a JPEG, whose edges are blurred: export a TIFF or PNG in black and white"),
    (rb"(GIF8|BM|RIFF....WEBP)", "a picture that is not read: save it as TIFF or PNG"),
    (rb"AC10\d\d", "a DWG drawing: save it as DXF"),
    (rb"(%!|\xc5\xd0\xd3\xc6)", "PostScript: save it as PDF or SVG"),
    (rb"(\x1f\x8b|PK\x03\x04|7z|Rar!|BZh)", "compressed: unpack it first"),
)


@dataclass(frozen=True)
class Read:
    """How a drawing was read.

    Attributes
    ----------
    kind : str
        SVG, PDF, DXF, TIFF or PNG, by what the file holds, whatever its name.
    width, height : float
        The file's own size, mm; nought where it has none.
    notes : tuple of str
        What the maker should know of it, a sentence each.
    """

    kind: str
    width: float
    height: float
    notes: tuple[str, ...]


def film(asked: Asked, progress: Callable[[float], None] | None = None) -> tuple[Film, Read]:
    """Return the film of a drawing, and how it was read.

    Parameters
    ----------
    asked : Asked
        The file, the plate, and how the one is to lie on the other:

        as drawn
            Upper left corners together; both sides of the drawing within
            0.1 mm of the plate's.
        cut from the middle
            The middles of drawing and plate together, in true size. What of
            the drawing lies outside the plate is cut off; where the plate is
            larger nothing is etched, whatever black stands for.
        scaled to the plate
            One factor for both sides, the largest with which all of the
            drawing lies on the plate, the middles together. The proportions
            may differ by 1 %; on the strip that this leaves nothing is etched.
    progress : callable, optional
        Told the share that is done, from 0 to 1.

    Returns
    -------
    Film
        The plate's size to the nearest pixel. Its resolution is the one asked
        for, else the bitmap's own, else 2400 dpi.
    Read

    Raises
    ------
    BadInput
        For anything that a file can do wrong, or that only the maker can say.
    """
    kind, source = _opened(asked)
    lies, note = _lying(asked, source)
    columns = round(asked.width * lies.resolution)
    rows = round(asked.height * lies.resolution)
    made = lies.part(0.0, 0.0, lies.resolution, columns, rows, progress)
    notes = (*source.notes, *filter(None, [note]))  # some are known only when it was rendered
    return made, Read(kind, source.width, source.height, notes)


def window(
    asked: Asked, left: float, top: float, across: float, down: float, resolution: float
) -> Film | None:
    """Return a part of the plate read at another resolution; None of a bitmap, which has no more.

    Parameters
    ----------
    asked : Asked
        As for the whole.
    left, top : float
        The part's upper left corner, mm on the plate as it is seen.
    across, down : float
        Its size, mm; it comes out in whole pixels.
    resolution : float
        Pixels per millimetre.
    """
    _, source = _opened(asked)
    if source.resolution is not None:
        return None
    lies, _ = _lying(asked, source)
    columns, rows = max(round(across * resolution), 1), max(round(down * resolution), 1)
    return lies.part(left, top, resolution, columns, rows)


def _opened(asked: Asked) -> tuple[str, Source]:
    """Return a file's kind, by its first bytes, and the file opened by the reader of that kind."""
    kind = _kind(asked)
    reader = importlib.import_module(f"etchcalc.artwork.{_READERS[kind]}")
    return kind, reader.opened(asked)


def _kind(asked: Asked) -> str:
    """Return what kind of file it is, or refuse it in one sentence."""
    name = asked.path.name
    if not name.isprintable() or len(name) > 255:
        raise BadInput(
            "The drawing cannot be opened, for its name is too long or holds what cannot be shown: "
            "rename it."
        )
    wanted = "give the path of an SVG, PDF, DXF, TIFF or PNG file"
    try:
        if asked.path.exists() and not asked.path.is_file():
            raise BadInput(f"The drawing {name} is a folder or a device: {wanted}.")
        with asked.path.open("rb") as file:
            start = file.read(_LOOKED_AT)
    except (OSError, ValueError) as fault:
        if isinstance(fault, BadInput):
            raise
        why = getattr(fault, "strerror", None) or fault
        raise BadInput(
            f"The drawing {name} cannot be opened ({why}): {wanted} that is there."
        ) from fault
    if not start.strip():
        raise BadInput(f"The drawing {name} is empty: save it again.")
    for begins, kind in _BEGINNINGS:
        if re.match(begins, start, re.DOTALL):
            return kind
    for begins, what in _REFUSED:
        if re.match(begins, start, re.DOTALL):
            raise BadInput(f"The drawing {name} is {what}.")
    raise BadInput(f"The drawing {name} is none of the kinds that are read: {wanted}.")


@dataclass(frozen=True)
class _Lying:
    """A source as it lies on the plate, before it is mirrored.

    `scale` is mm on the plate to a mm of the drawing, `left` and `top` where the
    drawing's corner lies, `area` (left, top, right, bottom) where it counts, all
    in mm on the plate; `resolution` and `width` are the film's.
    """

    source: Source
    scale: float
    left: float
    top: float
    area: tuple[float, float, float, float]
    resolution: float
    width: float
    inverted: bool
    mirrored: bool

    def part(
        self,
        left: float,
        top: float,
        resolution: float,
        columns: int,
        rows: int,
        progress: Callable[[float], None] | None = None,
    ) -> Film:
        """Return a part of the plate as it is seen, some rows at a time to keep memory small."""
        _check_pixels(columns, rows)
        made = blank(columns, rows, resolution)
        if self.mirrored:
            left = self.width - left - columns / resolution
        inside = _within(self.area[0], self.area[2], left, resolution, columns)
        shown = np.packbits(inside)
        counts = _within(self.area[1], self.area[3], top, resolution, rows)
        deep = max(_BAND // columns, 1)
        for first in range(0, rows, deep):
            band = slice(first, min(first + deep, rows))
            if inside.any() and counts[band].any():
                bits = self._band(left, top + first / resolution, resolution, columns, band)
                bits = bits & shown * counts[band, np.newaxis]
                made.bits[band] = _flipped(bits, columns) if self.mirrored else bits
            if progress is not None:
                progress(band.stop / rows)
        return made

    def _band(self, left: float, top: float, resolution: float, columns: int, band: slice) -> Bits:
        bits = self.source.rendered(
            (left - self.left) / self.scale,
            (top - self.top) / self.scale,
            resolution * self.scale,
            columns,
            band.stop - band.start,
        )
        return ~bits if self.inverted else bits


def _lying(asked: Asked, source: Source) -> tuple[_Lying, str]:
    """Return how a drawing lies on its plate, and what the maker should know of that."""
    if asked.placed not in PLACED:
        raise ValueError(f"placed is one of {PLACED}, not {asked.placed!r}")
    if asked.black not in ("etched", "kept"):
        raise ValueError(f"black is 'etched' or 'kept', not {asked.black!r}")
    plate, drawn = (asked.width, asked.height), (source.width, source.height)
    if asked.placed == "scaled to the plate":
        scale, note = _scale(plate, drawn)
    else:
        _check_size(asked, source)
        scale, note = 1.0, ""
    resolution = asked.resolution or (source.resolution or RESOLUTION * scale) / scale
    _check_pixels(asked.width * resolution, asked.height * resolution)
    corner = (0.0, 0.0)
    if asked.placed != "as drawn":
        corner = ((plate[0] - drawn[0] * scale) / 2, (plate[1] - drawn[1] * scale) / 2)
    if source.resolution is not None:
        # A whole number of pixels, so that the bitmap's fall on the film's.
        corner = tuple(round(side * resolution) / resolution for side in corner)  # type: ignore[assignment]
    if asked.placed == "cut from the middle" and _differ(plate, drawn):
        note = (
            f"The drawing of {_size(drawn)} lies in the middle of the plate of {_size(plate)}: "
            "what is beyond the plate is cut off, and nothing is etched beyond the drawing."
        )
    area = _area(plate, drawn, scale, corner)
    width = round(asked.width * resolution) / resolution
    inverted = asked.black == "kept"
    return (
        _Lying(source, scale, *corner, area, resolution, width, inverted, asked.mirrored),
        note,
    )


def _area(
    plate: tuple[float, float],
    drawn: tuple[float, float],
    scale: float,
    corner: tuple[float, float],
) -> tuple[float, float, float, float]:
    """Return where the drawing counts: a strip too narrow to be meant belongs to it."""
    ends = [(first, first + own * scale) for first, own in zip(corner, drawn, strict=True)]
    whole = [
        (-math.inf, math.inf) if abs(side - (last - first)) <= _SAME else (first, last)
        for side, (first, last) in zip(plate, ends, strict=True)
    ]
    return whole[0][0], whole[1][0], whole[0][1], whole[1][1]


def _scale(plate: tuple[float, float], drawn: tuple[float, float]) -> tuple[float, str]:
    """Return the factor that brings a drawing to its plate's size, and a note of it."""
    if min(drawn) <= 0:
        raise BadInput("The drawing has no size: draw it again and save it.")
    across, down = (side / own for side, own in zip(plate, drawn, strict=True))
    if abs(across / down - 1) > _PROPORTION:
        raise BadInput(
            f"The drawing is {_size(drawn)} and the plate {_size(plate)}: with one scale for both "
            f"sides that does not fit (it would be {across:.4g} across and {down:.4g} down): give "
            'the plate the drawing\'s proportions, or type placed = "cut from the middle".'
        )
    scale = min(across, down)
    return scale, f"The drawing of {_size(drawn)} was scaled by {scale:.6g} to the plate."


def _check_size(asked: Asked, source: Source) -> None:
    """Refuse a drawing without true size and, as drawn, one of another size than the plate."""
    plate, drawn = (asked.width, asked.height), (source.width, source.height)
    if not source.sized:
        raise BadInput(
            "The drawing does not say how large it is in true size (its pixels, 96 to the inch, "
            f"would make it {_size(drawn)}; the plate is {_size(plate)}): save it with its width "
            'and height in mm, or type drawing_unit = "mm" if that was its unit, or type placed = '
            '"scaled to the plate".'
        )
    if asked.placed == "as drawn" and _differ(plate, drawn):
        raise BadInput(
            f"The drawing is {_size(drawn)} but the plate is {_size(plate)}: give the plate the "
            'drawing\'s size, or type placed = "cut from the middle" or placed = "scaled to the '
            'plate".'
        )


def _check_pixels(columns: float, rows: float) -> None:
    """Refuse a film of no pixel or of too many."""
    if not (0.5 < columns <= MOST_ACROSS and rows > 0.5 and columns * rows <= LARGEST):
        raise BadInput(
            f"The film would have {columns:,.0f} × {rows:,.0f} pixels; accepted are 1 to "
            f"{MOST_ACROSS:,} across and {LARGEST / 1e9:g} thousand million in all: give a smaller "
            'plate, or type a coarser film_resolution = "1200 dpi".'
        )


def _within(first: float, last: float, start: float, resolution: float, many: int) -> Bits:
    """Return 1 for each of many pixels from a start whose centre lies between two places."""
    middles = start + (np.arange(many) + 0.5) / resolution
    return ((middles >= first) & (middles < last)).astype(np.uint8)


def _flipped(bits: Bits, columns: int) -> Bits:
    """Return packed rows with left and right exchanged, their spare bits nought."""
    return np.packbits(np.unpackbits(bits, axis=1, count=columns)[:, ::-1], axis=1)


def _differ(plate: tuple[float, float], drawn: tuple[float, float]) -> bool:
    return any(abs(side - own) > _SAME for side, own in zip(plate, drawn, strict=True))


def _size(sides: tuple[float, float]) -> str:
    across, down = (
        f"{side:.2f}".rstrip("0").rstrip(".") if side >= 1 else f"{side:.3g}" for side in sides
    )
    return f"{across} × {down} mm"
