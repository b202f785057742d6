"""What a film holds: the area it opens, its narrowest line and its narrowest land.

The narrowest line is the smallest width w at which opening the etched set with
a disc of that width (laying the disc wherever it fits) loses something farther
than 2.87 times the disc's radius from all that remains. A disc leaves a corner
of 30 degrees unfilled for 2.864 radii, so corners of 30 degrees and more never
count. What a sharper corner loses, it loses at every width from the smallest:
that is a point, not a line, and is not counted. The narrowest land is the same,
measured on the metal that stays.

Outside the plate all metal counts as kept. So a line that runs off the plate is
as wide as it is on the plate, and the metal between a line and the plate's edge
is not a land: it is part of the edge, which the blank carries beyond the
drawing until it is cut.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film

SMALLEST = 3  # pixels; below this a disc has no shape
_WIDEST = 32  # pixels at one resolution; wider is looked for on a film half as fine
_REACH = 3.87  # radii from the middle of a disc that fits to what still belongs to it
_TOLERANCE = 1.5  # pixels by which an edge's steps may shift a distance
_TIP = 3.5  # pixels by which a corner of 25 degrees and more may end short of its tip
_GROWTH = 14.5  # pixels a point of 4 degrees loses more when the disc widens by one
_POINT = 7.0  # radii within which a point has already lost something at half the width
_LEAP = 1.35
_BLOCK = 8
_BLOCK_SPREAD = 10.7  # pixels: 7 sqrt 2, the diagonal of a block's centres, and a corner's 0.71


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
        Where there is a line, or a land, finer than 3 pixels, too fine to be
        measured and not counted above; None where there is none.
    pixel : float
        Width of a pixel, mm: what the widths are sure to.
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
    near, a narrower one leaves near too.
    """
    while holds < _WIDEST:
        leap = min(max(holds + 2, int(holds * _LEAP)), _WIDEST)
        if not _lost(film, leap, _REACH * (holds + 1) / 2).any():
            holds = leap
            continue
        for width in range(holds + 1, leap + 1):
            counted = _counted(film, width)
            if counted.any():
                return width - 1, _place(film.like(counted), width)
        holds = leap
    return None


def _lost(film: bits.Plane, width: int, reach: float) -> bits.Words:
    """Return what lies farther than the reach from wherever a disc of this width fits."""
    fits = bits.erode(film.words, width)
    if reach > 2 * _BLOCK and _surely_near(film.words, fits, reach):
        return np.zeros(1, np.uint64)
    return film.words & ~bits.dilate(fits, reach, corners=width % 2 == 0)


def _surely_near(words: bits.Words, fits: bits.Words, reach: float) -> bool:
    """Return True where blocks of 8 by 8 pixels are enough to see that nothing is lost."""
    near = _blocks(fits)
    if not near.any():
        return False
    distance = ndimage.distance_transform_edt(~near)
    return bool((distance[_blocks(words)] * _BLOCK + _BLOCK_SPREAD <= reach).all())


def _blocks(words: bits.Words) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels hold anything."""
    rows = words.shape[0]
    by_row = np.bitwise_or.reduceat(words, np.arange(0, rows, _BLOCK), axis=0)
    return by_row.byteswap().view(np.uint8) != 0


def _counted(film: bits.Plane, width: int) -> bits.Words:
    """Return what is lost at this width and is not the point of a sharp corner.

    Counted only if a disc one pixel wider loses it too: on a dot, which grid the
    disc stands on can decide. A point has lost almost as much one pixel earlier and something at half the
    width, but for what the steps of its edges hide.
    """
    lost = _lost(film, width, _REACH * width / 2 + _TOLERANCE)
    if not lost.any():
        return lost
    lost = lost & _lost(film, width + 1, _REACH * (width + 1) / 2 + _TOLERANCE)
    if not lost.any():
        return lost
    before = _nearly_lost(film, width - 1)
    if not before.any():
        return lost
    early = _nearly_lost(film, max(width // 2, SMALLEST))
    if not early.any():
        return lost
    points = bits.dilate(before, _GROWTH) & bits.dilate(early, _POINT * width / 2)
    return lost & ~points


def _nearly_lost(film: bits.Plane, width: int) -> bits.Words:
    """Return what is lost at this width, or would be if a tip's last pixels were drawn.

    A corner of 25 to 30 degrees ends up to 3.5 pixels short of its tip.
    """
    radius = width / 2
    return _lost(film, width, _REACH * radius - min(_TIP, radius))


def _hair(film: bits.Plane) -> tuple[float, float] | None:
    """Return a place that has nothing of the smallest width near, or None."""
    hair = _lost(film, SMALLEST, _REACH * SMALLEST / 2 + _GROWTH)
    return _place(film.like(hair), SMALLEST) if hair.any() else None


def _place(found: bits.Plane, width: int) -> tuple[float, float]:
    """Return a pixel near the middle of the first piece of a set: (across, down)."""
    pixels = found.unpacked()
    blocks = _any_of(pixels)
    pieces, _ = ndimage.label(blocks, np.ones((3, 3)))
    first = np.argwhere(pieces == pieces[blocks][0]) * _BLOCK
    top, left = first.min(axis=0)
    bottom, right = first.max(axis=0) + _BLOCK
    inside = np.argwhere(pixels[top:bottom, left:right])
    middle = inside.mean(axis=0)
    row, column = inside[np.argmin(((inside - middle) ** 2).sum(axis=1))]
    return float(left + column + 0.5), float(top + row + 0.5)


def _any_of(pixels: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels, from the upper left, hold anything."""
    packed = np.packbits(pixels, axis=1)
    starts = np.arange(0, len(packed), _BLOCK)
    return np.bitwise_or.reduceat(packed, starts, axis=0) != 0


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
