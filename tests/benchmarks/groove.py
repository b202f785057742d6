"""How fast the shape of a groove is worked out, and how near to what is known exactly.

    python tests/benchmarks/groove.py

Prints the median seconds of a coarse groove (for a slider) and of a fine one (a grid
of 5 µm) as the page gets them, from the process that works them out; the errors, as
shares, of an open face in still etchant and of the flux to a strip under a film; and
the order in which they fall with the grid, the lower of the two.
"""

import math
import statistics
import sys
import time
from pathlib import Path

import measuring

from etchcalc.core.units import Quantity, read

sys.path.append(str(Path(__file__).parents[1] / "process"))
RUNS = 7
GROOVE = {
    "film_line": read("0.2 mm"),
    "depth": read("0.3 mm"),
    "transport_velocity": Quantity(1.25e-6, "m/s"),
    "reaction_velocity": Quantity(3e-5, "m/s"),
    "ferric_diffusivity": Quantity(1.25e-10, "m^2/s"),
    "ferric_concentration": Quantity(2250.0, "mol/m^3"),
    "ferric_demand": Quantity(282000.0, "mol/m^3"),
    "turning": Quantity(0.0),  # the slower case
    "shown": (read("0.1 mm"), read("0.2 mm"), read("0.3 mm")),
}
DEMAND, WIDTHS = 125.0, (0.5, 2.0)


def seconds(cells: int) -> float:
    """Return the median of the seconds that a groove takes, compiled code warm."""
    from etchcalc.job.groove_shape import Shaper

    shaper, taken = Shaper(), []
    for _ in range(RUNS + 1):
        begun = time.perf_counter()
        shaper.groove(**GROOVE, cells=cells)
        taken.append(time.perf_counter() - begun)
    shaper.close()
    return statistics.median(taken[1:])


def coarse_seconds() -> float:
    """Return the seconds for a slider."""
    from etchcalc.process.groove import COARSE

    return seconds(COARSE)


def fine_seconds() -> float:
    """Return the seconds on a grid of 5 µm."""
    from etchcalc.process.groove import FINE

    return seconds(FINE)


def exact_errors() -> list[float]:
    """Return the error of an open face on two grids, the finer last."""
    import planar_and_strip

    return [abs(planar_and_strip.planar_error(DEMAND, cells)[0]) for cells in (30, 60)]


def strip_errors() -> list[float]:
    """Return the worst error of a strip on two grids, the finer last."""
    import planar_and_strip

    return [
        max(abs(planar_and_strip.strip_error(width, cells)) for width in WIDTHS)
        for cells in (20, 40)
    ]


def main() -> None:
    """Measure and print."""
    exact, strip = measuring.apart(exact_errors), measuring.apart(strip_errors)
    measuring.tell("coarse_seconds", measuring.apart(coarse_seconds), 3)
    measuring.tell("fine_seconds", measuring.apart(fine_seconds), 3)
    measuring.tell("exact_error", exact[1], 4)
    measuring.tell("strip_flux_error", strip[1], 4)
    measuring.tell("observed_order", min(math.log2(a / b) for a, b in (exact, strip)), 2)


if __name__ == "__main__":
    main()
