"""A bitmap: the pixels of a TIFF or PNG, in the true size that its resolution gives them.

A one-bit TIFF comes out bit for bit. What has shades is cut at half of full light,
and refused where too much of it is neither dark nor light.
"""

import math
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image

from etchcalc.artwork import strips
from etchcalc.artwork.film import Bits
from etchcalc.artwork.read import LARGEST
from etchcalc.artwork.shades import Pixels, Shades
from etchcalc.artwork.source import Asked, Source
from etchcalc.core.faults import BadInput

_AGAIN = "export it again as a TIFF or PNG in black and white"
_SAME = 0.005  # share by which the resolutions across and down may differ
_A_METRE = 0.0254  # dpi: a PNG's resolution is whole pixels a metre
_WHOLE = 400_000_000  # pixels of what is unpacked a byte a pixel
_BYTES = 1_200_000_000  # and its bytes
_BAND = 4_000_000  # pixels looked at at a time
_WIDTHS = {"1": 1, "L": 1, "P": 1, "I;16": 2, "LA": 4, "PA": 4, "RGB": 4, "RGBA": 4}
_SEE_THROUGH = ("LA", "PA", "RGBA")


def opened(asked: Asked) -> Source:
    """Return a bitmap opened and checked; its pixels are unpacked when they are first asked for.

    Parameters
    ----------
    asked : Asked
        The file and, for one that does not say its resolution or says a wrong
        one, the resolution it was scanned or made at.

    Raises
    ------
    BadInput
        For a file that cannot be read, has more than one page, is compressed or
        coloured in a way that is not accepted, or does not say its resolution.
        When its pixels are asked for: for one that is damaged, or a photograph.
    """
    try:
        with asked.path.open("rb") as file:
            tagged = file.read(2) in (b"II", b"MM")
        pixels = strips.opened(asked.path) if tagged else _picture(asked.path)
    except OSError as fault:
        raise BadInput(
            f"The bitmap {asked.path.name} cannot be opened ({fault.strerror or fault}): give the "
            "path of a TIFF or PNG file that is there."
        ) from fault
    if pixels.columns < 1 or pixels.rows < 1 or pixels.columns * pixels.rows > LARGEST:
        raise BadInput(
            f"The bitmap {asked.path.name} has {pixels.columns:,} × {pixels.rows:,} pixels; "
            f"accepted are 1 to {LARGEST / 1e9:g} thousand million: {_AGAIN}, at 2400 dpi or less."
        )
    return Bitmap(pixels, _scale(asked, pixels))


class _Scale(NamedTuple):
    resolution: float  # pixels a millimetre
    sized: bool
    note: str


