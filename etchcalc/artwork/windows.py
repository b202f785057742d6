"""What a disc loses on a film: looked for in blocks, judged in windows.

A disc laid wherever it fits loses what lies farther than 2.87 of its radii from all
that it covers. It leaves a corner of 30 degrees unfilled for 2.864 radii, so corners
of 30 degrees and more never count. What a sharper corner loses, it loses at every
width from the smallest: that is a point, not a line.

On pixels: a loss counts when it is a pixel farther than that, and when it is more
than a point of 4 degrees loses beyond what narrower discs lost, one of a pixel and
one of a quarter less, give or take the steps of its edges.
"""

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from etchcalc.artwork import bits
from etchcalc.artwork.film import Film, film_of
from etchcalc.artwork.pieces import pieces

SMALLEST = 3  # pixels; below this a disc has no shape
REACH = 3.87  # radii from the middle of a disc that fits to what still belongs to it
TOLERANCE = 1.0  # pixels by which an edge's steps may shift a distance
_TIP = 3.5  # pixels by which a corner of 25 degrees and more may end short of its tip
_STEEP = 1 / math.sin(math.radians(2))  # radii from a disc's middle to a tip of 4 degrees
_STEPS = 20.0  # pixels by which edges' steps may shift the place where a disc stands in a point
HAIR = 7.0  # radii from the smallest disc that fits to a hair, or to a tip of 16 degrees
HAIRLINE = _STEEP + 8  # radii: farther from it than any tip, give or take steps, is a hairline
WIDEST = 32  # pixels at one resolution; wider is looked for on a film half as fine
_LEAP = 1.35
_BLOCK = 8

Point = tuple[float, float]


