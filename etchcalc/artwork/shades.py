"""Shades cut to black and white at half of full light, and a photograph refused."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from etchcalc.artwork.film import Bits, blank
from etchcalc.core.faults import BadInput

_DARK, _HALF, _LIGHT = 64, 128, 192  # of 256: a quarter, half and three quarters
_MOST = 0.05  # share of pixels between a quarter and three quarters; a scan's edges have less


@dataclass(frozen=True)
class Pixels:
    """What is in a bitmap's file.

    Attributes
    ----------
    columns, rows : int
        Pixels across and down.
    dpi : (float, float) or None
        Resolution across and down, where the file says it.
    shaded : bool
        Whether it may hold more than black and white.
    unpacked : callable
        Returns the packed pixels, 1 where black, and what to know of the shades.
    """

    columns: int
    rows: int
    dpi: tuple[float, float] | None
    shaded: bool
    unpacked: Callable[[], tuple[Bits, str]]


class Shades:
    """A picture with shades, cut to black and white part by part.

    Parameters
    ----------
    name : str
        The file's, for the sentences.
    columns, rows : int
        Pixels across and down.
    """

    def __init__(self, name: str, columns: int, rows: int):
        self._name = name
        self._film = blank(columns, rows)
        self._between = 0

    def lay(self, top: int, left: int, light: npt.NDArray[np.uint8]) -> None:
        """Cut a part, given as 0 (black) to 255, whose left edge is a multiple of 8."""
        light = light[: self._film.rows - top, : self._film.columns - left]
        self._between += int(np.count_nonzero((light >= _DARK) & (light < _LIGHT)))
        packed = np.packbits(light < _HALF, axis=1)
        self._film.bits[top : top + len(packed), left // 8 : left // 8 + packed.shape[1]] = packed

    def result(self, *, noted: bool = True) -> tuple[Bits, str]:
        """Return the packed pixels and what the maker should know; refuse a photograph."""
        share = self._between / (self._film.columns * self._film.rows)
        if share > _MOST:
            raise BadInput(
                f"Of the bitmap {self._name}, {share:.0%} of the pixels are neither dark nor light "
                f"(25 to 75 % of full light), as in a photograph or a drawing in colours; accepted "
                f"are {_MOST:.0%}, the edges of a scan: make it black and white and save it again."
            )
        note = (
            f"The bitmap {self._name} has shades and was cut at half of full light; {share:.2%} of "
            "its pixels lie between 25 and 75 %."
        )
        return self._film.bits, note if noted else ""