class Bitmap:
    """The pixels of a file, as `etchcalc.artwork.source.Source` describes.

    Parameters
    ----------
    pixels : Pixels
        What is in the file.
    scale : _Scale
        How many pixels there are to a millimetre, and what to know of it.
    """

    def __init__(self, pixels: Pixels, scale: _Scale):
        self._pixels, self._scale = pixels, scale
        self.resolution: float | None = scale.resolution
        self.sized = scale.sized
        self.width = pixels.columns / scale.resolution
        self.height = pixels.rows / scale.resolution

    @cached_property
    def _unpacked(self) -> tuple[Bits, str]:
        return self._pixels.unpacked()

    @property
    def notes(self) -> tuple[str, ...]:
        """What the maker should know of how it was read; shades are looked at for it."""
        shades = self._unpacked[1] if self._pixels.shaded else ""
        return tuple(filter(None, (self._scale.note, shades)))

    def rendered(self, left: float, top: float, resolution: float, columns: int, rows: int) -> Bits:
        """Return a part of the bitmap: its own pixels on its own grid, else the nearest ones."""
        across = self._nearest(left, resolution, columns)
        down = self._nearest(top, resolution, rows)
        inside = (across >= 0) & (across < self._pixels.columns)
        made = np.zeros((rows, columns), np.uint8)
        lines = (down >= 0) & (down < self._pixels.rows)
        if not inside.any() or not lines.any():
            return np.packbits(made, axis=1)
        wanted, down = across[inside], down[lines]
        own = self._unpacked[0][down[0] : down[-1] + 1, wanted[0] // 8 : wanted[-1] // 8 + 1]
        own = own[down - down[0]]
        shown = np.unpackbits(own, axis=1)
        first = wanted[0] % 8
        if wanted[-1] - wanted[0] + 1 == len(wanted):
            picked = shown[:, first : first + len(wanted)]
        else:
            picked = shown[:, wanted - wanted[0] + first]
        start = int(np.argmax(inside))
        made[lines, start : start + len(wanted)] = picked
        return np.packbits(made, axis=1)

    def _nearest(self, start: float, resolution: float, many: int) -> np.ndarray:
        """Return the file's pixel in which the centre of each of a row of pixels lies."""
        own = self._scale.resolution
        if math.isclose(own, resolution, rel_tol=1e-9):
            # One step for all, so that rounding never doubles a pixel or leaves one out.
            return math.floor(start * own + 0.5 + 1e-6) + np.arange(many)
        middles = (start + (np.arange(many) + 0.5) / resolution) * own
        return np.floor(middles + 1e-6).astype(np.int64)


def _scale(asked: Asked, pixels: Pixels) -> _Scale:
    """Return the resolution by which a bitmap has its size: what the maker says, else the file."""
    name = asked.path.name
    found = pixels.dpi
    if asked.scanned is not None:
        said = asked.scanned
        if found is None or abs(found[0] / 25.4 / said - 1) <= _SAME:
            return _Scale(said, True, "")
        return _Scale(
            said,
            True,
            f"The file {name} says {found[0]:g} dpi; it was read at the {said * 25.4:g} dpi of "
            "scan_resolution.",
        )
    if found is None:
        if asked.placed == "scaled to the plate":
            return _Scale(pixels.columns / asked.width, False, "")
        raise BadInput(
            f"The bitmap {name} does not say its resolution: save it with the one it was scanned "
            'or made at, or type it: scan_resolution = "2400 dpi".'
        )
    across, down = found
    if abs(across / down - 1) > _SAME:
        raise BadInput(
            f"The bitmap {name} has {across:g} dpi across and {down:g} dpi down; accepted is one "
            'resolution for both: save it so, or type it: scan_resolution = "2400 dpi".'
        )
    return _Scale(whole(across) / 25.4, True, "")


def whole(dpi: float) -> float:
    """Return the whole dpi that is meant, where it differs by less than a pixel a metre.

    A PNG can only say whole pixels a metre: 94488 where 2400 dpi are meant.
    """
    nearest = float(round(dpi))
    return nearest if nearest and abs(dpi - nearest) <= _A_METRE else dpi


def _picture(path: Path) -> Pixels:
    """Return what a PNG holds."""
    with _image(path) as image:
        columns, rows = image.size
        bytes_each = _WIDTHS.get(image.mode)
        dpi = image.info.get("dpi")
        pages = getattr(image, "n_frames", 1)
        see_through = image.mode in _SEE_THROUGH or "transparency" in image.info
        mode = image.mode
        if mode == "P" and not image.getpalette():
            raise BadInput(f"The bitmap {path.name} is damaged or no bitmap: {_AGAIN}.")
    if pages != 1:
        raise BadInput(
            f"The bitmap {path.name} has {pages} pictures; accepted is one: save the one that is "
            "the plate."
        )
    if bytes_each is None or (mode == "I;16" and see_through):
        raise BadInput(
            f"The bitmap {path.name} has colours of a kind that is not accepted ({mode}): {_AGAIN}."
        )
    if columns * rows > _WHOLE or columns * rows * bytes_each > _BYTES:
        most = min(_WHOLE, _BYTES // bytes_each) / 1e6
        raise BadInput(
            f"The bitmap {path.name} has {columns:,} × {rows:,} pixels; accepted of its kind are "
            f"{most:g} million: save it as a TIFF of one bit a pixel, which may be larger."
        )

    def unpacked() -> tuple[Bits, str]:
        shades = Shades(path.name, columns, rows)
        with _image(path) as image:
            _load(path, image)
            deep = max(_BAND // columns, 1)
            for top in range(0, rows, deep):
                band = image.crop((0, top, columns, min(top + deep, rows)))
                shades.lay(top, 0, _light(band, see_through))
        return shades.result(noted=mode != "1")

    return Pixels(columns, rows, _positive(dpi), mode != "1", unpacked)


def _image(path: Path) -> Image.Image:
    """Return a picture of which the head is read, whatever its size: that is looked at here."""
    most, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        return Image.open(path, formats=("PNG",))
    except Exception as fault:  # a damaged head raises whatever its reader stumbles on
        if isinstance(fault, OSError) and fault.errno:
            raise
        raise BadInput(f"The bitmap {path.name} is damaged or no bitmap: {_AGAIN}.") from fault
    finally:
        Image.MAX_IMAGE_PIXELS = most


def _load(path: Path, image: Image.Image) -> None:
    try:
        image.load()
    except Exception as fault:  # as above
        raise BadInput(
            f"The bitmap {path.name} is cut short or damaged: copy it again from where it came, or "
            f"{_AGAIN}."
        ) from fault


def _light(band: Image.Image, see_through: bool) -> np.ndarray:
    """Return how light each pixel is, 0 to 255; what is seen through is laid over white."""
    if band.mode == "I;16":
        return (np.asarray(band) >> 8).astype(np.uint8)
    if see_through:
        band = band.convert("RGBA")
        band = Image.alpha_composite(Image.new("RGBA", band.size, "white"), band)
    return np.asarray(band.convert("L"))


def _positive(dpi: tuple | None) -> tuple[float, float] | None:
    """Return a resolution across and down, None where it is none."""
    try:
        across, down = (float(Fraction(side)) for side in dpi or ())
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return (across, down) if across > 0 and down > 0 else None
