"""How often the stated 90 % range of the stop time holds, on jobs simulated with a drift.

    python tests/benchmarks/forecast.py

Prints coverage before any reading, after one, two and three, for a drift of
5 % (and 10 %, and with every true rate half as fast again), and how much three
readings narrow the range. The truth drifts through the job in a way that the
model does not know exactly; the gauge errs by 0.02 mm.
"""

import numpy as np

from etchcalc.job.calibrate import Reading, learnt
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned

CASES = 2000
GAUGE = 0.02
DEPTH = 0.4
COMMISSION = """
[plate]
plate_width = "120 mm"
plate_height = "45 mm"
metal = "CW508L"
[lines]
finest_line = "0.6 mm"
depth = "0.4 mm"
"""


def model():
    """Return minutes to depths (mm) of the plan's own middle, as an array function."""
    plan = planned(parsed(COMMISSION))
    depths = np.geomspace(1e-4, 300 * DEPTH, 600)
    from etchcalc.core.units import Quantity

    minutes = plan.depth_against_time(Quantity(depths, "mm"))[1]
    return lambda deep, wide: np.interp(deep, depths, minutes)


def one_job(rng, minutes_to, drift, faster):
    """Return the true stop and three readings of one job whose rate drifts."""
    grid = np.geomspace(1e-3, 2 * DEPTH, 400)
    model_minutes = minutes_to(grid, False)
    a = rng.normal(0, 0.45) + np.log(faster)
    b = rng.normal(0, drift)
    # the model's minutes run faster by a, drifting by b on the way to the stop, bent a little
    share = grid / DEPTH
    true = model_minutes / np.exp(a + b * share ** rng.uniform(0.7, 1.4) / 2)
    stop = float(np.interp(DEPTH, grid, true))
    at = np.array([0.25, 0.5, 0.75]) * stop
    deep = np.interp(at, true, grid) + rng.normal(0, GAUGE, 3)
    return stop, [Reading(float(t), max(float(d), 0.005)) for t, d in zip(at, deep, strict=True)]


def run(drift: float, faster: float = 1.0, seed: int = 20260301):
    """Return coverage after 0 to 3 readings and the median width after 3 over before."""
    rng = np.random.default_rng(seed)
    minutes_to = model()
    middle = float(minutes_to(np.array([DEPTH]), False)[0])
    hits, widths = dict.fromkeys(range(4), 0), {count: [] for count in range(4)}
    for _ in range(CASES):
        stop, readings = one_job(rng, minutes_to, drift, faster)
        for count in hits:
            told = learnt(
                readings[:count], minutes_to, DEPTH, prior=0.45, drift=0.05, gauge_error=GAUGE
            )
            reach = np.exp(1.645 * told.spread)
            hits[count] += (
                middle / told.correction / reach <= stop <= middle / told.correction * reach
            )
            widths[count].append(reach - 1 / reach)
    ratio = float(np.median(widths[3]) / np.median(widths[0]))
    return {n: h / CASES for n, h in hits.items()}, ratio


def main() -> None:
    """Print every figure, one a line."""
    words = ("before", "after_one", "after_two", "after_three")
    for suffix, drift, faster in (
        ("", 0.05, 1.0),
        ("_drift_10", 0.10, 1.0),
        ("_rate_150", 0.05, 1.5),
    ):
        coverage, ratio = run(drift, faster)
        for count, share in coverage.items():
            print(f"coverage_{words[count]}{suffix}: {share:.3f}")
        print(f"width_ratio_three{suffix}: {ratio:.3f}")


if __name__ == "__main__":
    main()
