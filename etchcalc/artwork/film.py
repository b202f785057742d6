"""The one form in which every drawing is kept here: a film, one bit a pixel, in true size.

And what is measured on it. Numpy is all that is needed to hold them.
"""

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


@dataclass(frozen=True)
class FilmMeasures:
    """What was measured on a film, lengths in millimetres.

    Attributes
    ----------
    open_area : float
        Etched area, mm².
    open_fraction : float
        Etched area over the whole film's area, 0 to 1.
    narrowest_line, narrowest_land : float or None
        Width of the narrowest etched line and of the narrowest metal kept
        between etched parts; None where there is none. Right to one `pixel` up
        to 0.68 mm at 1200 dpi (32 pixels). Wider ones are looked for on a film
        half as fine, and so on: two whose widths differ by less than a
        sixteenth may be taken for one another; the width of the one found is
        right to one pixel or 1/64, whichever is more.
    line_place, land_place : (float, float) or None
        A point on it: millimetres from the left and from the top.
    hairline_place, hairland_place : (float, float) or None
        Where a line, or a land, is finer than 3 pixels, too fine to be measured
        and not counted above; None where there is none. The long cusp between
        two curves that touch is such a land.
    pixel : float
        Width of a pixel, mm: the bound of the widths.
    """

    open_area: float
    open_fraction: float
    narrowest_line: float | None
    line_place: tuple[float, float] | None
    narrowest_land: float | None
    land_place: tuple[float, float] | None
    hairline_place: tuple[float, float] | None
    hairland_place: tuple[float, float] | None
    pixel: float