class Window:
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
        self._fits: dict[int, bits.Words] = {}
        self._lost: dict[tuple[int, float], bits.Words] = {}

    def counted(self, width: int) -> bits.Words:
        """Return what is lost at this width and is not the point of a sharp corner.

        Counted only if a disc one pixel wider loses it too: on a dot, which grid
        the disc stands on can decide.
        """
        lost = self.lost(width, REACH * width / 2 + TOLERANCE) & self.inside
        if lost.any():
            lost = lost & self.lost(width + 1, REACH * (width + 1) / 2 + TOLERANCE)
        if not lost.any():
            return lost
        point = lost
        for narrower in (width - 1, _quarter_less(width)):
            early = self.lost(narrower, REACH * narrower / 2 - min(_TIP, 0.75 * narrower))
            if not early.any():
                return lost
            point = point & bits.dilate(early, _more_of_a_point(width, narrower))
        return lost & ~point

    def hair(self, radii: float) -> bits.Words:
        """Return what is farther than some radii from all places where the smallest disc fits."""
        return self.lost(SMALLEST, radii * SMALLEST / 2) & self.inside

    def lost(self, width: int, reach: float) -> bits.Words:
        """Return what lies farther than the reach from wherever a disc of this width fits."""
        if width not in self._fits:
            self._fits[width] = bits.erode(self.words, width)
        if (width, reach) not in self._lost:
            near = bits.dilate(self._fits[width], reach, corners=width % 2 == 0)
            self._lost[width, reach] = self.words & ~near
        return self._lost[width, reach]

    def place(self, found: bits.Words) -> Point:
        """Return a pixel near the middle of the first piece found: (across, down)."""
        film = Film(found.byteswap().view(np.uint8), found.shape[1] * 64, len(found), 1.0)
        first = pieces(film)
        top, left, bottom, right = first.box[np.argmax(first.etched)]
        pixels = film.unpacked()[top:bottom, left:right]
        among = np.argwhere(pixels)
        away = ((among - among.mean(axis=0)) ** 2).sum(axis=1)
        row, column = among[np.argmin(away)] + (top, left)
        return float(self.left + column + 0.5), float(self.top + row + 0.5)

    def put(self, found: bits.Words, film: Film) -> None:
        """Or what is found in this window into a film."""
        pixels = found.byteswap().view(np.uint8)
        top, left = max(self.top, 0), max(self.left, 0) // 8
        part = film.bits[top : self.top + len(pixels), left : self.left // 8 + pixels.shape[1]]
        top, left = top - self.top, left - self.left // 8
        part |= pixels[top : top + part.shape[0], left : left + part.shape[1]]


def leaps(holds: int, widest: int) -> Iterator[tuple[int, int]]:
    """Yield ranges of widths, each from one that is known to hold to one to be looked at next."""
    while holds < widest:
        leap = min(max(holds + 2, int(holds * _LEAP)), widest)
        yield holds, leap
        holds = leap


def suspects(
    film: Film, holds: int, leap: int, *, kept: bool, known: Film | None = None
) -> Iterator[Window]:
    """Yield, band by band, the windows in which a disc within a range of widths loses something.

    All that a wide disc leaves near, a narrower one leaves near too. Nothing is looked for
    where it is known already.
    """
    yield from windows(film, leap, REACH * (holds + 1) / 2, kept=kept, known=known)


def windows(
    film: Film, width: int, reach: float, *, kept: bool, known: Film | None = None
) -> Iterator[Window]:
    """Yield the windows that hold all that is farther than the reach from discs of a width."""
    around = _more_of_a_point(width, _quarter_less(width)) + REACH * width / 2 + 2 * _BLOCK
    margin = math.ceil(around / 64) * 64
    for rows in film.bands(margin, _BLOCK):
        plane = bits.lay(film, rows, outside=kept, inverse=kept, margin=margin)
        lost = Window(plane.words, plane.words, 0, 0).lost(width, reach)  # whose alone it is
        lost[:margin] = lost[-margin:] = 0  # above and below the band is another band's
        if known:
            lost &= ~bits.lay(known, rows, outside=False, margin=margin).words
        blocks = _blocks(lost)
        if blocks.any():
            for top, left, bottom, right in _boxes(blocks, math.ceil(around / _BLOCK)):
                yield _window(plane, rows.start, (top, left, bottom, right), margin)


def _quarter_less(width: int) -> int:
    """Return a width a quarter less, at least three pixels, at least the smallest."""
    return max(min(3 * width // 4, width - 3), SMALLEST)


def _more_of_a_point(width: int, narrower: int) -> float:
    """Return how far what a disc loses of a point reaches beyond what a narrower one loses."""
    return (_STEEP - REACH) * (width - narrower) / 2 + _STEPS


def _blocks(words: bits.Words) -> npt.NDArray[np.bool_]:
    """Return which blocks of 8 by 8 pixels hold anything."""
    starts = np.arange(0, words.shape[0], _BLOCK)
    by_row = np.bitwise_or.reduceat(words, starts, axis=0)
    return by_row.byteswap().view(np.uint8) != 0


def _boxes(blocks: npt.NDArray[np.bool_], apart: int) -> Iterator[tuple[int, int, int, int]]:
    """Yield boxes (top, left, bottom, right, in pixels) round blocks that lie near one another."""
    plane = bits.lay(film_of(blocks), outside=False, margin=apart)
    near = plane.packed(bits.dilate(plane.words, apart))
    rows, columns = blocks.shape
    spots = np.argwhere(blocks).astype(np.int32)
    group = pieces(Film(near, columns, rows, 1.0), spots).at
    order = np.argsort(group, kind="stable")
    for among in np.split(spots[order], np.flatnonzero(np.diff(group[order])) + 1):
        (top, left), (bottom, right) = among.min(axis=0), among.max(axis=0) + 1
        yield top * _BLOCK, left * _BLOCK, bottom * _BLOCK, right * _BLOCK


def _window(plane: bits.Plane, start: int, box: tuple[int, int, int, int], around: int) -> Window:
    """Return the window of a band round a box; the band begins at row `start` of the film."""
    top, left, bottom, right = box
    first_row, first_word = max(top - around, 0), max(left - around, 0) // 64
    last_word = -(-(right + around) // 64)
    part = plane.words[first_row : bottom + around, first_word:last_word].copy()
    judged = np.zeros((len(part), part.shape[1] * 64 // _BLOCK), np.uint8)
    across = slice(left // _BLOCK - first_word * 8, right // _BLOCK - first_word * 8)
    judged[top - first_row : bottom - first_row, across] = 0xFF
    inside = judged.view(np.uint64).byteswap()
    return Window(part, inside, first_word * 64 - plane.side, start + first_row - plane.margin)
