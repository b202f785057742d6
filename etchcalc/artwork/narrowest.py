"""The narrowest line of a film and its narrowest land.

The narrowest line is the smallest width w at which opening the etched set with
a disc of that width (laying the disc wherever it fits) loses something farther
than 2.87 times the disc's radius from all that remains. A disc leaves a corner
of 30 degrees unfilled for 2.864 radii, so corners of 30 degrees and more never
count. What a sharper corner loses, it loses at every width from the smallest:
that is a point, not a line, and is not counted. The narrowest land is the same,
measured on the metal that stays.

On pixels: a loss counts when it is a pixel farther than that, and when it was
not, give or take the steps of a tip, already lost one pixel earlier and at half
the width. So a taper of less than about 8 degrees, which loses more than this
follows, does count as a line.

Outside the plate all metal counts as kept. So a line that runs off the plate is
as wide as it is on the plate, and the metal between a line and the plate's edge
is not a land: it is part of the edge, which the blank carries beyond the
drawing until it is cut.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film, blank

SMALLEST = 3  # pixels; below this a disc has no shape
_WIDEST = 32  # pixels at one resolution; wider is looked for on a film half as fine
REACH = 3.87  # radii from the middle of a disc that fits to what still belongs to it
TOLERANCE = 1.0  # pixels by which an edge's steps may shift a distance
TIP = 3.5  # pixels by which a corner of 25 degrees and more may end short of its tip
GROWTH = 14.5  # pixels a point of 4 degrees loses more when the disc widens by one
POINT = 7.0  # radii within which a point has already lost something at half the width
_LEAP = 1.35
_BLOCK = 8


@dataclass(frozen=True)
class Narrowest:
    """The narrowest part of a set, in pixels: its width, its place, and any hair."""

    width: float | None
    place: tuple[float, float] | None
    hair: tuple[float, float] | None


def narrowest(film: Film, *, kept: bool = False) -> Narrowest:
    """Return the narrowest etched line of a film, or its narrowest land.

    Parameters
    ----------
    film : Film
    kept : bool
        Look at the metal that is kept, to which all outside the film belongs,
        instead of what is etched.

    Returns
    -------
    Narrowest
        Width and places in pixels; a place is (across, down), pixel centres at
        a half.
    """
    levels = [film]
    hair = _hair(film, kept)
    for scale, first in _levels(film):
        if scale > 1:
            levels.append(halved(levels[-1]))
        found = _first_lost(levels[-1], first, kept)
        if found is None:
            continue
        width, place = found
        if scale == 1:
            return Narrowest(float(width), place, hair)
        finer = levels[-1 - min(2, len(levels) - 1)]
        step = scale // 2 ** min(2, len(levels) - 1)
        width_there = width_at(finer, place, scale // step, width, kept=kept)
        return Narrowest(width_there * step, (place[0] * scale, place[1] * scale), hair)
    return Narrowest(None, None, hair)


def _levels(film: Film) -> Iterator[tuple[int, int]]:
    """Yield each scale on which to look, and the width known to hold there."""
    scale, first = 1, SMALLEST
    while first * scale <= 2 * max(film.rows, film.columns):
        yield scale, first
        scale, first = 2 * scale, _WIDEST // 2


def halved(film: Film) -> Film:
    """Return every second pixel of every second row: the film at half the resolution."""
    half = blank((film.columns + 1) // 2, (film.rows + 1) // 2, film.resolution / 2)
    for rows in film.bands(multiple=2):
        pixels = np.unpackbits(film.bits[rows][::2], axis=1, count=film.columns)[:, ::2]
        half.bits[rows.start // 2 : rows.start // 2 + len(pixels)] = np.packbits(pixels, axis=1)
    return half


def _planes(film: Film, kept: bool) -> Iterator[tuple[int, bits.Plane]]:
    """Yield each band of a film laid out, with the row at which it begins."""
    for rows in film.bands(bits.MARGIN, _BLOCK):
        yield rows.start, bits.lay(film, rows, outside=kept, inverse=kept)


def _first_lost(film: Film, holds: int, kept: bool) -> tuple[int, tuple[float, float]] | None:
    """Return the greatest width that all lines hold, and a place that loses the next.

    Goes up from a width known to hold, in leaps: all that a wide disc leaves
    near, a narrower one leaves near too. Only where a leap leaves something far
    is every width looked at.
    """
    while holds < _WIDEST:
        leap = min(max(holds + 2, int(holds * _LEAP)), _WIDEST)
        found = None
        for window in _suspect_windows(film, kept, leap, REACH * (holds + 1) / 2):
            for width in range(holds + 1, found[0] + 1 if found else leap + 1):
                counted = window.counted(width)
                if counted.any():
                    found = (width - 1, window.place(counted))
                    break
        if found:
            return found
        holds = leap
    return None


def _suspect_windows(film: Film, kept: bool, width: int, reach: float) -> Iterator["_Window"]:
    """Yield, band by band, the windows in which a disc of this width loses something."""
    for top, plane in _planes(film, kept):
        yield from _windows(plane, _suspects(plane, width, reach), width, top)


def _suspects(plane: bits.Plane, width: int, reach: float) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels hold something that a disc leaves out of reach."""
    fits = bits.erode(plane.words, width)
    return _inner(_blocks(plane.words & ~bits.dilate(fits, reach, corners=width % 2 == 0)))


