"""What happens if one input changes, and what it would take: the same plan, worked again."""

from contextlib import suppress
from itertools import pairwise

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import clock, show
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.plan import Plan, planned

STEPS = 24  # of an input's reach, between which an answer is looked for


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
    rows = [
        np.broadcast_to(
            _with(plan, name, value).book.values[result].to(term(result).unit).magnitude,
            ranges.WAYS + 1,
        )
        for value in values
    ]
    table = np.array(rows)
    low, high = ranges.ends(table)
    return np.array([low, table[:, 0], high])


def taking(plan: Plan, name: str, result: str, wanted: float) -> list[float]:
    """Return the values of an input, within its slider's reach, at which a result is as wanted.

    Parameters
    ----------
    plan : Plan
        What else is so.
    name : str
        An input with a reach.
    result : str
        Any value of the plan; its middle counts.
    wanted : float
        In the metric unit of the result's kind.

    Returns
    -------
    list of float
        In the metric unit of the input's kind, the least first; none where there is none. Two
        that lie within one of `STEPS` parts of the reach are not told apart.
    """
    low, high = term(name).reach or (term(name).low, term(name).high)

    def off(value: float) -> float:
        try:
            found = _with(plan, name, value).number(result) - wanted
        except BadInput:  # not to be had at all, such as a groove through the plate
            return np.nan
        return float(found)

    places = np.linspace(low, high, STEPS + 1)
    offs = [off(place) for place in places]
    found = [float(place) for place, so in zip(places, offs, strict=True) if so == 0]
    for (one, before), (two, after) in pairwise(zip(places, offs, strict=True)):
        if np.isfinite([before, after]).all() and before * after < 0:
            found.append(_between(off, float(one), float(two), before))
    return sorted(found)


def _between(off, one: float, two: float, before: float) -> float:
    """Return where a function that changes its sign between two places is nothing: by halving."""
    for _ in range(18):  # a quarter of a millionth of the way: finer than anything is shown
        middle = (one + two) / 2
        here = off(middle)
        if not np.isfinite(here) or here * before <= 0:
            two = middle
        else:
            one = middle
    return (one + two) / 2


def in_time(plan: Plan, name: str, minutes: float) -> str:
    """Return in a sentence which value of an input has the finest line done in so many minutes."""
    units, entry = plan.commission.units, term(name)

    def said(value: float) -> str:
        return show(entry.quantity(value), entry.kind, units, fixed=False)

    found, wish = taking(plan, name, "etch_time", minutes), clock(minutes)
    if len(found) == 1:
        return (
            f"Done in {wish}, in the middle of the range: a {entry.words} of **{said(found[0])}**."
        )
    if found:
        several = " or ".join(f"**{said(value)}**" for value in found)
        return f"Done in {wish}: there are {len(found)} answers, a {entry.words} of {several}."
    low, high = entry.reach or (entry.low, entry.high)
    ends = []
    for value in (low, high):
        with suppress(BadInput):
            time = _with(plan, name, value).number("etch_time")
            ends.append(f"{clock(time) if np.isfinite(time) else 'never'} at {said(value)}")
    return (
        f"No {entry.words} has it done in {wish}: {' and '.join(ends)}. Change something else too."
    )


def _with(plan: Plan, name: str, value: float) -> Plan:
    text = show(term(name).quantity(float(value)), term(name).kind, count=8, fixed=False)
    return planned(plan.commission.with_one(name, text, "metric"), plan.drawing, plan)
