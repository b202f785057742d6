"""A film grown or shrunk by the undercut, and what is lost by it.

The etch goes sideways under the resist: the plate is the film grown by the
undercut. So the film for a wished plate is the drawing shrunk by it. Both with
exact discs: a pixel counts by the distance of its centre from the nearest
centre of the other set. What lies beyond the film's edge moves nothing.

What is lost is named piece by piece and never as a difference of counts, in which
a gain hides a loss. Shrinking loses etched lines, growing loses metal. A piece that
vanishes whole counts as lost, and so does any part that a disc of some width up to
twice the undercut loses, as in `narrowest`: corners of 30 degrees and more never
count, and the tip of a sharper one is named as a point. So nothing counts as lost
while the narrowest line, or land, is wider than twice the undercut.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film, blank
from etchcalc.artwork.loss_words import APART, COUNTER, ISLAND, LAND, LINE, POINTED, THROUGH
from etchcalc.artwork.narrowest import halved
from etchcalc.artwork.pieces import Pieces, pieces
from etchcalc.artwork.windows import (
    HAIRLINE,
    REACH,
    SMALLEST,
    TOLERANCE,
    WIDEST,
    leaps,
    suspects,
    windows,
)

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
    told = progress or (lambda _share: None)
    after = _moved(film, radius, shrink=not kept, progress=lambda share: told(0.1 * share))
    widest = 2 * math.floor(radius) + 1  # a line of 2 r has no place for this, a wider one has
    lines = _lines(film, SMALLEST, widest, kept, lambda share: told(0.1 + 0.7 * share))
    return _changes(film, after, _far(film, after, radius, kept), lines, kept)


def _lines(film: Film, first: int, widest: int, kept: bool, told: Progress) -> Film:
    """Return what counts as a line, or a land, that discs of any width in a range lose."""
    lines = blank(film.columns, film.rows, film.resolution)
    if first == SMALLEST:
        for window in windows(film, SMALLEST, HAIRLINE * SMALLEST / 2, kept=kept):
            window.put(window.hair(HAIRLINE), lines)
    for held, leap in leaps(first, min(widest, WIDEST)):
        for window in suspects(film, held, leap, kept=kept, known=lines):
            for width in range(held + 1, leap + 1):
                window.put(window.counted(width), lines)
        told((leap / WIDEST) ** 2)
    if widest > WIDEST:
        _doubled(_lines(halved(film), WIDEST // 2, widest // 2, kept, told), lines)
        lines.bits[:] &= ~film.bits if kept else film.bits
    return lines


def _doubled(half: Film, into: Film) -> None:
    """Or a film of half the resolution into one."""
    for rows in half.bands(multiple=8):
        pixels = np.unpackbits(half.bits[rows], axis=1, count=half.columns)
        twice = pixels.repeat(2, axis=0).repeat(2, axis=1)
        part = into.bits[2 * rows.start : 2 * rows.stop]
        part |= np.packbits(twice[: len(part), : into.columns], axis=1)


def _far(film: Film, after: Film, radius: float, kept: bool) -> Film:
    """Return what is lost and does not belong to what remains near it."""
    far = blank(film.columns, film.rows, film.resolution)
    reach = REACH * radius + TOLERANCE
    for rows in film.bands(math.ceil(reach)):
        remains = bits.lay(after, rows, outside=kept, inverse=kept, margin=reach)
        plane = bits.lay(film, rows, outside=kept, inverse=kept, margin=reach)
        far.bits[rows] = plane.packed(plane.words & ~bits.dilate(remains.words, reach))
    return far


def _changes(film: Film, after: Film, far: Film, lines: Film, kept: bool) -> Changes:
    """Return the changes, each named once."""
    before = pieces(film)
    remains = pieces(after, before.first[before.etched])
    lasting = remains.first[remains.etched != kept]
    survivors = np.bincount(pieces(film, lasting).at, minlength=len(before.area))
    judged = before.etched != kept
    found: list[tuple[str, Pieces, int]] = []
    for piece in np.flatnonzero(judged & (survivors == 0)):
        whole, special = (LAND, before.island) if kept else (LINE, before.counter)
        name = (ISLAND if kept else COUNTER) if special[piece] else whole
        found.append((name, before, int(piece)))
    far.bits[:] |= lines.bits
    parts = pieces(far, _firsts(lines))
    is_line = np.zeros(len(parts.area), bool)
    is_line[parts.at] = True
    owners = pieces(film, parts.first[parts.etched]).at
    for part, owner in zip(np.flatnonzero(parts.etched), owners, strict=True):
        if survivors[owner]:
            name = (LAND if kept else LINE) if is_line[part] else POINTED
            found.append((name, parts, int(part)))
    for piece in np.flatnonzero(judged & (survivors > 1)):
        found.append((THROUGH if kept else APART, before, int(piece)))
    if kept:
        found += [(THROUGH, before, piece) for piece in _run_together(before, remains)]
    counts: dict[str, int] = {}
    for what, _, _ in found:
        counts[what] = counts.get(what, 0) + 1
    listed = [_change(film, *each) for each in found]
    listed.sort(key=lambda change: (change.what in (POINTED, APART, THROUGH), -change.area))
    return Changes(counts, tuple(listed[:_LISTED]))


def _firsts(film: Film) -> np.ndarray:
    """Return the first pixel of each etched piece."""
    found = pieces(film)
    return found.first[found.etched]


def _run_together(before: Pieces, after: Pieces) -> list[int]:
    """Return the etched pieces that have grown into a larger one."""
    etched = np.flatnonzero(before.etched)
    order = np.lexsort((-before.area[etched], after.at))
    joined = np.flatnonzero(np.diff(after.at[order]) == 0) + 1
    return [int(piece) for piece in etched[order[joined]]]


def _change(film: Film, what: str, of: Pieces, piece: int) -> Change:
    """Return a change in millimetres."""
    pixel = 1 / film.resolution
    row, column = (float(value) for value in of.first[piece])
    top, left, bottom, right = (float(side) * pixel for side in of.box[piece])
    place = ((column + 0.5) * pixel, (row + 0.5) * pixel)
    return Change(what, place, (left, top, right, bottom), float(of.area[piece]) * pixel**2)
