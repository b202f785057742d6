"""Depth against time in a bath that warms, cools and tires.

The groove's depth is what is stepped, so that the time to each depth comes out
directly: dt/dd = 1/(v(d, T(t))·(1 − load·d)), v the fresh rate. All are bare
arrays, W the ways in which the job may run.
"""

from functools import partial

import numpy as np

STEP = 2.0  # °C: a slice in which the bath changes by more is cut; the rate then moves by a tenth
MOST_CUTS = 6
ZERO = 273.15


def times_through(depths, rates, grid, celsius_at, shift, load, begin=0.0):
    """Return the minutes to each of some depths through a temperature history.

    Parameters
    ----------
    depths : array of shape (n + 1,)
        Edges of the slices in mm, rising from 0.
    rates : array of shape (n, K, W)
        Fresh rate in mm/min in the middle of each slice, at each temperature of the grid; above 0.
    grid : array of shape (K,)
        At least two temperatures in °C, rising; beyond its ends the rate is that of the end.
    celsius_at : callable
        Middle temperature in °C at times in minutes, array of shape (W,) to the same.
    shift : array of shape (W,)
        Each way's temperature less the middle one.
    load : array of shape (W,)
        Share of the ferric now in the bath that a mm of depth uses: the rate falls with what is left.
    begin : float or array of shape (W,)
        When the plate goes in, on the clock of the history.

    Returns
    -------
    array of shape (n + 1, W)
        Minutes in the bath, the first row 0; inf where the bath is spent before.
    """
    depths, load = np.asarray(depths, dtype=float)[:, None], np.maximum(load, 1e-9)
    rates, grid = np.asarray(rates, dtype=float), np.asarray(grid, dtype=float)
    ways = np.broadcast_shapes(rates.shape[2:], *(np.shape(x) for x in (load, shift, begin)))
    spent = np.broadcast_to(load * depths >= 1, (len(depths), *ways))
    # a slice as thick as takes a bath that does not tire the same time: tiring is summed exactly
    thick = -np.diff(np.log1p(-np.where(spent, 0.0, load * depths)), axis=0) / load
    thick = np.where(spent[1:], 0.0, np.broadcast_to(thick, (len(depths) - 1, *ways)))
    tables = _straight(np.broadcast_to(rates, (*rates.shape[:2], *ways)), grid)
    minutes = np.zeros(spent.shape)
    now = np.broadcast_to(np.asarray(begin, dtype=float), ways)
    celsius = celsius_at(now) + shift
    for i, (rate_at, whole) in enumerate(zip(tables, thick, strict=True)):
        after, warmth, moved = _through(now, celsius, rate_at, whole, celsius_at, shift)
        if moved > STEP:
            cuts = int(min(np.ceil(moved / STEP), MOST_CUTS))
            after, warmth = now, celsius
            for _ in range(cuts):
                after, warmth, _ = _through(after, warmth, rate_at, whole / cuts, celsius_at, shift)
        now, celsius = after, warmth
        minutes[i + 1] = now - begin
    return np.where(spent, np.inf, minutes)


def _through(now, celsius, rate_at, thick, celsius_at, shift):
    """Return time and temperature behind a thin slice, and by how much the temperature moved."""
    middle = celsius_at(now + thick / 2 / rate_at(celsius)) + shift
    now = now + thick / rate_at(middle)
    after = celsius_at(now) + shift
    moved = np.abs(middle - celsius) + np.abs(after - middle)
    return now, after, float(np.fmax.reduce(moved, initial=0.0))


def _straight(rates, grid):
    """Yield each slice's rate as a function of temperature, ln(rate) straight in 1/T between the grid's.

    Reaction and diffusion both go nearly as Arrhenius' law, by which that line is straight; a
    chord of the rate itself would lie above it.
    """
    logs, inverse = np.log(rates), 1 / (grid + ZERO)
    slopes = np.diff(logs, axis=1) / np.diff(inverse)[:, None]
    offsets = logs[:, :-1] - slopes * inverse[:-1, None]
    for slope, offset in zip(slopes, offsets, strict=True):
        yield partial(_rate, grid, slope, offset)


def _rate(grid, slope, offset, celsius):
    kept = np.clip(celsius, grid[0], grid[-1])
    ways = slope.shape[1]
    place = np.searchsorted(grid[1:-1], kept) * ways + np.arange(ways)
    return np.exp(offset.take(place) + slope.take(place) / (kept + ZERO))
