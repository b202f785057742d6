"""Discs laid on a one-bit film: what a disc of a given width covers, and where it fits.

Pixels are kept 64 to a word, the first pixel in the highest bit, with a margin
of `MARGIN` pixels all round, so that a row shifted by up to `MARGIN` pixels
runs into margin and never into the next row.

A disc of an odd width stands on the centre of a pixel, one of an even width on
the corner between four: so a bar exactly n pixels wide takes a disc of width n
and none wider. Corner (i, j) is the upper left corner of pixel (i, j).
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Words = npt.NDArray[np.uint64]
MARGIN = 128  # a whole number of words; no disc used here may reach farther
_BITS = 64


@dataclass(frozen=True)
class Plane:
    """A film with its margin, ready for discs.

    Attributes
    ----------
    words : array of uint64, shape (rows + 2 MARGIN, words a row)
        The pixels, 64 a word, first pixel in the highest bit.
    rows, columns : int
        Size of the film without its margin.
    """

    words: Words
    rows: int
    columns: int

    def unpacked(self) -> npt.NDArray[np.bool_]:
        """Return the film without its margin, one bool a pixel."""
        inner = self.words[MARGIN:-MARGIN].byteswap().view(np.uint8)
        bits = np.unpackbits(inner, axis=1, count=MARGIN + self.columns)
        return bits[:, MARGIN:].view(np.bool_)

    def like(self, words: Words) -> "Plane":
        """Return other words of the same film."""
        return Plane(words, self.rows, self.columns)


def plane(packed: npt.NDArray[np.uint8], columns: int, *, outside: bool) -> Plane:
    """Lay a packed film into its margin.

    Parameters
    ----------
    packed : array of uint8, shape (rows, ceil(columns / 8))
        The film as `numpy.packbits` leaves it.
    columns : int
        Pixels in a row.
    outside : bool
        What the margin is filled with.
    """
    rows = packed.shape[0]
    width = (columns + 2 * MARGIN + _BITS - 1) // _BITS * 8
    fill = 0xFF if outside else 0
    laid = np.full((rows + 2 * MARGIN, width), fill, np.uint8)
    inner = laid[MARGIN:-MARGIN, MARGIN // 8 : MARGIN // 8 + packed.shape[1]]
    inner[:] = packed
    if columns % 8:  # the last byte's spare bits lie outside the film
        spare = np.uint8(0xFF >> (columns % 8))
        inner[:, -1] = (inner[:, -1] & ~spare) | (spare if outside else 0)
    return Plane(laid.view(np.uint64).byteswap(), rows, columns)


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
        Radius in pixels, at most `MARGIN`.
    corners : bool
        Whether the set's places are corners, as `erode` leaves even widths.
    """
    return _gather(words, radius, even=corners, back=True)


def _gather(words: Words, radius: float, *, even: bool, back: bool) -> Words:
    """Return, for each place, whether the set has one within the radius of it."""
    found = np.zeros_like(words)
    flat, run, spare = words.reshape(-1), np.empty_like(words), np.empty_like(words)
    reached = -1
    for row, reach in _chords(radius, even=even):
        if reached < 0:
            reached = 0
            run[:] = words
            if even:  # a chord about a corner starts with the two pixels beside it
                reached = 1
                _shift_into(spare.reshape(-1), flat, -1 if back else 1)
                run |= spare
        while reached < reach:  # a run may grow by its own length at each end, no more
            step = min(reach - reached, reached if even else reached + 1)
            _widen(run.reshape(-1), spare.reshape(-1), step)
            reached += step
        above, below = _rows_of(row, even=even, back=back)
        _or_rows(found, run, above)
        if below != above:
            _or_rows(found, run, below)
    return found


def _chords(radius: float, *, even: bool) -> Iterator[tuple[int, int]]:
    """Yield the disc's rows from its rim inwards, each with half its chord.

    Odd: row dy has the pixels -c to c. Even: row j (0 and up) stands for the two
    rows j + 1/2 from the corner, each with 2c pixels.
    """
    half = 0.5 if even else 0.0
    for row in range(math.floor(radius - half), -1, -1):
        room = radius * radius - (row + half) ** 2
        # The largest c whose outermost pixel, c (odd) or c - 1/2 (even), is within reach.
        reach = math.floor(math.sqrt(room) + half + 1e-9)
        if reach >= (1 if even else 0):
            yield row, reach


def _rows_of(row: int, *, even: bool, back: bool) -> tuple[int, int]:
    """Return the two row offsets that one chord stands for."""
    if not even:
        return -row, row
    return (-row, row + 1) if back else (-row - 1, row)


def _or_rows(found: Words, run: Words, offset: int) -> None:
    """Or into each row of `found` the row of `run` that lies `offset` below it."""
    if offset > 0:
        found[:-offset] |= run[offset:]
    elif offset < 0:
        found[-offset:] |= run[:offset]
    else:
        found |= run


def _widen(run: Words, spare: Words, step: int) -> None:
    """Or a set with itself moved by `step` pixels both ways, in place."""
    original = run.copy()
    for move in (step, -step):
        _shift_into(spare, original, move)
        run |= spare


def _shift_into(out: Words, words: Words, pixels: int) -> None:
    """Move a set by less than a word, to the right when positive, over row ends."""
    step, rest = np.uint64(abs(pixels)), np.uint64(_BITS - abs(pixels))
    if pixels > 0:
        np.right_shift(words, step, out=out)
        out[1:] |= words[:-1] << rest
    else:
        np.left_shift(words, step, out=out)
        out[:-1] |= words[1:] >> rest
