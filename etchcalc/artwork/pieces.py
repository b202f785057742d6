"""The pieces of a film: what hangs together, etched or kept, and which lies in which.

One sweep over the rows, of which two are held at a time: the runs of a row take
the label of what they touch in the row above, and labels that meet are joined
(union-find). Etched pixels hang together over corners, kept ones do not, so that
no two pieces cross.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

from etchcalc.artwork.film import Film
from etchcalc.core.faults import BadInput

MOST = 2_000_000  # labels given on the way, some 70 bytes each
_START = 4096  # labels there is room for at first
# What is known of each label while the rows are swept.
_ETCHED, _AREA, _TOP, _FIRST, _LEFT, _BOTTOM, _RIGHT, _AROUND, _FIELDS = range(9)


@dataclass(frozen=True)
class Pieces:
    """All pieces of a film, in the order in which a reader of the rows meets them.

    Attributes
    ----------
    etched : array of bool, shape (n,)
        Whether the piece is etched or kept.
    area : array of int64, shape (n,)
        Pixels.
    first : array of int32, shape (n, 2)
        Row and column of the first pixel met.
    box : array of int32, shape (n, 4)
        First row and column, and those just beyond the last.
    around : array of int32, shape (n,)
        The piece that lies round it; -1 where its first pixel begins a row.
    at : array of int32, shape (points,)
        The piece that holds each point asked for.
    rows, columns : int
        Size of the film.
    """

    etched: npt.NDArray[np.bool_]
    area: npt.NDArray[np.int64]
    first: npt.NDArray[np.int32]
    box: npt.NDArray[np.int32]
    around: npt.NDArray[np.int32]
    at: npt.NDArray[np.int32]
    rows: int
    columns: int

    @property
    def reaches_edge(self) -> npt.NDArray[np.bool_]:
        """Whether each piece reaches the edge of the film."""
        top, left, bottom, right = self.box.T
        return (top == 0) | (left == 0) | (bottom == self.rows) | (right == self.columns)

    @property
    def island(self) -> npt.NDArray[np.bool_]:
        """Whether each piece is metal with etched ground all round."""
        return ~self.etched & ~self.reaches_edge

    @property
    def counter(self) -> npt.NDArray[np.bool_]:
        """Whether each piece is etched and lies within an island, as within a raised letter."""
        return self.etched & (self.around >= 0) & self.island[self.around]


def pieces(film: Film, points: npt.NDArray[np.int32] | None = None) -> Pieces:
    """Return the pieces of a film.

    Parameters
    ----------
    film : Film
    points : array of int32, shape (n, 2), optional
        Rows and columns of pixels whose piece is asked for, in the order of the rows.

    Raises
    ------
    BadInput
        More than some two million pieces: that is noise, not a drawing.
    """
    asked = np.zeros((0, 2), np.int32) if points is None else np.ascontiguousarray(points, np.int32)
    parent, known, at = _swept(np.asarray(film.bits), film.columns, asked, MOST, _START)
    if len(parent) > MOST:
        raise BadInput(
            f"The drawing holds more than {MOST / 1e6:.0f} million specks, so it is noise or a "
            "photograph: accepted is line work; take the specks out and save it again."
        )
    roots, number = _numbered(parent)
    of = known[roots]
    around = of[:, _AROUND]
    return Pieces(
        etched=of[:, _ETCHED] == 1,
        area=of[:, _AREA],
        first=of[:, [_TOP, _FIRST]].astype(np.int32),
        box=of[:, [_TOP, _LEFT, _BOTTOM, _RIGHT]].astype(np.int32),
        around=np.where(around < 0, -1, number[around]).astype(np.int32),
        at=number[at],
        rows=film.rows,
        columns=film.columns,
    )


@njit(cache=True, nogil=True)
def _root(parent, label):  # pragma: no cover (compiled)
    """Return the first label of a piece, halving the way to it."""
    while parent[label] != label:
        parent[label] = parent[parent[label]]
        label = parent[label]
    return label


@njit(cache=True, nogil=True)
def _runs(row, columns, starts):  # pragma: no cover (compiled)
    """Put the column at which each run of one colour begins into `starts`; return how many."""
    colour = row[0] >> 7
    starts[0] = 0
    count = 1
    for at in range(len(row)):
        byte = row[at]
        if byte == (255 if colour else 0):
            continue
        for bit in range(8):
            column = at * 8 + bit
            if column < columns and (byte >> (7 - bit)) & 1 != colour:
                colour = 1 - colour
                starts[count] = column
                count += 1
    return count


@njit(cache=True, nogil=True)
def _swept(bits, columns, points, most, size):  # pragma: no cover (compiled)
    """Return each label's parent, what is known of the first ones, and the points' labels.

    Breaks off at one label more than `most`.
    """
    parent, known = np.empty(size, np.int32), np.empty((size, _FIELDS), np.int64)
    starts, above = np.empty(columns + 2, np.int32), np.empty(columns + 2, np.int32)
    labels, labels_above = np.empty(columns + 2, np.int32), np.empty(columns + 2, np.int32)
    at = np.zeros(len(points), np.int32)
    count, many_above, colour_above, asked = 0, 0, 0, 0
    for row in range(len(bits)):
        many = _runs(bits[row], columns, starts)
        starts[many] = columns
        colour = bits[row, 0] >> 7
        j = 0
        for i in range(many):
            is_etched, begin, end = (colour + i) % 2, starts[i], starts[i + 1]
            first, last = begin - is_etched, end + is_etched  # etched ones touch over corners
            while j > 0 and above[j] > first:
                j -= 1
            while j < many_above and above[j + 1] <= first:
                j += 1
            label = -1
            for other in range(j, many_above):
                if above[other] >= last:
                    break
                if (colour_above + other) % 2 == is_etched:
                    label = _joined(parent, known, label, labels_above[other])
            if label < 0:
                label, count = count, count + 1
                if label == len(parent):
                    parent, known = _longer(parent, known)
                if count > most:
                    return parent[:count], known[:count], at
                parent[label] = label
                _begun(known[label], is_etched, row, begin, labels[i - 1] if i else -1)
            labels[i] = label
            known[label, _AREA] += end - begin
            known[label, _LEFT] = min(known[label, _LEFT], begin)
            known[label, _RIGHT] = max(known[label, _RIGHT], end)
            known[label, _BOTTOM] = row + 1
        while asked < len(points) and points[asked, 0] == row:
            run = np.searchsorted(starts[:many], points[asked, 1], side="right") - 1
            at[asked] = labels[run]
            asked += 1
        starts, above = above, starts
        labels, labels_above = labels_above, labels
        many_above, colour_above = many, colour
    return parent[:count], known[:count], at


@njit(cache=True, nogil=True)
def _begun(of, is_etched, row, begin, around):  # pragma: no cover (compiled)
    """Put down what is known of a new label: where it is first met, and what is to its left."""
    of[_ETCHED], of[_AREA], of[_AROUND] = is_etched, 0, around
    of[_TOP], of[_FIRST] = row, begin
    of[_LEFT], of[_RIGHT] = begin, begin


@njit(cache=True, nogil=True)
def _joined(parent, known, one, two):  # pragma: no cover (compiled)
    """Return the first label of what two labels make together; `one` is -1 where there is none."""
    two = _root(parent, two)
    if one < 0 or one == two:
        return np.int64(two)
    label, other = min(one, two), max(one, two)
    parent[other] = label
    known[label, _AREA] += known[other, _AREA]
    known[label, _LEFT] = min(known[label, _LEFT], known[other, _LEFT])
    known[label, _RIGHT] = max(known[label, _RIGHT], known[other, _RIGHT])
    known[label, _BOTTOM] = max(known[label, _BOTTOM], known[other, _BOTTOM])
    return np.int64(label)


@njit(cache=True, nogil=True)
def _longer(parent, known):  # pragma: no cover (compiled)
    """Return both arrays with twice the room."""
    longer = np.empty(2 * len(parent), parent.dtype)
    longer[: len(parent)] = parent
    more = np.empty((2 * len(known), _FIELDS), known.dtype)
    more[: len(known)] = known
    return longer, more


@njit(cache=True, nogil=True)
def _numbered(parent):  # pragma: no cover (compiled)
    """Return the first labels, and for each label the number of its piece."""
    number = np.empty(len(parent), np.int32)
    count = 0
    for label in range(len(parent)):
        root = _root(parent, label)  # never after the label
        if root == label:
            number[label] = count
            count += 1
        else:
            number[label] = number[root]
    roots = np.empty(count, np.int64)
    for label in range(len(parent)):
        if parent[label] == label:
            roots[number[label]] = label
    return roots, number
