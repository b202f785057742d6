"""A small picture of a film, to lay over a drawing of the plate."""

import io

import numpy as np
import numpy.typing as npt
from PIL import Image

from etchcalc.artwork.film import Film

WIDEST = 900  # pixels
INK = (0x1F, 0x2A, 0x30)
_SHADES = 16  # so that a pixel takes half a byte


def preview(film: Film, *, black: str = "etched") -> bytes:
    """Return a PNG of a film: ink where the metal is etched, clear where it is kept.

    Parameters
    ----------
    film : Film
        The drawing, one bit a pixel.
    black : {"etched", "kept"}
        What the drawing's black stands for.

    Returns
    -------
    bytes
        A PNG at most 900 pixels wide, edges averaged down to 16 shades.
    """
    times = -(-film.columns // WIDEST)
    share = _averaged(film, times)
    if black == "kept":
        share = 1 - share
    shades = np.rint(share * (_SHADES - 1)).astype(np.uint8)
    image = Image.fromarray(shades)
    image.putpalette(INK * _SHADES)
    out = io.BytesIO()
    alpha = bytes(round(shade * 255 / (_SHADES - 1)) for shade in range(_SHADES))
    image.save(out, "PNG", transparency=alpha, bits=4, optimize=True)
    return out.getvalue()


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
