"""What a film holds: open area and its share by line width, edges, narrowest line and land, pieces."""

import math
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Any

import numpy as np

from etchcalc.artwork import bits
from etchcalc.artwork.film import WIDTHS, Film
from etchcalc.artwork.narrowest import halved, narrowest
from etchcalc.artwork.pieces import Pieces, pieces

_HEARD = 2.0  # s between two words while it is at work
_FINE = 32  # pixels: wider discs are laid on a film half as fine
# Steps (across, down) along which the edges are crossed: evenly enough spread over the half circle.
_STEPS = ((1, 0), (2, 1), (1, 1), (1, 2), (0, 1), (-1, 2), (-1, 1), (-2, 1))
Progress = Callable[[float], None]
Place = tuple[float, float]


@dataclass(frozen=True)
class FilmMeasures:
    """What was measured on a film; lengths in millimetres, places from the top left.

    Attributes
    ----------
    open_area : float
        Etched area, mm²; right to half a pixel times the edge length.
    open_fraction : float
        Etched area over the whole film's area, 0 to 1.
    shares : tuple of float
        How the open area is shared out over lines up to 0.2, 0.3, 0.5, 0.8,
        1.2, 2, 3 mm and wider; sums to 1. What a disc of that width does not
        reach belongs to narrower ones, so the corners of a field do too.
    edge_length : float
        Length of all edges between etched and kept, within 2 %.
    narrowest_line, narrowest_land : float or None
        Width of the narrowest etched line and of the narrowest metal kept
        between etched parts; None where there is none. Right to one `pixel` up
        to 32 pixels. Wider ones are looked for on a film half as fine, and so
        on: two whose widths differ by less than a sixteenth may be taken for
        one another; the width of the one found is right to one pixel or 1/64,
        whichever is more.
    line_place, land_place : (float, float) or None
        A point on it.
    hairline_place, hairland_place : (float, float) or None
        Where a line, or a land, is finer than 3 pixels, too fine to be measured
        and not counted above; None where there is none. The long cusp between
        two curves that touch is such a land.
    island_area, counter_area : float or None
        Area of the smallest island (metal with etched ground all round) and of
        the smallest counter (etched, within an island), mm².
    island_place, counter_place : (float, float) or None
    edge_distance : float or None
        How near an etched piece comes to the plate's edge without running off it.
    edge_place : (float, float) or None
    etched_pieces, kept_pieces, running_off : int
        How many pieces there are, and how many etched ones run off the plate.
    pixel : float
        Width of a pixel.
    width_bound : float
        How near to the truth the two widths are: a pixel, or less where they were refined.
    """

    open_area: float
    open_fraction: float
    shares: tuple[float, ...]
    edge_length: float
    narrowest_line: float | None
    line_place: Place | None
    narrowest_land: float | None
    land_place: Place | None
    hairline_place: Place | None
    hairland_place: Place | None
    island_area: float | None
    island_place: Place | None
    counter_area: float | None
    counter_place: Place | None
    edge_distance: float | None
    edge_place: Place | None
    etched_pieces: int
    kept_pieces: int
    running_off: int
    pixel: float
    width_bound: float


def measure(film: Film, progress: Progress | None = None) -> FilmMeasures:
    """Measure a film.

    Parameters
    ----------
    film : Film
    progress : callable, optional
        Told now and then what share is done.

    Raises
    ------
    BadInput
        The film is noise: more pieces than can be counted.
    """
    told = progress or (lambda _share: None)
    pixel = 1 / film.resolution
    with ThreadPoolExecutor(2) as pool:  # compiled loops let one another run
        asked: list[Future[Any]] = [
            pool.submit(narrowest, film),
            pool.submit(narrowest, film, kept=True),
            pool.submit(pieces, film),
            pool.submit(open_shares, film),
        ]
        left: set[Future] = set(asked)
        while left:
            _, left = wait(left, timeout=_HEARD, return_when=FIRST_COMPLETED)
            told(1 - len(left) / len(asked))
        line, land, found, shares = (one.result() for one in asked)
    count = bits.count_film(film)
    island, counter = _smallest(found, found.island), _smallest(found, found.counter)
    near = _nearest_the_edge(found)
    return FilmMeasures(
        open_area=count * pixel**2,
        open_fraction=count / (film.rows * film.columns),
        shares=shares,
        edge_length=edge_length(film) * pixel,
        narrowest_line=_scaled(line.width, pixel),
        line_place=_placed(line.place, pixel),
        narrowest_land=_scaled(land.width, pixel),
        land_place=_placed(land.place, pixel),
        hairline_place=_placed(line.hair, pixel),
        hairland_place=_placed(land.hair, pixel),
        island_area=_scaled(island and island[0], pixel**2),
        island_place=_placed(island and island[1], pixel),
        counter_area=_scaled(counter and counter[0], pixel**2),
        counter_place=_placed(counter and counter[1], pixel),
        edge_distance=_scaled(near and near[0], pixel),
        edge_place=_placed(near and near[1], pixel),
        etched_pieces=int(np.count_nonzero(found.etched)),
        kept_pieces=int(np.count_nonzero(~found.etched)),
        running_off=int(np.count_nonzero(found.etched & found.reaches_edge)),
        pixel=pixel,
        width_bound=pixel,
    )


