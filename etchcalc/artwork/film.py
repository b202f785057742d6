"""The one form in which every drawing is kept here: a film, one bit a pixel, in true size."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

RESOLUTION = 1200 / 25.4  # pixels a millimetre: 1200 dpi


@dataclass(frozen=True, eq=False)
class Film:
    """A drawing as one bit a pixel in true size, seen as it was drawn.

    Attributes
    ----------
    bits : array of uint8, shape (rows, ceil(columns / 8))
        Pixels as `numpy.packbits` leaves them; 1 is black on the drawing. A
        pixel is black where the drawing is black at its centre, so an edge lies
        within half a pixel of where it was drawn. Spare bits are 0.
    columns, rows : int
        Pixels across and down.
    resolution : float
        Pixels per millimetre.
    """

    bits: npt.NDArray[np.uint8]
    columns: int
    rows: int
    resolution: float

    @property
    def width(self) -> float:
        """Width of the film in millimetres, a whole number of pixels."""
        return self.columns / self.resolution

    @property
    def height(self) -> float:
        """Height of the film in millimetres, a whole number of pixels."""
        return self.rows / self.resolution

    def unpacked(self) -> npt.NDArray[np.bool_]:
        """Return the pixels one bool each, shape (rows, columns), True where black."""
        return np.unpackbits(self.bits, axis=1, count=self.columns).view(np.bool_)


def film_of(black: npt.NDArray[np.bool_], resolution: float = RESOLUTION) -> Film:
    """Return the film of an array of bools, shape (rows, columns), True where black.

    The resolution is in pixels per millimetre.
    """
    rows, columns = black.shape
    return Film(np.packbits(black, axis=1), columns, rows, resolution)
