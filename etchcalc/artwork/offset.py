"""A film grown or shrunk by the undercut, and what is lost by it.

The etch goes sideways under the resist: the plate is the film grown by the
undercut. So the film for a wished plate is the drawing shrunk by it. Both with
exact discs: a pixel counts by the distance of its centre from the nearest
centre of the other set. What lies beyond the film's edge moves nothing.

What is lost is named piece by piece and never as a difference of counts, in which
a gain hides a loss. Shrinking loses etched lines, growing loses metal; either way
a part counts as lost when it is farther than 2.87 radii from all that remains,
as in `narrowest`, so that corners of 30 degrees and more never count; what lies
near the tip of a sharper one, which is lost at any undercut, is a point.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film, blank
from etchcalc.artwork.narrowest import GROWTH, POINT, REACH, SMALLEST, TOLERANCE
from etchcalc.artwork.pieces import Pieces, pieces

LINE, COUNTER, APART = "line vanishes", "counter closes", "line comes apart"
LAND, ISLAND, THROUGH = "land breaks through", "island floats off", "lines run together"
POINTED = "point is blunted"
_LISTED = 200
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Change:
    """One thing that is lost.

    Attributes
    ----------
    what : str
    place : (float, float)
        A point on it, mm from the left and from the top.
    box : (float, float, float, float)
        The box round it: left, top, right, bottom, mm.
    area : float
        What is lost, mm².
    """

    what: str
    place: tuple[float, float]
    box: tuple[float, float, float, float]
    area: float


@dataclass(frozen=True)
class Changes:
    """All that an undercut loses.

    Attributes
    ----------
    counts : dict of str to int
        How many of each kind.
    listed : tuple of Change
        The largest first, 200 at most.
    """

    counts: dict[str, int]
    listed: tuple[Change, ...]

    @property
    def lines_lost(self) -> int:
        """Etched lines and counters that vanish, whole or in part."""
        return self.counts.get(LINE, 0) + self.counts.get(COUNTER, 0)

    @property
    def islands_lost(self) -> int:
        """Islands of metal that float off."""
        return self.counts.get(ISLAND, 0)


def pixels(undercut: float, film: Film) -> int:
    """Return an undercut in whole pixels of a film: so straight edges move right to half a pixel.

    Parameters
    ----------
    undercut : float
        Per edge, mm.
    film : Film
    """
    return round(undercut * film.resolution)


def grown(film: Film, radius: float, progress: Progress | None = None) -> Film:
    """Return a film whose etched parts are grown: the plate that the film gives.

    Parameters
    ----------
    film : Film
    radius : float
        Pixels. Convex shapes of area A and edge P come to have A + P r + pi r².
    progress : callable, optional
        Told after each band what share is done; may raise to break off.
    """
    return _moved(film, radius, shrink=False, progress=progress)


def shrunk(film: Film, radius: float, progress: Progress | None = None) -> Film:
    """Return a film whose etched parts are shrunk: the film for a wished plate.

    Parameters are those of `grown`.
    """
    return _moved(film, radius, shrink=True, progress=progress)


def _moved(film: Film, radius: float, *, shrink: bool, progress: Progress | None) -> Film:
    """Return a film with one of its two sets grown over the other, band by band."""
    out = blank(film.columns, film.rows, film.resolution)
    for rows in film.bands(math.ceil(radius)):
        plane = bits.lay(film, rows, outside=False, inverse=shrink, margin=radius)
        found = bits.dilate(plane.words, radius)
        out.bits[rows] = plane.packed(~found if shrink else found)
        if progress:
            progress(rows.stop / film.rows)
    return out


def lost(film: Film, radius: float, *, kept: bool, progress: Progress | None = None) -> Changes:
    """Return what a film loses when one of its sets is shrunk.

    Parameters
    ----------
    film : Film
    radius : float
        Pixels; less than one loses nothing.
    kept : bool
        Shrink the metal that is kept, as the etch does to the film as it is;
        else what is etched, as correcting the film does.
    progress : callable, optional
    """
    if radius < 1:
        return Changes({}, ())
    remains, far, counted = (blank(film.columns, film.rows, film.resolution) for _ in range(3))
    for rows in film.bands(math.ceil((1 + REACH + POINT) * radius)):
        plane = bits.lay(
            film, rows, outside=False, inverse=not kept, margin=(1 + REACH + POINT) * radius
        )
        _lost_in(plane, radius, rows, (remains, far, counted))
        if progress:
            progress(0.8 * rows.stop / film.rows)
    return _changes(film, kept, pieces(remains), far, pieces(counted))


def _lost_in(
    plane: bits.Plane, radius: float, rows: slice, into: tuple[Film, Film, Film]
) -> None:
    """Fill a band of what remains, of what is lost, and of what is lost and is no point.

    The plane is of the set that grows over the one that is judged.
    """
    remains, far, counted = into
    middles = ~bits.dilate(plane.words, radius)
    remains.bits[rows] = plane.packed(middles)
    lost = ~plane.words & ~bits.dilate(middles, REACH * radius + TOLERANCE)
    packed = plane.packed(lost)
    if not packed.any():
        return
    far.bits[rows] = packed
    counted.bits[rows] = plane.packed(lost & ~bits.dilate(_tips(plane), POINT * radius))


def _tips(plane: bits.Plane) -> bits.Words:
    """Return the tips of sharp corners: what even the smallest disc loses, but for whole hairs."""
    middles = ~bits.dilate(plane.words, SMALLEST / 2)
    lost = ~plane.words & ~bits.dilate(middles, (REACH - 1) * SMALLEST / 2)
    if not lost.any():
        return lost
    beyond = REACH * SMALLEST / 2 + GROWTH
    hairs = ~plane.words & ~bits.dilate(middles, beyond)
    return lost & ~bits.dilate(hairs, beyond + 2)


def _changes(film: Film, kept: bool, remains: Pieces, far: Film, counted: Pieces) -> Changes:
    """Return the changes, each named once."""
    points = remains.first[remains.etched]
    before = pieces(film, points)
    survivors = np.bincount(before.at, minlength=len(before.area))
    judged = before.etched != kept
    island, counter = before.island, before.counter
    lost_parts = pieces(far, counted.first[counted.etched])
    is_line = np.zeros(len(lost_parts.area), bool)
    is_line[lost_parts.at] = True
    of = pieces(film, lost_parts.first[lost_parts.etched]).at  # the piece each part belongs to
    found: list[tuple[str, Pieces, int]] = []
    for piece in np.flatnonzero(judged & (survivors == 0)):
        what = (ISLAND if island[piece] else LAND) if kept else (COUNTER if counter[piece] else LINE)
        found.append((what, before, int(piece)))
    for part, owner in zip(np.flatnonzero(lost_parts.etched), of, strict=True):
        if survivors[owner]:
            what = (LAND if kept else LINE) if is_line[part] else POINTED
            found.append((what, lost_parts, int(part)))
    for piece in np.flatnonzero(judged & (survivors > 1)):
        found.append((THROUGH if kept else APART, before, int(piece)))
    counts: dict[str, int] = {}
    for what, _, _ in found:
        counts[what] = counts.get(what, 0) + 1
    listed = [_change(film, *each) for each in found]
    listed.sort(key=lambda change: (change.what in (POINTED, APART, THROUGH), -change.area))
    return Changes(counts, tuple(listed[:_LISTED]))


def _change(film: Film, what: str, of: Pieces, piece: int) -> Change:
    """Return a change in millimetres."""
    pixel = 1 / film.resolution
    row, column = (float(value) for value in of.first[piece])
    top, left, bottom, right = (float(side) * pixel for side in of.box[piece])
    place = ((column + 0.5) * pixel, (row + 0.5) * pixel)
    return Change(what, place, (left, top, right, bottom), float(of.area[piece]) * pixel**2)