def _inner(blocks: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Take out the blocks above and below the band: they are another band's."""
    blocks[: bits.MARGIN // _BLOCK] = blocks[-bits.MARGIN // _BLOCK :] = False
    return blocks


def _blocks(words: bits.Words) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels, the margin's too, hold anything."""
    starts = np.arange(0, words.shape[0], _BLOCK)
    by_row = np.bitwise_or.reduceat(words, starts, axis=0)
    return by_row.byteswap().view(np.uint8) != 0


class _Window:
    """A part of a film with enough around it to judge what is lost inside.

    Attributes
    ----------
    words, inside : array of uint64
        The set, and the pixels that are judged; the rest is only looked at.
    left, top : int
        Where the window begins on the film, pixels; negative in the margin.
    """

    def __init__(self, words: bits.Words, inside: bits.Words, left: int, top: int) -> None:
        """Start with nothing looked at yet."""
        self.words, self.inside, self.left, self.top = words, inside, left, top
        self._known: dict[tuple[int, float], bits.Words] = {}

    def counted(self, width: int) -> bits.Words:
        """Return what is lost at this width and is not the point of a sharp corner.

        Counted only if a disc one pixel wider loses it too: on a dot, which grid
        the disc stands on can decide. A point has lost almost as much one pixel
        earlier and something at half the width, but for what the steps of its
        edges hide.
        """
        lost = self._lost(width, TOLERANCE) & self.inside
        if lost.any():
            lost &= self._lost(width + 1, TOLERANCE)
        if not lost.any():
            return lost
        before = self._nearly_lost(width - 1)
        half = max(width // 2, SMALLEST)
        early = self._nearly_lost(half) | self._nearly_lost(half + 1)
        if not (before.any() and early.any()):
            return lost
        lost &= ~bits.dilate(before, GROWTH)
        return lost & ~bits.dilate(early, POINT * width / 2) if lost.any() else lost

    def place(self, found: bits.Words) -> tuple[float, float]:
        """Return a pixel near the middle of the first piece found: (across, down)."""
        pixels = np.unpackbits(found.byteswap().view(np.uint8), axis=1).view(np.bool_)
        pieces, _ = ndimage.label(pixels, np.ones((3, 3)))
        piece = np.argwhere(pieces == pieces[pixels][0])
        away = ((piece - piece.mean(axis=0)) ** 2).sum(axis=1)
        row, column = piece[np.argmin(away)]
        return float(self.left + column + 0.5), float(self.top + row + 0.5)

    def _nearly_lost(self, width: int) -> bits.Words:
        """Return what is lost at this width, or would be if a tip were drawn to its end.

        A corner of 25 to 30 degrees ends up to 3.5 pixels short of its tip.
        """
        return self._lost(width, -min(TIP, width / 2))

    def _lost(self, width: int, slack: float) -> bits.Words:
        """Return what a disc of this width loses, kept for the next width's question."""
        key = (width, slack)
        if key not in self._known:
            self._known[key] = _lost(self.words, width, REACH * width / 2 + slack)
        return self._known[key]


def _windows(
    plane: bits.Plane, suspects: npt.NDArray[np.bool_], width: int, start: int
) -> Iterator[_Window]:
    """Yield windows that hold all suspect blocks, with what a disc of this width looks at."""
    if not suspects.any():
        return
    beyond = math.ceil((POINT + REACH) * width / 2 / _BLOCK) + 2
    near = ndimage.maximum_filter(suspects.view(np.uint8), 2 * beyond + 1, mode="constant")
    pieces, _ = ndimage.label(near)
    rows = plane.words.shape[0]
    for box in ndimage.find_objects(np.where(suspects, pieces, 0)):
        if box is None:
            continue
        top, bottom = box[0].start * _BLOCK, min(rows, box[0].stop * _BLOCK)
        left, right = box[1].start // 8, -(-box[1].stop // 8)
        first_row, first_word = max(0, top - beyond * _BLOCK), max(0, left - -(-beyond // 8))
        last_row, last_word = bottom + beyond * _BLOCK, right - (-beyond // 8)
        part = plane.words[first_row:last_row, first_word:last_word].copy()
        inside = np.zeros_like(part)
        inside[
            top - first_row : bottom - first_row, left - first_word : right - first_word
        ] = ~np.uint64(0)
        yield _Window(
            part, inside, first_word * 64 - bits.MARGIN, start + first_row - bits.MARGIN
        )


def _lost(words: bits.Words, width: int, reach: float) -> bits.Words:
    """Return what lies farther than the reach from wherever a disc of this width fits."""
    fits = bits.erode(words, width)
    return words & ~bits.dilate(fits, reach, corners=width % 2 == 0)


def _hair(film: Film, kept: bool) -> tuple[float, float] | None:
    """Return a place that has nothing of the smallest width near, or None."""
    reach = REACH * SMALLEST / 2 + GROWTH
    for top, plane in _planes(film, kept):
        blocks = _inner(_blocks(_lost(plane.words, SMALLEST, reach)))
        for window in _windows(plane, blocks, SMALLEST, top):
            lost = _lost(window.words, SMALLEST, reach) & window.inside
            if lost.any():
                return window.place(lost)
    return None


def width_at(
    film: Film, place: tuple[float, float], times: int, width: int, *, kept: bool = False
) -> float:
    """Return the width of a line on a finer film, at a place found on a coarse one.

    Parameters
    ----------
    film : Film
        The finer film.
    place, width
        Where on the coarse film, in its pixels, and the greatest width held there.
    times : int
        Pixels of the finer film to one of the coarse.
    kept : bool
        Look at the metal that is kept, as in `narrowest`.

    Returns
    -------
    float
        Pixels of the finer film.
    """
    widest = (width + 3) * times
    half = int((REACH + 1) * widest / 2) + 4
    column, row = (int(value * times) for value in place)
    window = _window(film, row, column, half, kept)
    room = ndimage.distance_transform_edt(window)
    down, across = np.ogrid[-half : half + 1, -half : half + 1]
    away = np.hypot(down, across)
    for disc in range(max(1, (width - 2) * times) | 1, widest, 2):
        if room[away <= REACH * disc / 2 + TOLERANCE].max() <= disc / 2:
            return float(disc - 1)
    return float(width * times)


def _window(film: Film, row: int, column: int, half: int, kept: bool) -> npt.NDArray[np.bool_]:
    """Return the square of pixels about one, filled up with what is outside."""
    size = 2 * half + 1
    window = np.full((size, size), kept)
    top, left = row - half, column - half
    first = max(left, 0) // 8
    part = np.unpackbits(
        film.bits[max(top, 0) : top + size, first : (left + size + 7) // 8],
        axis=1, count=max(min(left + size, film.columns) - first * 8, 0),
    ).view(np.bool_)[:, max(left, 0) - first * 8 :]  # fmt: skip
    into_row, into_column = max(-top, 0), max(-left, 0)
    window[into_row : into_row + part.shape[0], into_column : into_column + part.shape[1]] = (
        part ^ kept
    )
    return window
