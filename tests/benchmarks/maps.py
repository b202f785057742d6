"""A map of 10,000 settings in one call, against the same formulas worked a setting at a time.

    python tests/benchmarks/maps.py

``map_ms``
    Median of the time to the map of the etching time over temperature and strength.
``ratio_to_scalar``
    How often faster that is than the same formulas over single settings, a sample of them
    timed in the same run and scaled to all.
``survives_ms``
    The map of how much deeper the finest line could go.
``worst_difference``
    Between the map and the sample, as a share.
``plot_ms``
    The map drawn as SVG.
"""

import statistics
import time

import numpy as np

from etchcalc.core.units import Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import maps
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned
from etchcalc.pages.map_figures import map_plot

COMMISSION = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "CW508L"
[lines]
finest_line = "0.4 mm"
depth = "0.15 mm"
"""
SAMPLE = 300
RUNS = 7


def seconds_of(function):
    """Return the median of the seconds that a function takes."""
    taken = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        function()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def main() -> None:
    """Print every figure, one a line."""
    plan = planned(parsed(COMMISSION))
    found = maps.mapped(plan, "temperature", "strength", "etch_time")
    whole = seconds_of(lambda: maps.mapped(plan, "temperature", "strength", "etch_time"))
    book = plan.book.middled()
    places = np.random.RandomState(3).choice(found.values.size, SAMPLE, replace=False)
    rows, columns = np.unravel_index(places, found.values.shape)
    single, begun = [], time.perf_counter()
    for row, column in zip(rows, columns, strict=True):
        said = {
            "temperature": Quantity(float(found.xs[column]), term("temperature").unit),
            "strength": Quantity(float(found.ys[row]), term("strength").unit),
        }
        minutes = book.reworked(said, ["etch_time"])["etch_time"]
        single.append(float(minutes.to(term("etch_time").unit).magnitude))
    scalar = (time.perf_counter() - begun) / SAMPLE * found.values.size
    away = np.abs(found.values[rows, columns] / np.array(single) - 1).max()
    print(f"map_ms: {1000 * whole:.1f}")
    print(f"ratio_to_scalar: {scalar / whole:.0f}")
    print(f"survives_ms: {1000 * seconds_of(lambda: maps.survives(plan)):.1f}")
    print(f"worst_difference: {away:.1e}")
    print(f"plot_ms: {1000 * seconds_of(lambda: map_plot(found, plan)):.0f}")


if __name__ == "__main__":
    main()
