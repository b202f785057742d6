"""The front of a groove as it moves: diffusion, reaction, a string of points on the metal.

Lengths in one unit, the diffusivity 1, the bath's concentration 1. x runs from the
middle of the line, y from the plate's face into the metal. The field lies on a grid
that is even in the metal and widens above it; a cell is wet when its centre is. The
front is a string of points about a cell apart. Each of its links draws from the wet
cell before it, through the resistance of the liquor between and of the reaction, so
that no staircase shows in the metal.

Compiled by numba; imported only in the process that does the heavy work.
"""

import numpy as np
from numba import njit

_STEP = 0.25  # of a cell, the most a point moves at once
_BALANCE = 1e-3  # of the flow, below which the field is settled
_FILL = 0.97  # how much of what the factor leaves out is put on its diagonal
_POINTS, _TURNS, _STEPS = 4000, 300, 8000


@njit(cache=True, nogil=True)
def etched(grid, half, end, target, layer, slow, demand, turning, marks):  # pragma: no cover
    """Return how a groove grows, its outlines at given depths, and the bath's etchant it took.

    Parameters
    ----------
    grid : tuple of (array, array, int)
        Edges of the columns, edges of the rows, and how many rows lie above the face.
    half, end, target : float
        Half the opening; half the pitch, where two lines meet; the depth to reach.
    layer, slow : float
        Thickness of the boundary layer; that thickness whose resistance the reaction has.
    demand : float
        Etchant that a volume of metal takes over what a volume of bath holds.
    turning : float
        Share of the depth by which the boundary layer follows the front.
    marks : array
        Depths at which the outline is kept.

    Returns
    -------
    array of shape (n, 4)
        Time, depth in the middle, greatest depth, undercut, step by step.
    array of shape (m, points, 2), array of int
        The outlines kept, and how many points each has.
    array of shape (3,)
        Etchant taken through the boundary layer, held more in the liquor, used by the metal.
    """
    across, down, above = grid
    cell, wide = across[1], len(across) - 1
    x, y = (across[1:] + across[:-1]) / 2, (down[1:] + down[:-1]) / 2
    c = np.ones((len(y) + 1) * wide)
    wet, bath = np.zeros(len(c), np.bool_), np.zeros(len(c), np.bool_)
    wet[: above * wide] = True
    c[above * wide :] = 0.0
    front, count = _begun(half, end, cell)
    told = np.empty((_STEPS, 4))
    outlines, lengths = np.zeros((len(marks), _POINTS, 2)), np.zeros(len(marks), np.int64)
    account, kept, steps = np.zeros(3), 0, 0
    time, pace = 0.0, _STEP * cell * demand * (slow + cell / 2)
    while steps < len(told) and front[0, 1] < target:
        _wetted(wet, front, count, x, y, above)
        _renewed(bath, wet, front, count, x, y, above, layer, turning)
        taken, more, flux = _settled(
            c, wet, bath, front, count, across, down, above, half, layer, slow, turning, pace
        )
        if steps == 0:
            time = front[0, 1] * demand / flux[0]  # of the quarter cell that it began with
        else:
            account[0] += taken * pace
            account[1] += more
        fastest = _moved(front, count, flux, pace / demand)
        count = _spaced(front, _met(front, count, end), cell)
        time += pace
        farthest, deepest = front[:count, 0].max(), front[:count, 1].max()
        told[steps] = time, front[0, 1], deepest, farthest - half
        while kept < len(marks) and front[0, 1] >= marks[kept]:
            outlines[kept, :count], lengths[kept] = front[:count], count
            kept += 1
        if steps == 0:
            account[2] = -_area(front, count) * demand
        steps += 1
        pace = min(_STEP * cell * demand / fastest, 1.3 * pace)
    account[2] += _area(front, count) * demand
    return told[:steps], outlines, lengths, account


@njit(cache=True, nogil=True)
def _begun(half, end, cell):  # pragma: no cover (compiled)
    """Return a front a quarter of a cell deep, round at the edge, with room for more points."""
    front, deep = np.empty((_POINTS, 2)), cell / 4
    flat = max(round(half / cell), 2)
    for i in range(flat + 1):
        front[i] = half * i / flat, deep
    if end < half + deep:  # no resist: the whole face goes down
        return front, flat + 1
    for i in range(1, 4):
        angle = i * np.pi / 6
        front[flat + i] = half + deep * np.sin(angle), deep * np.cos(angle)
    front[flat + 3, 1] = 0.0
    return front, flat + 4


@njit(cache=True, nogil=True)
def _area(front, count):  # pragma: no cover (compiled)
    """Return the area between the front, the face and the middle."""
    total = 0.0
    for i in range(count - 1):
        total += (front[i + 1, 0] - front[i, 0]) * (front[i + 1, 1] + front[i, 1]) / 2
    return total


