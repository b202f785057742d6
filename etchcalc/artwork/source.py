"""What every kind of file offers once it is opened and checked, and how the maker says to read it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from etchcalc.artwork.film import Bits

PLACED = ("as drawn", "cut from the middle", "scaled to the plate")


@dataclass(frozen=True)
class Asked:
    """How a drawing is to be read: what only the maker can say.

    Attributes
    ----------
    path : Path
        The drawing's file.
    width, height : float
        The plate's size, mm.
    resolution : float or None
        Pixels a millimetre of the film; None takes that of a bitmap's own file,
        and 2400 dpi for the rest.
    black : {"etched", "kept"}
        What the drawing's black stands for.
    mirrored : bool
        Whether the file shows the plate mirrored, as a film with its emulsion
        down is often kept.
    placed : {"as drawn", "cut from the middle", "scaled to the plate"}
        What to do with a drawing that is not of the plate's size.
    unit : float or None
        Millimetres to a unit of the drawing, for a file that does not say.
    thin_line : float or None
        Width, mm, of lines drawn without one.
    scanned : float or None
        Pixels a millimetre of a bitmap that does not say.
    """

    path: Path
    width: float
    height: float
    resolution: float | None = None
    black: str = "etched"
    mirrored: bool = False
    placed: str = "as drawn"
    unit: float | None = None
    thin_line: float | None = None
    scanned: float | None = None


class Source(Protocol):
    """A drawing opened and checked, which can be rendered any part at a time.

    Attributes
    ----------
    width, height : float
        Its own size, mm, or nought where the file has none (an SVG in pixels
        counts 96 to the inch and is `sized` False).
    sized : bool
        Whether the file itself says its true size.
    resolution : float or None
        Pixels a millimetre of a bitmap; None for what is drawn in lines.
    """

    width: float
    height: float
    sized: bool
    resolution: float | None

    @property
    def notes(self) -> tuple[str, ...]:
        """What the maker should know of how it was read, a sentence each."""

    def rendered(self, left: float, top: float, resolution: float, columns: int, rows: int) -> Bits:
        """Return a part of the drawing, packed, 1 where it is black; white where nothing is.

        Parameters
        ----------
        left, top : float
            Upper left corner of the part, mm from the drawing's own; may lie outside it.
        resolution : float
            Pixels to a millimetre of the drawing.
        columns, rows : int
            Size of the part in pixels. A pixel is black where the drawing is
            black at the pixel's centre.
        """
