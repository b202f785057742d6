"""Strips of a TIFF packed by the fax codes of CCITT: Group 4, Group 3, modified Huffman.

Written out here because the libraries that read them unpack a byte a pixel, and
take a strip that is damaged for white from there on: half a plate would be lost
without a word. This one packs as it goes and says how far it came.
"""

import numpy as np
import numpy.typing as npt
from numba import njit

from etchcalc.artwork.film import Bits

GROUP_4, GROUP_3, HUFFMAN = 4, 3, 2  # as the TIFF's tag of compression numbers them
_LONGEST = 13  # bits of a code
_PADDING = 8  # bytes of nought beyond the data: no code is all nought, so reading ends there

# The codes of runs of 0 to 63 pixels, then of 64, 128, ... 1728, in the order of ITU-T T.4.
_WHITE = """
00110101 000111 0111 1000 1011 1100 1110 1111 10011 10100 00111 01000 001000 000011 110100 110101
101010 101011 0100111 0001100 0001000 0010111 0000011 0000100 0101000 0101011 0010011 0100100
0011000 00000010 00000011 00011010 00011011 00010010 00010011 00010100 00010101 00010110 00010111
00101000 00101001 00101010 00101011 00101100 00101101 00000100 00000101 00001010 00001011 01010010
01010011 01010100 01010101 00100100 00100101 01011000 01011001 01011010 01011011 01001010 01001011
00110010 00110011 00110100
11011 10010 010111 0110111 00110110 00110111 01100100 01100101 01101000 01100111 011001100
011001101 011010010 011010011 011010100 011010101 011010110 011010111 011011000 011011001
011011010 011011011 010011000 010011001 010011010 011000 010011011"""
_BLACK = """
0000110111 010 11 10 011 0011 0010 00011 000101 000100 0000100 0000101 0000111 00000100 00000111
000011000 0000010111 0000011000 0000001000 00001100111 00001101000 00001101100 00000110111
00000101000 00000010111 00000011000 000011001010 000011001011 000011001100 000011001101
000001101000 000001101001 000001101010 000001101011 000011010010 000011010011 000011010100
000011010101 000011010110 000011010111 000001101100 000001101101 000011011010 000011011011
000001010100 000001010101 000001010110 000001010111 000001100100 000001100101 000001010010
000001010011 000000100100 000000110111 000000111000 000000100111 000000101000 000001011000
000001011001 000000101011 000000101100 000001011010 000001100110 000001100111
0000001111 000011001000 000011001001 000001011011 000000110011 000000110100 000000110101
0000001101100 0000001101101 0000001001010 0000001001011 0000001001100 0000001001101 0000001110010
0000001110011 0000001110100 0000001110101 0000001110110 0000001110111 0000001010010 0000001010011
0000001010100 0000001010101 0000001011010 0000001011011 0000001100100 0000001100101"""
# And of 1792, 1856, ... 2560, of either colour.
_LONG = """
00000001000 00000001100 00000001101 000000010010 000000010011 000000010100 000000010101
000000010110 000000010111 000000011100 000000011101 000000011110 000000011111"""


def _table(codes: str) -> npt.NDArray[np.int64]:
    """Return, for each 13 bits, the run that they begin with, times 16, plus its code's length."""
    table = np.zeros(2**_LONGEST, np.int64)
    for i, code in enumerate(codes.split()):
        run = i if i < 64 else (i - 63) * 64
        first = int(code, 2) << (_LONGEST - len(code))
        table[first : first + 2 ** (_LONGEST - len(code))] = run * 16 + len(code)
    return table


_RUNS = np.array([_table(_WHITE + _LONG), _table(_BLACK + _LONG)])


def unpack(data: bytes, columns: int, out: Bits, compression: int, *, mixed: bool = False) -> int:
    """Unpack a strip into packed rows, 1 where the code says black, and return how many came.

    Parameters
    ----------
    data : bytes
        The strip, highest bit first.
    columns : int
        Pixels in a row.
    out : array of uint8, shape (rows, ceil(columns / 8))
        All nought; the rows are put here.
    compression : int
        `GROUP_4`, `GROUP_3` or `HUFFMAN`.
    mixed : bool
        Whether rows of Group 3 may be coded by the row before.

    Returns
    -------
    int
        The rows that could be read: fewer than `out` has where the data end
        early or are damaged.
    """
    padded = np.zeros(len(data) + _PADDING, np.uint8)
    padded[: len(data)] = np.frombuffer(data, np.uint8)
    return _unpacked(padded, len(data) * 8, columns, np.asarray(out), compression, mixed, _RUNS)


