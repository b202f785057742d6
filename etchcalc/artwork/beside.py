"""What a film carries beside the plate: register marks, corners, a test strip, screens, words.

The plate lies in the exact middle of the sheet, its bits unchanged, so that the
sheet read again and cut from the middle is the plate's own film. All else keeps clear
of it. Above it, the test strip: lines and lands of known width under one another,
to be measured on the film and on the etched metal. Below it, ten line screens. On the
four sides a cross in a ring, at the corners two ticks whose inner edges lie on the
plate's.
"""

import unicodedata
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from etchcalc.artwork.film import Film, blank
from etchcalc.artwork.letters import LETTERS
from etchcalc.core.faults import BadInput

WIDTHS = (0.05, 0.08, 0.10, 0.15, 0.20, 0.30, 0.40, 0.60, 0.80, 1.00)  # mm, of the test strip
FIELDS = 10  # of the screens, open by a tenth more each
MARGIN = 20.0  # mm between plate and edge of the sheet, at the least
_EDGE, _MARK, _RING, _LINE = 2.0, 6.0, 2.0, 0.1  # mm: clear edge, cross, ring's radius, line
_GAP = 1.0  # mm between things
_TICK, _OFF = 2.0, 0.5  # mm: a tick's length, and how far from the corner it begins
_CLEAR = 3.0  # mm from the plate to what lies above and below it, beyond the ticks
_STRIP, _FIELD = 3.0, 3.4  # mm: height of a row of the test strip, side of a screen
_PITCH = 4.5  # mm from one width of the strip, or one screen, to the next
_SCREEN = 0.2  # mm, about, from line to line of a screen
_DOT = 0.15  # mm of a letter's dot
_TALL, _WIDE = 7, 6  # dots of a letter and the space after it
Stamp = npt.NDArray[np.bool_]


def sheet(
    film: Film,
    *,
    margin: float | None = None,
    title: str = "",
    progress: Callable[[float], None] | None = None,
) -> Film:
    """Return a plate's film in the middle of a sheet, with what the bureau and the bench need.

    The test strip has each width twice: above as an etched line on kept metal,
    below it as a kept land in etched metal; between them the width in mm as it is
    in whole pixels. The screens are etched lines some 0.2 mm apart, open by 10, 20,
    ... 100 % of that, as written under them.

    What the screens can do: show spread. Light that creeps under the film, or too
    much of it, closes the screens from one end, too little from the other. What
    they cannot do: they are no grey wedge, for a pixel of this film lets through
    all light or none; to read an exposure in steps takes a wedge in true greys.

    Parameters
    ----------
    film : Film
        The plate's.
    margin : float, optional
        Millimetres from the plate to the edge of the sheet, the same on opposite
        sides, taken up to 8 whole pixels; 20, or more for a very small plate, when
        left out.
    title : str
        Written above the plate in capitals; letters other than A to Z as near as
        they come, and no more than there is room for.
    progress : callable, optional
        Told the share that is done.

    Raises
    ------
    BadInput
        The margin is too narrow for what is to stand in it.
    """
    draw = _Drawing(film, margin)
    made = blank(draw.columns, draw.rows, film.resolution)
    left = draw.margin // 8
    for rows in film.bands():
        below = slice(rows.start + draw.margin, rows.stop + draw.margin)
        made.bits[below, left : left + film.bits.shape[1]] = film.bits[rows]
        if progress is not None:
            progress(rows.stop / film.rows)
    for top, column, stamp in (
        *draw.register_marks(),
        *draw.corners(),
        *draw.test_strip(),
        *draw.screens(),
        *draw.words(title),
    ):
        _lay(made, top, column, stamp)
    return made


