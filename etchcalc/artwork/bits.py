"""Discs laid on a one-bit film: what a disc of a given width covers, and where it fits.

A part of a film is laid out 64 pixels to a word, the first pixel in the highest
bit, with a margin all round that is wider than any disc laid on it. Above and
below, the margin holds the film's own rows where there are any: so a film is
worked in bands, and the bands do not show.

A disc of an odd width stands on the centre of a pixel, one of an even width on
the corner between four: so a bar exactly n pixels wide takes a disc of width n
and none wider. Corner (i, j) is the upper left corner of pixel (i, j).

The inner loops are compiled by numba, once; so this is imported only in the
process that does the heavy work.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

from etchcalc.artwork.film import Bits, Film

Words = npt.NDArray[np.uint64]
MARGIN = 192  # pixels, where no other is asked for
_BITS = 64


@dataclass(frozen=True)
class Plane:
    """A band of a film with its margin, ready for discs.

    Attributes
    ----------
    words : array of uint64, shape (rows + 2 margin, words a row)
        The pixels, 64 a word, first pixel in the highest bit.
    rows, columns : int
        Size of the band without its margin.
    margin : int
        Pixels above and below.
    """

    words: Words
    rows: int
    columns: int
    margin: int

    @property
    def side(self) -> int:
        """Margin at the left, the same made up to whole words; at the right at least that."""
        return _whole_words(self.margin)

    def inner(self, words: Words) -> Words:
        """Return the band's own rows of words laid out like it."""
        return words[self.margin : self.margin + self.rows]

    def packed(self, words: Words) -> Bits:
        """Return words laid out like the band as a film keeps them: no margin, spare bits 0."""
        inner = self.inner(words).byteswap().view(np.uint8)
        bits = inner[:, self.side // 8 : (self.side + self.columns + 7) // 8].copy()
        if self.columns % 8:
            bits[:, -1] &= np.uint8((0xFF00 >> (self.columns % 8)) & 0xFF)
        return bits


def lay(
    film: Film,
    rows: slice | None = None,
    *,
    outside: bool,
    inverse: bool = False,
    margin: float = MARGIN,
) -> Plane:
    """Lay a band of a film into its margin.

    Parameters
    ----------
    film : Film
    rows : slice, optional
        The band; the whole film when not said.
    outside : bool
        What lies outside the film.
    inverse : bool
        Lay the metal that is kept instead of what is etched.
    margin : float
        Pixels that the discs laid on it may reach.
    """
    margin = math.ceil(margin)
    side = _whole_words(margin)
    top, bottom = (rows.start, rows.stop) if rows else (0, film.rows)
    first, last = max(top - margin, 0), min(bottom + margin, film.rows)
    width = _whole_words(film.columns + 2 * side) // 8
    laid = np.full((bottom - top + 2 * margin, width), 0xFF if outside else 0, np.uint8)
    at = first - (top - margin)
    inner = laid[at : at + last - first, side // 8 : side // 8 + film.bits.shape[1]]
    inner[:] = film.bits[first:last]
    if inverse:
        np.invert(inner, out=inner)
    if film.columns % 8:  # the last byte's spare bits lie outside the film
        spare = np.uint8(0xFF >> (film.columns % 8))
        inner[:, -1] = (inner[:, -1] & ~spare) | (spare if outside else 0)
    words = laid.view(np.uint64)
    return Plane(words.byteswap(inplace=True), bottom - top, film.columns, margin)


def _whole_words(pixels: int) -> int:
    """Return a number of pixels made up to whole words."""
    return -(-pixels // _BITS) * _BITS


def erode(words: Words, width: int) -> Words:
    """Return the places on which a disc of this width lies wholly in the set.

    Parameters
    ----------
    words : array of uint64
        The set, with its margin.
    width : int
        Diameter of the disc, pixels: odd, places are pixels; even, they are
        the upper left corners of pixels.
    """
    return ~_gather(~words, width / 2, even=width % 2 == 0, back=False)


def dilate(words: Words, radius: float, *, corners: bool = False) -> Words:
    """Return the pixels whose centres lie within the radius of a place in the set.

    Parameters
    ----------
    words : array of uint64
        The set, with its margin.
    radius : float
        Radius in pixels, at most the margin.
    corners : bool
        Whether the set's places are corners, as `erode` leaves even widths.
    """
    return _gather(words, radius, even=corners, back=True)


def count(words: Words) -> int:
    """Return how many bits of an array of words, in memory row after row, are set."""
    return int(_counted(words.reshape(-1)))


def count_film(film: Film) -> int:
    """Return how many pixels of a film are etched."""
    planes = (lay(film, rows, outside=False, margin=1) for rows in film.bands())
    return sum(count(plane.inner(plane.words)) for plane in planes)


def opened(plane: Plane, width: int) -> Words:
    """Return what a disc of this width covers when it is laid wherever it fits."""
    return dilate(erode(plane.words, width), width / 2, corners=width % 2 == 0) & plane.words


def crossings(plane: Plane, ahead: int, across: int, down: int) -> int:
    """Return how many pixels of a band differ from the one some steps across and down.

    Parameters
    ----------
    plane : Plane
    ahead : int
        Rows of the film from the band's first one on: pairs that leave the film
        are not counted.
    across, down : int
        The steps; less than a word across, and down not negative.
    """
    columns = np.zeros(plane.words.shape[1] * _BITS, np.uint8)
    first = plane.side + max(-across, 0)
    columns[first : plane.side + plane.columns - max(across, 0)] = 1
    mask = np.packbits(columns).view(np.uint64).byteswap()
    last = min(plane.rows, ahead - down)
    rows = plane.words[plane.margin : plane.margin + last + down]
    return int(_crossed(rows, mask, across, down)) if last > 0 else 0


def _gather(words: Words, radius: float, *, even: bool, back: bool) -> Words:
    """Return, for each place, whether the set has one within the radius of it."""
    found = np.zeros_like(words)
    reaches = list(_reaches(radius, even=even))
    if reaches:
        # The rows nearest the middle: its own, or the two beside a corner.
        above, below = (0, 0) if not even else (0, 1) if back else (-1, 0)
        inward = -np.diff(reaches, append=1 if even else 0)
        _gathered(words, found, inward, above, below)
    return found


def _reaches(radius: float, *, even: bool) -> Iterator[int]:
    """Yield half the chord of each of the disc's rows, from the middle outwards.

    Odd: row dy has the pixels -c to c. Even: row j (0 and up) stands for the two
    rows j + 1/2 from the corner, each with 2c pixels. Worked in half pixels, which
    are whole numbers, so that the disc is the same across and down.
    """
    side = 1 if even else 0
    limit = math.floor(4 * radius**2 + 1e-9)
    down = side
    while down**2 + side <= limit:
        yield (math.isqrt(limit - down**2) + side) // 2
        down += 2


@njit(cache=True, nogil=True)
def _gathered(words, found, inward, above, below):  # pragma: no cover (compiled)
    """Put into each row what discs of the set cover there.

    From the middle outwards: what is gathered so far is widened by as much as the
    next chord is shorter, then the next two rows are or-ed to it. So each row comes
    to be widened by its own chord, and all share the work.

    Parameters
    ----------
    inward : array of int64
        How much shorter the next chord is at each end; the last, how long itself.
    above, below : int
        The rows nearest the middle; about a corner they differ.
    """
    rows, width = words.shape
    run, wider = np.empty(width, np.uint64), np.empty(width, np.uint64)
    some = np.empty(rows, np.bool_)
    for row in range(rows):
        some[row] = words[row].any()
    for row in range(rows):
        holds = False
        run[:] = 0
        for k in range(len(inward)):
            up, down = row + above - k, row + below + k
            one, two = up >= 0 and up < rows and some[up], down >= 0 and down < rows and some[down]
            if one or two:
                _ored(run, words[up if one else down], words[down if two else up])
                holds = True
            reached = 0
            while holds and reached < inward[k]:
                # By its own length at each end and no more: what runs off the last word is lost.
                by = min(inward[k] - reached, reached + 1, _BITS - 1)
                _widened(run, wider, by)
                run, wider = wider, run
                reached += by
        if holds:
            _ended(run, found[row], below + above)


@njit(cache=True, nogil=True)
def _ored(run, one, two):  # pragma: no cover (compiled)
    """Or two rows to what is gathered."""
    for i in range(len(run)):
        run[i] |= one[i] | two[i]


@njit(cache=True, nogil=True)
def _ended(run, target, corner):  # pragma: no cover (compiled)
    """Put what is gathered into its row; about a corner, the pixel beside it belongs to it."""
    width = len(run)
    for i in range(width):
        target[i] = run[i]
        if corner > 0:
            after = run[i + 1] if i + 1 < width else np.uint64(0)
            target[i] |= (run[i] << np.uint64(1)) | (after >> np.uint64(63))
        elif corner < 0:
            before = run[i - 1] if i > 0 else np.uint64(0)
            target[i] |= (run[i] >> np.uint64(1)) | (before << np.uint64(63))


@njit(cache=True, nogil=True)
def _widened(run, wider, step):  # pragma: no cover (compiled)
    """Put into `wider` a row or-ed with itself moved by `step` pixels both ways."""
    width = len(run)
    by, rest = np.uint64(step), np.uint64(64 - step)
    for i in range(1, width - 1):
        here = run[i]
        wider[i] = here | (here << by) | (here >> by) | (run[i + 1] >> rest) | (run[i - 1] << rest)
    for i in (0, width - 1):
        here = run[i]
        after = run[i + 1] if i + 1 < width else np.uint64(0)
        before = run[i - 1] if i > 0 else np.uint64(0)
        wider[i] = here | (here << by) | (here >> by) | (after >> rest) | (before << rest)


@njit(cache=True, nogil=True)
def _counted(words):  # pragma: no cover (compiled)
    """Return the number of bits set, 64 at a time (halves, then quarters, are added in place)."""
    total = np.uint64(0)
    for i in range(len(words)):
        x = words[i]
        x -= (x >> np.uint64(1)) & np.uint64(0x5555555555555555)
        x = (x & np.uint64(0x3333333333333333)) + (
            (x >> np.uint64(2)) & np.uint64(0x3333333333333333)
        )
        x = (x + (x >> np.uint64(4))) & np.uint64(0x0F0F0F0F0F0F0F0F)
        total += (x * np.uint64(0x0101010101010101)) >> np.uint64(56)
    return total


@njit(cache=True, nogil=True)
def _crossed(rows, mask, across, down):  # pragma: no cover (compiled)
    """Return how many pixels under the mask differ from their partner."""
    width = rows.shape[1]
    left, right = np.uint64(max(across, 0)), np.uint64(max(-across, 0))
    left_rest, right_rest = np.uint64(64) - left, np.uint64(64) - right
    differ = np.empty(width, np.uint64)
    total = np.uint64(0)
    for row in range(rows.shape[0] - down):
        here, other = rows[row], rows[row + down]
        for i in range(1, width - 1):  # the words at the ends are margin
            partner = other[i]
            if across > 0:
                partner = (partner << left) | (other[i + 1] >> left_rest)
            elif across < 0:
                partner = (partner >> right) | (other[i - 1] << right_rest)
            differ[i] = (here[i] ^ partner) & mask[i]
        total += _counted(differ[1 : width - 1])
    return total