@njit(cache=True)
def _unpacked(data, end, columns, out, compression, mixed, runs):  # pragma: no cover (compiled)
    # The places in a row at which the colour changes, from white first; then the row's end.
    above, here = np.full(columns + 8, columns), np.full(columns + 8, columns)
    at = 0
    for row in range(out.shape[0]):
        by_above = compression == 4
        if compression == 2:
            at = (at + 7) // 8 * 8
        if compression == 3:
            at, ended = _past_end_of_line(data, at, end)
            if mixed:
                if not ended:
                    return row
                by_above = _peek(data, at) >> 12 == 0
                at += 1
        if at >= end:
            return row
        if by_above:
            at, changes = _by_above(data, at, columns, above, here, runs)
        else:
            at, changes = _by_runs(data, at, columns, here, runs)
        if at < 0 or at > end:
            return row
        here[changes : changes + 4] = columns
        for i in range(0, changes, 2):
            _blacken(out[row], here[i], here[i + 1])
        above, here = here, above
    return out.shape[0]


@njit(cache=True)
def _peek(data, at):  # pragma: no cover (compiled)
    """Return the next 13 bits."""
    byte = at >> 3
    three = (np.int64(data[byte]) << 16) | (np.int64(data[byte + 1]) << 8) | data[byte + 2]
    return (three >> (11 - (at & 7))) & 0x1FFF


@njit(cache=True)
def _past_end_of_line(data, at, end):  # pragma: no cover (compiled)
    """Return the place after an end of line (eleven noughts or more, then 1), and if there was one."""
    if _peek(data, at) >> 2:
        return at, False
    while at < end and not _peek(data, at) >> 12:
        at += 1
    return at + 1, True


@njit(cache=True)
def _run(data, at, columns, table):  # pragma: no cover (compiled)
    """Return the place after a run's codes, -1 where there are none, and the run."""
    total = 0
    while total <= columns:
        code = table[_peek(data, at)]
        if code == 0:
            return -1, 0
        at += code & 15
        total += code >> 4
        if code >> 4 < 64:
            return at, total
    return -1, 0


@njit(cache=True)
def _changed(here, changes, place):  # pragma: no cover (compiled)
    """Note a change of colour and return how many there are; two in one place are none."""
    if changes > 0 and here[changes - 1] == place:
        return changes - 1
    here[changes] = place
    return changes + 1


@njit(cache=True)
def _by_runs(data, at, columns, here, runs):  # pragma: no cover (compiled)
    """Read a row of runs, white first; return the place after it (-1: damaged) and its changes."""
    place, changes, colour = 0, 0, 0
    while place < columns:
        at, run = _run(data, at, columns, runs[colour])
        place += run
        if at < 0 or place > columns:
            return -1, 0
        if place < columns:
            changes = _changed(here, changes, place)
        colour = 1 - colour
    return at, changes


@njit(cache=True)
def _by_above(data, at, columns, above, here, runs):  # pragma: no cover (compiled)
    """Read a row coded by the one above; return the place after it (-1: damaged) and its changes."""
    place, changes, i = -1, 0, 0
    while place < columns:
        colour = changes & 1
        if i & 1 != colour:  # the next change above to the other colour than that here
            i += 1 if i == 0 else -1
        while above[i] <= place and above[i] < columns:
            i += 2
        code = _peek(data, at)
        if code >> 9 == 0b0001:  # pass
            place = above[i + 1]
            at += 4
            continue
        if code >> 10 == 0b001:  # two runs
            at, first = _run(data, at + 3, columns, runs[colour])
            if at < 0:
                return -1, 0
            at, second = _run(data, at, columns, runs[1 - colour])
            first += max(place, 0)
            place = first + second
            if at < 0 or place > columns:
                return -1, 0
            if first < columns:
                changes = _changed(here, changes, first)
        else:  # a change near that above
            length, off = _near(code)
            at += length
            if length == 0 or not max(place, 0) <= above[i] + off <= columns:
                return -1, 0
            place = above[i] + off
        if place < columns:
            changes = _changed(here, changes, place)
    return at, changes


@njit(cache=True)
def _near(code):  # pragma: no cover (compiled)
    """Return the length of a code of a change near that above (nought: none), and how far off."""
    if code >> 12:
        return 1, 0
    for length, off in ((3, 1), (6, 2), (7, 3)):
        if code >> 13 - length == 0b11:
            return length, off
        if code >> 13 - length == 0b10:
            return length, -off
    return 0, 0


@njit(cache=True)
def _blacken(row, start, stop):  # pragma: no cover (compiled)
    """Set the bits of a row from `start` to before `stop`."""
    if start >= stop:
        return
    first, last = start >> 3, stop >> 3
    head, tail = np.uint8(0xFF >> (start & 7)), np.uint8(0xFF & ~(0xFF >> (stop & 7)))
    if first == last:
        row[first] |= head & tail
        return
    row[first] |= head
    row[first + 1 : last] = 0xFF
    if tail:
        row[last] |= tail