class _Drawing:
    """Where everything stands, in pixels: each method returns tops, lefts and stamps."""

    def __init__(self, film: Film, margin: float | None):
        self._film, self._resolution = film, film.resolution
        self._dot = self._pixels(_DOT)
        self._pitch = max(self._pixels(_PITCH), (4 * _WIDE + 1) * self._dot)
        self._edge, self._gap = self._pixels(_EDGE), self._pixels(_GAP)
        self._caption = 7 * _WIDE * self._dot
        self._clear = self._pixels(_CLEAR)
        self._block = FIELDS * self._pitch + self._caption
        strip = 2 * self._pixels(_STRIP) + (_TALL + 4) * self._dot
        down = self._edge + self._pixels(_MARK) + 1 + self._gap + strip + self._clear
        across = (self._block - film.columns) // 2 + self._edge
        needed = max(down, across)
        wanted = self._pixels(MARGIN if margin is None else margin)
        if margin is not None and wanted < needed:
            raise BadInput(
                f"A margin of {margin:g} mm is too narrow for marks and test strip; give "
                f"{np.ceil(needed / self._resolution):g} mm or more."
            )
        self.margin = -(-max(wanted, needed) // 8) * 8  # so that the plate's bytes stay whole
        self.columns, self.rows = film.columns + 2 * self.margin, film.rows + 2 * self.margin

    def _pixels(self, length: float) -> int:
        return max(round(length * self._resolution), 1)

    def register_marks(self):
        """Return a cross in a ring at the middle of each side, exactly opposite one another."""
        for size, upright in ((self.columns, True), (self.rows, False)):
            # As odd or even as the side, so that its middle is the side's.
            wide = _like(self._pixels(_MARK), size)
            line = _like(self._pixels(_LINE), size)
            mark = _cross(wide, line, _RING * self._resolution)
            middle = (size - len(mark)) // 2
            far = (self.rows if upright else self.columns) - self._edge - len(mark)
            for place in (self._edge, far):
                yield (place, middle, mark) if upright else (middle, place, mark)

    def corners(self):
        """Return two ticks outside each corner, whose inner edges lie on the plate's edges."""
        off, long, line = self._pixels(_OFF), self._pixels(_TICK), self._pixels(_LINE)
        ends_down = (self.margin - off - long, self.rows - self.margin + off)
        ends_across = (self.margin - off - long, self.columns - self.margin + off)
        beside_down = (self.margin - line, self.rows - self.margin)
        beside_across = (self.margin - line, self.columns - self.margin)
        for i in (0, 1):
            for j in (0, 1):
                yield ends_down[i], beside_across[j], np.ones((long, line), bool)
                yield beside_down[i], ends_across[j], np.ones((line, long), bool)

    def test_strip(self):
        """Return the rows of lines and of lands, their widths between them, above the plate."""
        tall, dot = self._pixels(_STRIP), self._dot
        lines = np.zeros((tall, FIELDS * self._pitch), bool)
        lands = np.ones_like(lines)
        left = (self.columns - self._block) // 2
        words = self.margin - self._clear - tall - (_TALL + 2) * dot
        for i, width in enumerate(WIDTHS):
            wide = self._pixels(width)
            start = i * self._pitch + (self._pitch - wide) // 2
            lines[:, start : start + wide] = True
            lands[:, start : start + wide] = False
            yield self._word(f"{wide / self._resolution:.2f}", words, left, i)
        top, below = words - 2 * dot - tall, self.margin - self._clear - tall
        after = left + lines.shape[1] + 4 * dot
        yield top, left, lines
        yield below, left, lands
        yield top + (tall - _TALL * dot) // 2, after, _written("LINES", dot)
        yield words, after, _written("MM", dot)
        yield below + (tall - _TALL * dot) // 2, after, _written("LANDS", dot)

    def screens(self):
        """Return the ten screens with their shares, below the plate."""
        side, step = self._pixels(_FIELD), max(round(_SCREEN * self._resolution / FIELDS), 1)
        period = step * FIELDS
        side = max(side // period, 2) * period
        left = (self.columns - self._block) // 2
        top = self.rows - self.margin + self._clear
        place = np.arange(side) % period
        below = top + side + 2 * self._dot
        for i in range(FIELDS):
            # Each line in the middle of its period, so that a field looks the same both ways.
            before = (FIELDS - 1 - i) * step // 2
            etched = (place >= before) & (place < before + (i + 1) * step)
            start = left + i * self._pitch + (self._pitch - side) // 2
            yield top, start, np.tile(etched, (side, 1))
            yield self._word(f"{(i + 1) * 100 // FIELDS}", below, left, i)
        yield below, left + FIELDS * self._pitch + 4 * self._dot, _written("% OPEN", self._dot)

    def words(self, title: str):
        """Return title, plate's size and resolution, beside the register marks."""
        mark = self._pixels(_MARK) + 1
        half = (self.columns - mark) // 2 - self._edge - self._gap
        most = max(half // (_WIDE * self._dot), 0)
        film = self._film
        above, below = self._edge, self.rows - self._edge - _TALL * self._dot
        right = (self.columns + mark) // 2 + self._gap
        size = f"PLATE {film.width:.2f} X {film.height:.2f} MM"
        dpi = f"{self._resolution * 25.4:.6g} DPI"
        for top, left, text in (
            (above, self._edge, title),
            (below, self._edge, size),
            (below, right, dpi),
        ):
            stamp = _written(text, self._dot, most)
            if stamp.size:
                yield top, left, stamp

    def _word(self, text: str, top: int, left: int, i: int) -> tuple[int, int, Stamp]:
        """Return a number in the middle of the i-th place of a row."""
        stamp = _written(text, self._dot)
        return top, left + i * self._pitch + (self._pitch - stamp.shape[1]) // 2, stamp


def _like(pixels: int, size: int) -> int:
    """Return a number of pixels as odd or even as a size."""
    return pixels + (size - pixels) % 2


def _cross(size: int, line: int, radius: float) -> Stamp:
    """Return a cross in a ring, the same from all four sides."""
    off = np.abs(np.arange(size) - (size - 1) / 2)
    along = off < line / 2
    ring = np.abs(np.hypot(off, off[:, np.newaxis]) - radius) < line / 2
    return along | along[:, np.newaxis] | ring


def _written(text: str, dot: int, most: int | None = None) -> Stamp:
    """Return a line of words in letters of five by seven dots."""
    plain = unicodedata.normalize("NFKD", text.replace("×", "x")).encode("ascii", "ignore").decode()
    columns = [LETTERS.get(letter, LETTERS[" "]) for letter in plain.upper().strip()[:most]]
    if not columns:
        return np.zeros((_TALL, 0), bool)
    bits = np.array([[*letter, 0] for letter in columns], np.uint8).reshape(-1)[:-1]
    dots = np.unpackbits(bits[np.newaxis, :], axis=0)[-_TALL:].astype(bool)
    return np.kron(dots, np.ones((dot, dot), bool))


def _lay(film: Film, top: int, left: int, stamp: Stamp) -> None:
    """Add a stamp to a film."""
    shifted = np.packbits(np.pad(stamp, ((0, 0), (left % 8, 0))), axis=1)
    film.bits[top : top + len(stamp), left // 8 : left // 8 + shifted.shape[1]] |= shifted
