"""The two cases that the moving front is held to exactly; shared by tests and benchmark."""

import numpy as np
from scipy.optimize import brentq
from scipy.special import ellipk, erf

from etchcalc.process import groove_front
from etchcalc.process.groove import _grid


def planar_error(demand, cells):
    """By how much an open face in deep still etchant runs ahead of the exact solution, as a share.

    One-dimensional, concentration nothing on the metal: s = 2 λ √(D t) with
    √π λ exp(λ²) (1 + erf λ) = concentration over demand; solved by scipy.
    """
    root = brentq(lambda x: np.sqrt(np.pi) * x * np.exp(x * x) * (1 + erf(x)) - 1 / demand, 1e-9, 3)
    end, cell = (1 / (2 * root)) ** 2, 1 / cells  # time to a depth of 1
    sizes = cell * 1.05 ** np.arange(400)
    above = int(np.searchsorted(np.cumsum(sizes), 6 * np.sqrt(end))) + 1
    heights = np.cumsum(sizes[:above])
    rows = np.append(-heights[::-1], cell * np.arange(int(1.5 * cells)))
    grid = (np.array([0.0, cell]), rows, above)
    told, *_, account = groove_front.etched(
        grid, cell, cell, 1.0, float(heights[-1]), 0.0, float(demand), 0.0, np.zeros(0)
    )
    mass = (account[0] - account[1] - account[2]) / account[2]
    return np.sqrt(end / np.interp(1.0, told[:, 1], told[:, 0])) - 1, mass


def strip_error(width, cells):
    """By how much the flux to a strip in a wall differs from the exact one, as a share.

    Width over the distance at which the concentration is held; a number of cells in half
    the strip. Exact by conformal mapping: over that of an open face,
    (δ/w) 2 K(k) / K(k'), k = tanh(π w / 4 δ), K the complete elliptic integral, of scipy.
    """
    half = width / 2
    (across, down, above), _ = _grid(half, half, 1.0, np.inf, cells)
    wide = len(across) - 1
    size = len(down) * wide
    field, wet = np.ones(size), np.zeros(size, bool)
    wet[: above * wide], field[above * wide :] = True, 0.0
    front = np.column_stack([np.linspace(0, half, cells + 1), np.zeros(cells + 1)])
    taken, _, _ = groove_front._settled(
        field, wet, np.zeros(size, bool), front, cells + 1, across, down, above, half, 1.0,
        0.0, 0.0, 1e12,
    )  # fmt: skip
    k = np.tanh(np.pi * width / 4)
    return taken / half / (2 / width * ellipk(k**2) / ellipk(1 - k**2)) - 1
