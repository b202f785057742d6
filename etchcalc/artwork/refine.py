"""The narrowest places of a drawing in lines, looked at again eight times as finely."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from etchcalc.artwork import read
from etchcalc.artwork.measure import FilmMeasures, Place
from etchcalc.artwork.narrowest import REACH, width_at
from etchcalc.artwork.source import Asked

FINER = 8
_WIDEST = 64  # pixels: of a wider line the film itself is as good


def refined(measures: FilmMeasures, asked: Asked) -> FilmMeasures:
    """Return measures with the widths of the narrowest line and land refined.

    Parameters
    ----------
    measures : FilmMeasures
    asked : Asked
        The drawing; a bitmap has no more to show, and its measures stay as they are.

    Returns
    -------
    FilmMeasures
        `width_bound` falls to a quarter of a pixel where both were refined.
    """
    with ThreadPoolExecutor(2) as pool:
        line, land = pool.map(
            lambda found: _width(asked, measures, *found),
            (
                (measures.narrowest_line, measures.line_place, False),
                (measures.narrowest_land, measures.land_place, True),
            ),
        )
    known = [
        new is not None or old is None
        for new, old in ((line, measures.narrowest_line), (land, measures.narrowest_land))
    ]
    return replace(
        measures,
        narrowest_line=measures.narrowest_line if line is None else line,
        narrowest_land=measures.narrowest_land if land is None else land,
        width_bound=measures.pixel / 4 if all(known) else measures.width_bound,
    )


def _width(
    asked: Asked, measures: FilmMeasures, width: float | None, place: Place | None, kept: bool
) -> float | None:
    """Return the width at a place, mm, None where it is not to be had more finely."""
    pixel = measures.pixel
    if width is None or place is None or width > _WIDEST * pixel:
        return None
    reach = (REACH + 1) * (width / 2 + 2 * pixel) + 2 * pixel
    corner = [max(side - reach, 0.0) for side in place]
    size = [
        min(side + reach, most) - first
        for side, most, first in zip(place, (asked.width, asked.height), corner, strict=True)
    ]
    left, top = corner
    across, down = size
    window = read.window(asked, left, top, across, down, FINER / pixel)
    if window is None:
        return None
    inside = ((place[0] - corner[0]) / pixel, (place[1] - corner[1]) / pixel)
    found = width_at(window, inside, FINER, round(width / pixel), kept=kept)
    return found * pixel / FINER
