"""The narrowest line of a film and its narrowest land.

The narrowest line is the smallest width at which a disc, laid wherever it fits in
the etched set, loses something that counts (`windows`), or loses a piece whole,
however near it lies to another. The narrowest land is the same, measured on the
metal that stays.

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

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film, blank
from etchcalc.artwork.pieces import Pieces, pieces
from etchcalc.artwork.windows import (
    HAIR,
    REACH,
    SMALLEST,
    TOLERANCE,
    WIDEST,
    Point,
    leaps,
    suspects,
    windows,
)

Found = tuple[int, Point]


@dataclass(frozen=True)
class Narrowest:
    """The narrowest part of a set, in pixels: its width, its place, and any hair."""

    width: float | None
    place: Point | None
    hair: Point | None


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
        a half. The width is the greatest that all lines hold; a hair is finer
        than 3 pixels.
    """
    levels = [film]
    hair = _hair(film, kept)
    for scale, first in _levels(film):
        if scale > 1:
            levels.append(halved(levels[-1]))
        found = _first_lost(levels[-1], first, kept)
        found = _first_gone(levels[-1], first, found, kept)
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
        scale, first = 2 * scale, WIDEST // 2


def halved(film: Film) -> Film:
    """Return every second pixel of every second row: the film at half the resolution."""
    half = blank((film.columns + 1) // 2, (film.rows + 1) // 2, film.resolution / 2)
    for rows in film.bands(multiple=2):
        pixels = np.unpackbits(film.bits[rows][::2], axis=1, count=film.columns)[:, ::2]
        half.bits[rows.start // 2 : rows.start // 2 + len(pixels)] = np.packbits(pixels, axis=1)
    return half


def _first_lost(film: Film, holds: int, kept: bool) -> Found | None:
    """Return the greatest width that all lines hold, and a place that loses the next.

    Only where a leap leaves something far is every width looked at.
    """
    for held, leap in leaps(holds, WIDEST):
        found = None
        for window in suspects(film, held, leap, kept=kept):
            for width in range(held + 1, found[0] + 1 if found else leap + 1):
                counted = window.counted(width)
                if counted.any():
                    found = (width - 1, window.place(counted))
                    break
        if found:
            return found
    return None


def _first_gone(film: Film, holds: int, found: Found | None, kept: bool) -> Found | None:
    """Return the greatest width at which no piece vanishes whole, if less than what was found.

    What a piece loses lies near to what remains of another where they lie close together.
    """
    here = pieces(film)
    judged = here.etched != kept
    least, most = holds, (found[0] if found else WIDEST) + 1  # holds; need not
    gone = judged & ~_lasting(film, most - 1, kept, len(here.area))
    if gone.any():  # but for what had gone already
        gone &= _lasting(film, holds, kept, len(here.area))
    if not gone.any():
        return found
    most -= 1
    while most - least > 1:
        middle = (least + most) // 2
        lost = gone & ~_lasting(film, middle, kept, len(here.area))
        least, most, gone = (least, middle, lost) if lost.any() else (middle, most, gone)
    return least, _first(here, int(np.argmax(gone)))


def _lasting(film: Film, width: int, kept: bool, count: int) -> npt.NDArray[np.bool_]:
    """Return which pieces still take a disc of a width, or of a pixel more, somewhere."""
    lasting = np.zeros(count, bool)
    for disc in (width, width + 1):
        fits = blank(film.columns, film.rows, film.resolution)
        for rows in film.bands(bits.MARGIN):
            plane = bits.lay(film, rows, outside=kept, inverse=kept)
            fits.bits[rows] = plane.packed(bits.opened(plane, disc))
        parts = pieces(fits)
        lasting[pieces(film, parts.first[parts.etched]).at] = True
    return lasting


def _first(found: Pieces, piece: int) -> Point:
    """Return the first pixel of a piece: (across, down)."""
    row, column = found.first[piece]
    return float(column + 0.5), float(row + 0.5)


def _hair(film: Film, kept: bool) -> Point | None:
    """Return a place that has nothing of the smallest width near, or a piece that has none at all."""
    for window in windows(film, SMALLEST, HAIR * SMALLEST / 2, kept=kept):
        return window.place(window.hair(HAIR))
    here = pieces(film)
    specks = (here.etched != kept) & ~_lasting(film, SMALLEST, kept, len(here.area))
    return _first(here, int(np.argmax(specks))) if specks.any() else None


def width_at(film: Film, place: Point, times: int, width: int, *, kept: bool = False) -> float:
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
    around = math.ceil((REACH + 1) * widest / 2) + 4
    column, row = (int(value * times) for value in place)
    plane = bits.lay(film, slice(row, row + 1), outside=kept, inverse=kept, margin=around)
    word, bit = divmod(plane.side + column, 64)
    spot = np.zeros_like(plane.words)
    spot[plane.margin, word] = np.uint64(1 << (63 - bit))

    def holds(disc: int) -> bool:
        near = bits.dilate(spot, REACH * disc / 2 + TOLERANCE)
        return bool((bits.erode(plane.words, disc) & near).any())

    least, most = max(1, (width - 2) * times) | 1, widest | 1
    if holds(most):
        return float(width * times)
    while most - least > 2:
        middle = (least + most) // 4 * 2 + 1
        least, most = (middle, most) if holds(middle) else (least, middle)
    return float(most - 1)