@njit(cache=True, nogil=True)
def _wetted(wet, front, count, x, y, above):  # pragma: no cover (compiled)
    """Say which cells of the metal are etched: those whose centres the front has passed."""
    wide, cell = len(x), y[above + 1] - y[above]
    for row in range(above, len(y)):
        wet[row * wide : (row + 1) * wide] = y[row] < front[0, 1]
    for i in range(count - 1):
        one, two = front[i], front[i + 1]
        low, high = min(one[1], two[1]), max(one[1], two[1])
        for row in range(above + max(int(low / cell - 0.5), 0), len(y)):
            if y[row] >= high:
                break
            if y[row] >= low:
                at = one[0] + (two[0] - one[0]) * (y[row] - one[1]) / (two[1] - one[1])
                for column in range(wide - 1, -1, -1):
                    if x[column] <= at:
                        break
                    wet[row * wide + column] ^= True


@njit(cache=True, nogil=True)
def _renewed(bath, wet, front, count, x, y, above, layer, turning):  # pragma: no cover (compiled)
    """Say which cells the well-mixed bath has reached; once reached they stay so.

    The boundary layer holds what the metal has spent, so it is measured from the metal, to
    every side alike: bath is what lies farther from the front than the layer is thick, under
    the opening and under the resist's ledge, which spends nothing. What the bath does not
    follow (of the depth, all but `turning`) thickens the layer at the sides as at the floor;
    a groove narrower than twice that, or shallower, keeps no bath inside.
    """
    wide, foot = len(x), turning * front[0, 1] - layer
    thick, farthest = front[0, 1] - foot, front[:count, 0].max()
    for row in range(len(y)):
        if y[row] > foot:
            break
        for column in range(wide):
            here = row * wide + column
            if row < above:
                bath[here] = True
            elif x[column] < farthest - thick and wet[here] and not bath[here]:
                near = thick**2
                for i in range(count):
                    near = min(near, (front[i, 0] - x[column]) ** 2 + (front[i, 1] - y[row]) ** 2)
                bath[here] = near >= thick**2


@njit(cache=True, nogil=True)
def _settled(
    c, wet, bath, front, count, across, down, above, half, layer, slow, turning, pace
):  # pragma: no cover
    """Settle the field after a step; return what the bath gave, what is held more, each flux."""
    wide, high, foot = len(across) - 1, len(down) - 1, turning * front[0, 1] - layer
    west, north, fixed = np.zeros(len(c)), np.zeros(len(c)), np.zeros(len(c))
    store, draw = np.zeros(len(c)), np.zeros(len(c))
    owner, ease = _links(draw, wet, front, count, across, down, above, half, slow)
    cells = np.flatnonzero(wet[: high * wide] & ~bath[: high * wide])
    for p in cells:
        row, column = p // wide, p % wide
        tall, broad = down[row + 1] - down[row], across[column + 1] - across[column]
        resist = across[column] >= half - across[1] / 2
        store[p] = tall * broad / pace
        if row == 0 or (bath[p - wide] and not (row == above and resist)):
            to_bath = (down[row + 1] + down[row]) / 2 - foot
            fixed[p] += broad / (min(max(to_bath, tall / 10), tall) if to_bath > 0 else tall / 2)
        elif wet[p - wide] and not (row == above and resist):
            north[p] = 2 * broad / (down[row + 1] - down[row - 1])
        if column > 0 and wet[p - 1] and not bath[p - 1]:
            west[p] = 2 * tall / (across[column + 1] - across[column - 1])
        beside = (column > 0 and bath[p - 1]) + (column + 1 < wide and bath[p + 1])
        fixed[p] += beside * 2 * tall / broad + bath[p + wide] * 2 * broad / tall
    c[:] = np.where(bath, 1.0, c)
    old = c.copy()
    whole, right = west + north + fixed + draw + store, fixed + store * old
    whole[:-1] += west[1:]
    whole[:-wide] += north[wide:]
    for p in cells:
        if c[p] == 0:  # just etched: empty, but soon as its neighbours
            c[p] = max(c[p - 1] if p % wide else 0.0, c[p - wide])
    _solved(c, cells, whole, west, north, right, draw, wide)
    taken, more = (fixed * (1 - c)).sum(), (store * (c - old)).sum() * pace
    return taken, more, ease * c[owner]


@njit(cache=True, nogil=True)
def _around(c, west, north, p, wide):  # pragma: no cover (compiled)
    """Return what the four neighbours of a cell weigh."""
    beside = west[p] * c[p - 1] + west[p + 1] * c[p + 1]
    return beside + north[p] * c[p - wide] + north[p + wide] * c[p + wide]


