"""A whole plate's film offset, labelled and measured: 200 × 150 mm at 2400 dpi.

``peak_mib``
    The most memory that a process takes which draws the film and grows it,
    imports and both films included; the worse of an undercut of 14 and 28 pixels.
``ratio_to_scipy``
    How often faster growing is than thresholding scipy's distance transform,
    whose time is taken on a part that fits into memory and scaled by the area;
    the worse of 14 and 28.
``copies``
    Growing by 28 in times of copying the same pixels, a byte each, into memory
    that has been written to before.
``wrong_pixels``
    Pixels that differ from scipy's, on parts at every edge, across the ends of
    words and in the middle, at 14 and at 28.
``label_seconds``, ``measure_seconds``, ``lost_seconds_14``
    All pieces found; all measured; all that growing and shrinking lose, one
    after the other.

Each in a fresh process of its own. Medians; each is run once beforehand,
uncounted, on a small film, so that the compiled code is there.
"""

import functools
import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import measuring
import numpy as np

from etchcalc.artwork import film as films

COLUMNS, ROWS = 18898, 14173
UNDERCUTS = (14, 28)
RUNS = 5
PART = 3000  # pixels a side of what scipy is timed on
BORDER = 400  # pixels about a plate left clear
CELL = 590  # pixels, 6.2 mm: one thing is drawn in each
DEEP = 128  # rows drawn at a time

Shape = tuple[str, tuple[float, ...]]


def shapes(columns: int, rows: int) -> Iterator[Shape]:
    """Yield what is drawn: bars (left, top, right, bottom), rings (x, y, outer, inner), strokes."""
    random = np.random.default_rng(7)
    for top in range(BORDER, rows - BORDER - CELL, CELL):
        for left in range(BORDER, columns - BORDER - CELL, CELL):
            kind = random.choice(["scale", "numeral", "disc", "hatch"], p=[0.4, 0.3, 0.1, 0.2])
            for shape, numbers in CELLS[kind](random):
                yield (
                    shape,
                    tuple(numbers[:2] + np.array([left, top])) + moved(shape, numbers, left, top),
                )


def moved(shape: str, numbers: tuple[float, ...], left: int, top: int) -> tuple[float, ...]:
    """Return the numbers beyond the first two, moved where they are a place."""
    if shape == "ring":
        return tuple(numbers[2:])
    return (numbers[2] + left, numbers[3] + top, *numbers[4:])


def scale(random: np.random.Generator) -> Iterator[Shape]:
    """Yield ticks on a base line, every fifth longer."""
    yield "bar", (0, 400, CELL, 430)
    for at in range(10):
        yield "bar", (59 * at, 200 if at % 5 else 80, 59 * at + random.integers(19, 29), 410)


def numeral(random: np.random.Generator) -> Iterator[Shape]:
    """Yield something like two figures: a ring on a leaning stroke, bars."""
    thick = float(random.integers(32, 60))
    yield "ring", (160, 170, 100, 100 - thick)
    yield "stroke", (230, 200, 120, 500, thick / 2)
    yield "bar", (340, 70, 520, 70 + thick)
    yield "stroke", (500, 100, 400, 500, thick / 2)


def disc(random: np.random.Generator) -> Iterator[Shape]:
    """Yield a disc, or a ring with a dot."""
    outer = float(random.integers(120, 280))
    yield "ring", (295, 295, outer, random.choice([0, outer - 40]))
    yield "ring", (295, 295, 45, 0)


def hatch(random: np.random.Generator) -> Iterator[Shape]:
    """Yield leaning lines."""
    lean = float(random.integers(-150, 150))
    for at in range(6):
        yield "stroke", (160 + 50 * at, 60, 160 + 50 * at + lean, 520, 12)


CELLS = {"scale": scale, "numeral": numeral, "disc": disc, "hatch": hatch}


def drawn(columns: int = COLUMNS, rows: int = ROWS) -> films.Film:
    """Return a film of scales, figures, discs and hatches inside a frame, drawn band by band."""
    film = films.blank(columns, rows)
    todo = [(box_of(shape, numbers), shape, numbers) for shape, numbers in shapes(columns, rows)]
    for top in range(0, rows, DEEP):
        band = np.zeros((min(DEEP, rows - top), columns), bool)
        framed(band, top, rows)
        for box, shape, numbers in todo:
            if box[1] < top + len(band) and box[3] > top:
                laid(band, top, box, shape, numbers)
        film.bits[top : top + len(band)] = np.packbits(band, axis=1)
    return film


def framed(band: np.ndarray, top: int, rows: int) -> None:
    """Draw the part of a frame that lies in a band."""
    down = np.arange(top, top + len(band))
    side = np.minimum(down, rows - 1 - down)
    band[(side >= 120) & (side < 160), 120:-120] = True
    for columns in (slice(120, 160), slice(-160, -120)):
        band[side >= 120, columns] = True


def box_of(shape: str, numbers: tuple[float, ...]) -> tuple[int, int, int, int]:
    """Return the box round a shape."""
    x, y, *more = numbers
    if shape == "ring":
        return int(x - more[0]), int(y - more[0]), int(x + more[0]) + 1, int(y + more[0]) + 1
    if shape == "bar":
        return int(x), int(y), int(more[0]), int(more[1])
    wide = more[2]
    return (
        int(min(x, more[0]) - wide), int(min(y, more[1]) - wide),
        int(max(x, more[0]) + wide) + 1, int(max(y, more[1]) + wide) + 1,
    )  # fmt: skip


