"""Small pictures of a film: to lay over a drawing of the plate, and to compare film and plate."""

import io
import math

import numpy as np
import numpy.typing as npt
from PIL import Image

from etchcalc.artwork import offset
from etchcalc.artwork.film import Film, film_of

WIDEST = 900  # pixels
INK = (0x1F, 0x2A, 0x30)
UNDERCUT = (0x8C, 0x3F, 0x12)
LOST = (0xA3, 0x20, 0x2A)
_SHADES = 16  # so that a pixel takes half a byte
_COARSE = 600 / 25.4  # pixels a millimetre that are enough while a slider moves


def preview(film: Film) -> bytes:
    """Return a PNG of a film: ink where the metal is etched, clear where it is kept.

    At most 900 pixels wide, edges averaged down to 16 shades.
    """
    times = -(-film.columns // WIDEST)
    shades = np.rint(_averaged(film, times) * (_SHADES - 1)).astype(np.uint8)
    image = Image.fromarray(shades)
    image.putpalette(INK * _SHADES)
    out = io.BytesIO()
    alpha = bytes(round(shade * 255 / (_SHADES - 1)) for shade in range(_SHADES))
    image.save(out, "PNG", transparency=alpha, bits=4, optimize=True)
    return out.getvalue()


def compared(
    film: Film, undercut: float, shrink: bool, box: list[float] | None = None, across: int = WIDEST
) -> bytes:
    """Return a PNG of the film to be used, and of what the etch makes of it.

    Ink is open on the film, brown is what the undercut adds, red is what was
    drawn and will not be there; clear is metal that stays.

    Parameters
    ----------
    film : Film
        As drawn.
    undercut : float
        Per edge, mm.
    shrink : bool
        Whether the film is corrected, or used as it is.
    box : list of float, optional
        Left, top, right, bottom, mm; else the whole, on a film of some 600 dpi.
    across : int
        Pixels in a row of the picture, at most.
    """
    left, top, right, bottom = box or (0.0, 0.0, film.width, film.height)
    step = max(1, int(film.resolution / _COARSE)) if box is None else 1
    reach = 2 * math.ceil(undercut * film.resolution) + 1
    part, inner = _cut(film, left, top, right, bottom, reach, step)
    radius = offset.pixels(undercut, part)
    used = offset.shrunk(part, radius) if shrink else part
    plate = offset.grown(used, radius)
    drawn, open_, etched = (each.unpacked()[inner] for each in (part, used, plate))
    layers = (open_, etched & ~open_, drawn & ~etched)
    times = -(-open_.shape[1] // across)
    shares = np.stack([_averaged(film_of(layer), times) for layer in layers], axis=-1)
    some = shares.sum(axis=-1, keepdims=True)
    colour = shares @ np.array([INK, UNDERCUT, LOST], float) / np.maximum(some, 1e-9)
    image = Image.fromarray(np.rint(np.concatenate([colour, 255 * some], -1)).astype(np.uint8))
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def _cut(
    film: Film, left: float, top: float, right: float, bottom: float, reach: int, step: int
) -> tuple[Film, tuple[slice, slice]]:
    """Return a part of a film with some pixels round it, and where in it the part lies.

    Of every `step` pixels one is taken, both ways.
    """
    ends = []
    for low, high, most in ((top, bottom, film.rows), (left, right, film.columns)):
        first = min(max(math.floor(low * film.resolution), 0), most - 1)
        last = min(max(math.ceil(high * film.resolution), first + 1), most)
        ends.append((max(first - reach, 0), first, last, min(last + reach, most)))
    (first, top_row, last_row, last), (begin, left_column, right_column, end) = ends
    byte = begin // 8
    bits = film.bits[first:last:step, byte : (end + 7) // 8]
    pixels = np.unpackbits(bits, axis=1, count=end - byte * 8)[:, begin - byte * 8 :: step]
    inner = (
        slice((top_row - first) // step, -(-(last_row - first) // step)),
        slice((left_column - begin) // step, -(-(right_column - begin) // step)),
    )
    return film_of(pixels.view(np.bool_), film.resolution / step), inner


def _averaged(film: Film, times: int) -> npt.NDArray[np.float64]:
    """Return the share of black, 0 to 1, in each square of `times` pixels a side."""
    across = -(-film.columns // times)
    lines = []
    for top in range(0, film.rows, times):
        strip = np.unpackbits(film.bits[top : top + times], axis=1, count=film.columns)
        down = np.zeros(across * times, np.int64)
        down[: film.columns] = strip.sum(axis=0)
        held = np.minimum(times, film.columns - np.arange(across) * times) * len(strip)
        lines.append(down.reshape(across, times).sum(axis=1) / held)
    return np.array(lines)
