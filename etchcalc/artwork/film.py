"""The one form in which every drawing is kept here: a film, one bit a pixel, in true size.

Whatever a maker brings becomes a film when it is read; measuring, offsetting and
writing work on that alone, because that is what the light will see. Numpy is
all that is needed to hold one.
"""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Bits = npt.NDArray[np.uint8]
# Ends of the bands of line width in which the open area is shared out, mm.
WIDTHS = (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0)
RESOLUTION = 2400 / 25.4  # pixels a millimetre: 2400 dpi
_IN_MEMORY = 64 * 2**20  # bytes of packed pixels; a larger film lies in a file without a name
_BAND = 8 * 2**20  # pixels looked at at a time


@dataclass(frozen=True, eq=False)
class Film:
    """A plate's face as one bit a pixel in true size, as the plate is seen.

    Attributes
    ----------
    bits : array of uint8, shape (rows, ceil(columns / 8))
        Pixels as `numpy.packbits` leaves them; 1 where the metal is to be
        etched. A pixel is judged at its centre, so an edge lies within half a
        pixel of where it was drawn. Spare bits are 0.
    columns, rows : int
        Pixels across and down.
    resolution : float
        Pixels per millimetre.
    """

    bits: Bits
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
        """Return the pixels one bool each, shape (rows, columns), True where etched."""
        return np.unpackbits(self.bits, axis=1, count=self.columns).view(np.bool_)

    def bands(self, overlap: int = 0, multiple: int = 1) -> Iterator[slice]:
        """Yield slices of rows, from the top, so that only a part is looked at at a time.

        Parameters
        ----------
        overlap : int
            Rows that the caller looks at beyond each end: bands are at least
            four times as deep.
        multiple : int
            Bands begin at multiples of this.
        """
        deep = max(_BAND // max(self.columns, 1), 4 * overlap, 1)
        deep = -(-deep // multiple) * multiple
        for top in range(0, self.rows, deep):
            yield slice(top, min(top + deep, self.rows))


def blank(columns: int, rows: int, resolution: float = RESOLUTION) -> Film:
    """Return a film on which nothing is etched yet, to be filled in bands of rows.

    Parameters
    ----------
    columns, rows : int
        Pixels across and down. A film larger than some 500 million pixels
        lies in a temporary file, so that it need not fit into memory.
    resolution : float
        Pixels per millimetre.
    """
    shape = (rows, (columns + 7) // 8)
    if shape[0] * shape[1] <= _IN_MEMORY:
        return Film(np.zeros(shape, np.uint8), columns, rows, resolution)
    with tempfile.TemporaryFile() as file:
        bits: Bits = np.memmap(file, np.uint8, "w+", shape=shape)
    return Film(bits, columns, rows, resolution)


def film_of(etched: npt.NDArray[np.bool_], resolution: float = RESOLUTION) -> Film:
    """Return the film of an array of bools, shape (rows, columns), True where etched.

    The resolution is in pixels per millimetre.
    """
    rows, columns = etched.shape
    return Film(np.packbits(etched, axis=1), columns, rows, resolution)