@njit(cache=True, nogil=True)
def _solved(c, cells, whole, west, north, right, draw, wide):  # pragma: no cover (compiled)
    """Solve for the field: conjugate gradients, with a modified incomplete factor before them."""
    left, over = np.zeros(len(c)), np.zeros(len(c))  # what is unbalanced; its first remedy
    way, flow, inverse = np.zeros(len(c)), np.zeros(len(c)), np.zeros(len(c))
    for p in cells:
        by = whole[p]
        by -= west[p] * (west[p] + _FILL * north[p - 1 + wide]) * inverse[p - 1]
        by -= north[p] * (north[p] + _FILL * west[p - wide + 1]) * inverse[p - wide]
        inverse[p] = 1 / by
    before = 0.0
    for turn in range(_TURNS):
        unbalanced = used = 0.0
        for p in cells:
            if turn == 0:
                left[p] = right[p] + _around(c, west, north, p, wide) - whole[p] * c[p]
            unbalanced += abs(left[p])
            used += draw[p] * c[p]
            over[p] = (left[p] + west[p] * over[p - 1] + north[p] * over[p - wide]) * inverse[p]
        if unbalanced < _BALANCE * used:
            break
        now = 0.0
        for k in range(len(cells) - 1, -1, -1):
            p = cells[k]
            back = west[p + 1] * over[p + 1] + north[p + wide] * over[p + wide]
            over[p] += back * inverse[p]
            now += left[p] * over[p]
        for p in cells:
            way[p] = over[p] + (now / before * way[p] if turn else 0.0)
        along = 0.0
        for p in cells:
            flow[p] = whole[p] * way[p] - _around(way, west, north, p, wide)
            along += way[p] * flow[p]
        for p in cells:
            c[p] += now / along * way[p]
            left[p] -= now / along * flow[p]
        before = now


@njit(cache=True, nogil=True)
def _links(draw, wet, front, count, across, down, above, half, slow):  # pragma: no cover
    """Return from which cell each link of the front draws, and how easily; add what they draw."""
    wide, cell = len(across) - 1, across[1]
    owner, ease = np.empty(count - 1, np.int64), np.empty(count - 1)
    for i in range(count - 1):
        dx, dy = front[i + 1, 0] - front[i, 0], front[i + 1, 1] - front[i, 1]
        size = np.hypot(dx, dy)
        nx, ny = dy / size, -dx / size  # towards the liquor
        mx, my = (front[i, 0] + front[i + 1, 0]) / 2, (front[i, 1] + front[i + 1, 1]) / 2
        px, py = mx + 0.75 * cell * nx, my + 0.75 * cell * ny
        column = min(max(int(px / cell), 0), wide - 1)
        row = max(above + int(np.floor(py / cell)), above - 1)
        if column * cell > half - cell / 2:
            row = max(row, above)
        edge, there = round(half / cell), wet[row * wide + column]
        while column >= edge and not wet[row * wide + column]:  # a wedge thinner than a cell
            column -= 1
        if not wet[row * wide + column]:  # a groove less than a cell deep
            row = above - 1
        cx, cy = (across[column] + across[column + 1]) / 2, (down[row] + down[row + 1]) / 2
        straight = (cx - mx) * nx + (cy - my) * ny
        away = max(straight if there else np.hypot(cx - mx, cy - my), cell / 4)
        owner[i], ease[i] = row * wide + column, 1 / (slow + away)
        draw[owner[i]] += size * ease[i]
    return owner, ease


@njit(cache=True, nogil=True)
def _moved(front, count, flux, time):  # pragma: no cover (compiled)
    """Move each point across the front by what reached the links beside it; return the most."""
    last, most = count - 1, 0.0
    normal, way = np.empty((count, 2)), np.empty(count)
    for i in range(count):
        one, two = max(i - 1, 0), min(i + 1, last)
        dx, dy = front[two, 0] - front[one, 0], front[two, 1] - front[one, 1]
        size = np.hypot(dx, dy)
        normal[i] = -dy / size, dx / size
        way[i] = (flux[max(i - 1, 0)] + flux[min(i, last - 1)]) / 2
    normal[0] = 0.0, 1.0
    if front[last, 1] == 0:  # it keeps to the resist
        normal[last] = 1.0, 0.0
    for i in range(count):
        smooth = (way[max(i - 1, 0)] + 2 * way[i] + way[min(i + 1, last)]) / 4
        most = max(most, smooth)
        front[i] += smooth * time * normal[i]
    return most


@njit(cache=True, nogil=True)
def _met(front, count, end):  # pragma: no cover (compiled)
    """End the front where it meets that of the next line; return how many points are left."""
    for i in range(1, count):
        if front[i, 0] >= end:
            share = (end - front[i - 1, 0]) / (front[i, 0] - front[i - 1, 0])
            front[i] = end, front[i - 1, 1] + share * (front[i, 1] - front[i - 1, 1])
            return i + 1
    if front[count - 1, 1] > 0:  # they have met before
        front[count - 1, 0] = end
    return count


@njit(cache=True, nogil=True)
def _spaced(front, count, cell):  # pragma: no cover (compiled)
    """Put points where the front has stretched, take them where it has shrunk; return how many."""
    new, size = np.empty((_POINTS, 2)), 1
    new[0] = front[0]
    for i in range(1, count):
        gap = np.hypot(front[i, 0] - new[size - 1, 0], front[i, 1] - new[size - 1, 1])
        if gap < cell / 10 and i < count - 1:
            continue
        if gap > 1.2 * cell and size < _POINTS - count:
            new[size] = (new[size - 1] + front[i]) / 2
            if 1 < i < count - 1:  # on the curve through the four points round it
                new[size] += (front[i - 1] + front[i] - front[i - 2] - front[i + 1]) / 16
            size += 1
        new[size] = front[i]
        size += 1
    front[:size] = new[:size]
    return size