def open_shares(film: Film, widths: tuple[float, ...] = WIDTHS) -> tuple[float, ...]:
    """Return how the open area is shared out over lines by their width.

    Parameters
    ----------
    film : Film
    widths : tuple of float
        Ends of the bands, mm, rising; above the last is one band more.

    Returns
    -------
    tuple of float
        Shares of the open area, one more than `widths`; noughts where nothing is open.
    """
    left = [1.0]  # what discs of each width still reach
    for width in widths:
        while round(width * film.resolution) > _FINE and min(film.rows, film.columns) > 1:
            film = halved(film)
        disc = max(round(width * film.resolution), 1)
        reached = total = 0
        for rows in film.bands(bits.MARGIN):
            plane = bits.lay(film, rows, outside=False)
            reached += bits.count(plane.inner(bits.opened(plane, disc)))
            total += bits.count(plane.inner(plane.words))
        left.append(min(reached / total if total else 1.0, left[-1]))
    if not total:
        return (0.0,) * (len(widths) + 1)
    return tuple(float(share) for share in np.subtract(left, [*left[1:], 0.0]))


def edge_length(film: Film) -> float:
    """Return the length of all edges between etched and kept, in pixels.

    Cauchy and Crofton: the length of a curve is half the mean number of crossings
    with lines of every direction, here eight; a straight edge comes out within 2 %.
    The edge of the film itself is none.
    """
    across, down = np.array(_STEPS).T
    angles = np.arctan2(down, across)
    turned = np.diff([angles[-1] - math.pi, *angles, math.pi])
    weights = (turned[:-1] + turned[1:]) / 2 / np.hypot(across, down) / 2
    crossed = np.zeros(len(_STEPS), np.int64)
    for rows in film.bands():
        plane = bits.lay(film, rows, outside=False, margin=2)
        crossed += [bits.crossings(plane, film.rows - rows.start, *step) for step in _STEPS]
    return float(crossed @ weights)


def _smallest(found: Pieces, which: np.ndarray) -> tuple[float, Place] | None:
    """Return the area of the smallest of some pieces, and a place on it."""
    if not which.any():
        return None
    among = np.flatnonzero(which)
    piece = among[np.argmin(found.area[among])]
    return float(found.area[piece]), _middle(found, piece)


def _middle(found: Pieces, piece: np.integer) -> Place:
    """Return the middle of the box round a piece: (across, down)."""
    top, left, bottom, right = (float(side) for side in found.box[piece])
    return (left + right) / 2, (top + bottom) / 2


def _nearest_the_edge(found: Pieces) -> tuple[float, Place] | None:
    """Return how near an etched piece comes to the film's edge, in pixels, and where."""
    among = np.flatnonzero(found.etched & ~found.reaches_edge)
    if not len(among):
        return None
    top, left, bottom, right = found.box[among].T
    away = np.stack([top, left, found.rows - bottom, found.columns - right])
    nearest = int(np.argmin(away.min(axis=0)))
    across, down = _middle(found, among[nearest])
    side = int(np.argmin(away[:, nearest]))
    place = (
        (across, float(top[nearest])),
        (float(left[nearest]), down),
        (across, float(bottom[nearest])),
        (float(right[nearest]), down),
    )[side]
    return float(away[side, nearest]), place


def _scaled(value: float | None, by: float) -> float | None:
    return None if value is None else value * by


def _placed(place: Place | None, pixel: float) -> Place | None:
    return None if place is None else (place[0] * pixel, place[1] * pixel)