def laid(
    band: np.ndarray, top: int, box: tuple[int, int, int, int], shape: str, numbers: tuple
) -> None:
    """Draw the part of a shape that lies in a band."""
    first, last = max(box[1], top), min(box[3], top + len(band))
    y, x = np.ogrid[first + 0.5 : last, box[0] + 0.5 : box[2]]
    if shape == "bar":
        inside: Any = True
    elif shape == "ring":
        away = np.hypot(x - numbers[0], y - numbers[1])
        inside = (away <= numbers[2]) & (away > numbers[3])
    else:
        inside = near_segment(x, y, *numbers)
    band[first - top : last - top, box[0] : box[2]] |= inside


def near_segment(
    x: np.ndarray, y: np.ndarray, x0: float, y0: float, x1: float, y1: float, half: float
) -> np.ndarray:
    """Return which pixels lie within half a stroke's width of its middle line."""
    dx, dy = x1 - x0, y1 - y0
    along = np.clip(((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy), 0, 1)
    return np.hypot(x - x0 - along * dx, y - y0 - along * dy) <= half


def seconds_of(function: Callable[[], Any]) -> float:
    """Return the median of the seconds that a function takes."""
    taken = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        function()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def once(function: Callable[[], Any]) -> float:
    """Return the seconds that a function takes."""
    begun = time.perf_counter()
    function()
    return time.perf_counter() - begun


def warmed() -> None:
    """Run all there is on a small film, so that the compiled code is kept."""
    from etchcalc.artwork.measure import measure
    from etchcalc.artwork.offset import grown, lost

    small = drawn(2500, 2500)
    grown(small, 14)
    measure(small)
    lost(small, 14, kept=True)


def peak_mib(undercut: int) -> float:
    """Return the most memory, MiB, that this process takes, having grown a film."""
    from etchcalc.artwork.offset import grown

    grown(drawn(), undercut)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 2**20 if sys.platform == "darwin" else peak / 2**10


def growing_seconds() -> list[float]:
    """Return the seconds of growing by each undercut."""
    from etchcalc.artwork.offset import grown

    film = drawn()
    grown(drawn(2500, 2500), 14)  # the compiled code is loaded
    return [seconds_of(functools.partial(grown, film, undercut)) for undercut in UNDERCUTS]


def scipy_seconds() -> float:
    """Return the seconds of scipy's distances, thresholded, scaled to the whole film."""
    from scipy import ndimage

    film = drawn()
    half = PART // 2 // 8 * 8
    rows = slice(ROWS // 2 - half, ROWS // 2 + half)
    first = (COLUMNS // 2 - half) // 8
    part = np.unpackbits(film.bits[rows, first : first + half // 4], axis=1).view(np.bool_)
    taken = seconds_of(lambda: ndimage.distance_transform_edt(~part) <= UNDERCUTS[0])
    return taken * COLUMNS * ROWS / part.size


def copying_seconds() -> float:
    """Return the seconds of copying a whole film, a byte a pixel, between touched arrays."""
    pixels = drawn().unpacked()
    other = np.ones_like(pixels)
    return seconds_of(lambda: np.copyto(other, pixels))


def wrong_pixels() -> int:
    """Return how many pixels differ from scipy's distances on parts of the film."""
    from scipy import ndimage

    from etchcalc.artwork.offset import grown

    film, wrong = drawn(), 0
    for undercut in UNDERCUTS:
        after = grown(film, undercut)
        for top in (0, 5003, ROWS - 1200):
            for left in (0, 64 * 100 - 33, COLUMNS - 1200):
                rows, columns = slice(top, top + 1200), slice(left, left + 1200)
                wide_rows = slice(max(top - 30, 0), top + 1230)
                wide_columns = slice(max(left - 30, 0), left + 1230)
                before = np.unpackbits(film.bits[wide_rows], axis=1, count=COLUMNS)
                away = ndimage.distance_transform_edt(before[:, wide_columns] == 0)
                down, across = top - wide_rows.start, left - wide_columns.start
                expected = (away <= undercut)[down : down + 1200, across : across + 1200]
                got = np.unpackbits(after.bits[rows], axis=1, count=COLUMNS)[:, columns]
                wrong += int((got != expected).sum())
    return wrong


def label_seconds() -> float:
    """Return the seconds in which all pieces are found."""
    from etchcalc.artwork.pieces import pieces

    film = drawn()
    pieces(drawn(1500, 1500))
    return seconds_of(lambda: pieces(film))


def measure_seconds() -> float:
    """Return the seconds in which all is measured."""
    from etchcalc.artwork.measure import measure

    film = drawn()
    measure(drawn(2500, 2500))
    return once(lambda: measure(film))


def lost_seconds() -> float:
    """Return the seconds in which all that 14 pixels lose is found, in metal and in lines."""
    from etchcalc.artwork.offset import lost

    film = drawn()
    lost(drawn(2500, 2500), 14, kept=True)
    return once(lambda: [lost(film, 14, kept=kept) for kept in (True, False)])


def main() -> None:
    """Measure and print."""
    apart = measuring.apart
    apart(warmed)
    measuring.tell("peak_mib", max(apart(functools.partial(peak_mib, by)) for by in UNDERCUTS))
    growing = apart(growing_seconds)
    for undercut, taken in zip(UNDERCUTS, growing, strict=True):
        measuring.tell(f"growing_seconds_{undercut}", taken, 3)
    measuring.tell("ratio_to_scipy", apart(scipy_seconds) / max(growing), 0)
    measuring.tell("copies", max(growing) / apart(copying_seconds), 2)
    measuring.tell("wrong_pixels", apart(wrong_pixels), 0)
    measuring.tell("label_seconds", apart(label_seconds), 2)
    measuring.tell("measure_seconds", apart(measure_seconds), 1)
    measuring.tell("lost_seconds_14", apart(lost_seconds), 1)


if __name__ == "__main__":
    main()
