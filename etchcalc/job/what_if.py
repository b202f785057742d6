"""What happens if one input changes: the same plan, worked again over a row of values."""

import numpy as np

from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.plan import Plan, planned


def against(plan: Plan, name: str, values, result: str) -> np.ndarray:
    """Return a result with its range over a row of values of one input.

    Parameters
    ----------
    plan : Plan
        What else is so.
    name : str
        The input that changes.
    values : array of shape (n,)
        In the metric unit of its kind.
    result : str
        Any value of the plan.

    Returns
    -------
    array of shape (3, n)
        Low, middle and high of the 90 % range, in the metric unit of the result's kind.
    """
    rows = []
    for value in values:
        text = show(term(name).quantity(float(value)), term(name).kind, count=6, fixed=False)
        other = planned(plan.commission.with_one(name, text, "metric"), plan.drawing, plan)
        found = other.book.values[result].to(term(result).unit).magnitude
        rows.append(np.broadcast_to(found, ranges.WAYS + 1))
    table = np.array(rows)
    low, high = ranges.ends(table)
    return np.array([low, table[:, 0], high])
