"""What a film holds: the area it opens, its narrowest line and its narrowest land.

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
from etchcalc.artwork.film import Film, FilmMeasures

SMALLEST = 3  # pixels; below this a disc has no shape
_WIDEST = 32  # pixels at one resolution; wider is looked for on a film half as fine
_REACH = 3.87  # radii from the middle of a disc that fits to what still belongs to it
_TOLERANCE = 1.0  # pixels by which an edge's steps may shift a distance
_TIP = 3.5  # pixels by which a corner of 25 degrees and more may end short of its tip
_GROWTH = 14.5  # pixels a point of 4 degrees loses more when the disc widens by one
_POINT = 7.0  # radii within which a point has already lost something at half the width
_LEAP = 1.35
_BLOCK = 8
_FEW = 200  # blocks
_BLOCK_SPREAD = 10.7  # pixels: 7 sqrt 2, the diagonal of a block's centres, and a corner's 0.71


@dataclass(frozen=True)
class Narrowest:
    """The narrowest part of a set, in pixels: its width, its place, and any hair."""

    width: float | None
    place: tuple[float, float] | None
    hair: tuple[float, float] | None


def measure(film: Film, *, black: str = "etched") -> FilmMeasures:
    """Measure a film.

    Parameters
    ----------
    film : Film
        The drawing, one bit a pixel.
    black : {"etched", "kept"}
        What the drawing's black stands for.

    Returns
    -------
    FilmMeasures
        Of the whole etched set; widths right to one pixel.
    """
    if black not in ("etched", "kept"):
        raise ValueError(f"black is 'etched' or 'kept', not {black!r}")
    etched = film.bits if black == "etched" else _complement(film)
    pixel = 1 / film.resolution
    count = int(np.unpackbits(etched).sum(dtype=np.int64))
    line = narrowest(etched, film.columns, outside=False)
    land = narrowest(~etched, film.columns, outside=True)
    return FilmMeasures(
        open_area=count * pixel**2,
        open_fraction=count / (film.rows * film.columns),
        narrowest_line=_scaled(line.width, pixel),
        line_place=_placed(line.place, pixel),
        narrowest_land=_scaled(land.width, pixel),
        land_place=_placed(land.place, pixel),
        hairline_place=_placed(line.hair, pixel),
        hairland_place=_placed(land.hair, pixel),
        pixel=pixel,
    )


def narrowest(packed: npt.NDArray[np.uint8], columns: int, *, outside: bool) -> Narrowest:
    """Return the narrowest part of a packed set.

    Parameters
    ----------
    packed : array of uint8, shape (rows, ceil(columns / 8))
        The set as `numpy.packbits` leaves it; spare bits may be anything.
    columns : int
        Pixels in a row.
    outside : bool
        Whether all that lies outside the film belongs to the set.

    Returns
    -------
    Narrowest
        Width and places in pixels; a place is (across, down), pixel centres at
        a half.
    """
    levels = [bits.plane(packed, columns, outside=outside)]
    hair = _hair(levels[0])
    for scale, first in _levels(levels[0]):
        if scale > 1:
            levels.append(_halved(levels[-1], outside=outside))
        found = _first_lost(levels[-1], first)
        if found is None:
            continue
        width, place = found
        if scale == 1:
            return Narrowest(float(width), place, hair)
        finer = levels[-1 - min(2, len(levels) - 1)]
        step = scale // 2 ** min(2, len(levels) - 1)
        width_there = _width_at(finer, place, scale // step, width, outside=outside)
        return Narrowest(width_there * step, (place[0] * scale, place[1] * scale), hair)
    return Narrowest(None, None, hair)


def _levels(film: bits.Plane) -> Iterator[tuple[int, int]]:
    """Yield each scale on which to look, and the width known to hold there."""
    scale, first = 1, SMALLEST
    while first * scale <= 2 * max(film.rows, film.columns):
        yield scale, first
        scale, first = 2 * scale, _WIDEST // 2


def _halved(film: bits.Plane, *, outside: bool) -> bits.Plane:
    """Return every second pixel of every second row: the film at half the resolution."""
    pixels = film.unpacked()[::2, ::2]
    return bits.plane(np.packbits(pixels, axis=1), pixels.shape[1], outside=outside)


def _first_lost(film: bits.Plane, holds: int) -> tuple[int, tuple[float, float]] | None:
    """Return the greatest width that all lines hold, and a place that loses the next.

    Goes up from a width known to hold, in leaps: all that a wide disc leaves
    near, a narrower one leaves near too. Only where a leap leaves something far
    is every width looked at.
    """
    while holds < _WIDEST:
        leap = min(max(holds + 2, int(holds * _LEAP)), _WIDEST)
        found = None
        suspects = _suspects(film, leap, _REACH * (holds + 1) / 2)
        for window in _windows(film, suspects, leap):
            for width in range(holds + 1, found[0] + 1 if found else leap + 1):
                counted = window.counted(width)
                if counted.any():
                    found = (width - 1, window.place(counted))
                    break
        if found:
            return found
        holds = leap
    return None


def _suspects(film: bits.Plane, width: int, reach: float) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels may hold something lost; the rest do not."""
    fits = bits.erode(film.words, width)
    if reach > 2 * _BLOCK and (near := _blocks(fits)).any():
        distance = ndimage.distance_transform_edt(~near) * _BLOCK + _BLOCK_SPREAD
        suspects = _blocks(film.words) & (distance > reach)
        if np.count_nonzero(suspects) < _FEW:
            return suspects
    return _blocks(film.words & ~bits.dilate(fits, reach, corners=width % 2 == 0))


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
        lost = self._lost(width, _TOLERANCE) & self.inside
        if lost.any():
            lost &= self._lost(width + 1, _TOLERANCE)
        if not lost.any():
            return lost
        before = self._nearly_lost(width - 1)
        half = max(width // 2, SMALLEST)
        early = self._nearly_lost(half) | self._nearly_lost(half + 1)
        if not (before.any() and early.any()):
            return lost
        lost &= ~bits.dilate(before, _GROWTH)
        return lost & ~bits.dilate(early, _POINT * width / 2) if lost.any() else lost

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
        return self._lost(width, -min(_TIP, width / 2))

    def _lost(self, width: int, slack: float) -> bits.Words:
        """Return what a disc of this width loses, kept for the next width's question."""
        key = (width, slack)
        if key not in self._known:
            self._known[key] = _lost(self.words, width, _REACH * width / 2 + slack)
        return self._known[key]


def _windows(film: bits.Plane, suspects: npt.NDArray[np.bool_], width: int) -> Iterator[_Window]:
    """Yield windows that hold all suspect blocks, with what a disc of this width looks at."""
    if not suspects.any():
        return
    beyond = math.ceil((_POINT + _REACH) * width / 2 / _BLOCK) + 2
    near = ndimage.maximum_filter(suspects.view(np.uint8), 2 * beyond + 1, mode="constant")
    pieces, _ = ndimage.label(near)
    rows = film.words.shape[0]
    for box in ndimage.find_objects(np.where(suspects, pieces, 0)):
        top, bottom = box[0].start * _BLOCK, min(rows, box[0].stop * _BLOCK)
        left, right = box[1].start // 8, -(-box[1].stop // 8)
        first_row, first_word = max(0, top - beyond * _BLOCK), max(0, left - -(-beyond // 8))
        last_row, last_word = bottom + beyond * _BLOCK, right - (-beyond // 8)
        part = film.words[first_row:last_row, first_word:last_word].copy()
        inside = np.zeros_like(part)
        inside[
            top - first_row : bottom - first_row, left - first_word : right - first_word
        ] = ~np.uint64(0)
        yield _Window(part, inside, first_word * 64 - bits.MARGIN, first_row - bits.MARGIN)


def _lost(words: bits.Words, width: int, reach: float) -> bits.Words:
    """Return what lies farther than the reach from wherever a disc of this width fits."""
    fits = bits.erode(words, width)
    return words & ~bits.dilate(fits, reach, corners=width % 2 == 0)


def _hair(film: bits.Plane) -> tuple[float, float] | None:
    """Return a place that has nothing of the smallest width near, or None."""
    reach = _REACH * SMALLEST / 2 + _GROWTH
    window = next(_windows(film, _blocks(_lost(film.words, SMALLEST, reach)), SMALLEST), None)
    if window is None:
        return None
    return window.place(_lost(window.words, SMALLEST, reach) & window.inside)


def _width_at(
    film: bits.Plane, place: tuple[float, float], times: int, width: int, *, outside: bool
) -> float:
    """Return the width of a line on a finer film, at a place found on a coarse one.

    Parameters
    ----------
    film : Plane
        The finer film.
    place, width
        Where on the coarse film, in its pixels, and the greatest width held there.
    times : int
        Pixels of the finer film to one of the coarse.
    outside : bool
        Whether all outside the film belongs to the set.
    """
    widest = (width + 3) * times
    half = int((_REACH + 1) * widest / 2) + 4
    column, row = (int(value * times) for value in place)
    window = _window(film.unpacked(), row, column, half, outside=outside)
    room = ndimage.distance_transform_edt(window)
    down, across = np.ogrid[-half : half + 1, -half : half + 1]
    away = np.hypot(down, across)
    for disc in range(max(1, (width - 2) * times) | 1, widest, 2):
        if room[away <= _REACH * disc / 2 + _TOLERANCE].max() <= disc / 2:
            return float(disc - 1)
    return float(width * times)


def _window(
    pixels: npt.NDArray[np.bool_], row: int, column: int, half: int, *, outside: bool
) -> npt.NDArray[np.bool_]:
    """Return the square of pixels about one, filled up with what is outside."""
    size = 2 * half + 1
    window = np.full((size, size), outside)
    top, left = row - half, column - half
    part = pixels[max(top, 0) : top + size, max(left, 0) : left + size]
    into_row, into_column = max(-top, 0), max(-left, 0)
    window[into_row : into_row + part.shape[0], into_column : into_column + part.shape[1]] = part
    return window


def _complement(film: Film) -> npt.NDArray[np.uint8]:
    """Return the film's packed complement, its spare bits 0."""
    inverse = ~film.bits
    if film.columns % 8:
        inverse[:, -1] &= np.uint8((0xFF00 >> (film.columns % 8)) & 0xFF)
    return inverse


def _scaled(value: float | None, pixel: float) -> float | None:
    return None if value is None else value * pixel


def _placed(place: tuple[float, float] | None, pixel: float) -> tuple[float, float] | None:
    return None if place is None else (place[0] * pixel, place[1] * pixel)
