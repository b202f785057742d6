"""The three answers: how to draw the film, what the bath is, when to lift and gauge.

A figure within a sentence stands between ** and **, for whoever sets it in
bold; `plain` takes the marks away.
"""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.units import Quantity, clock, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job.plan import Plan


@dataclass(frozen=True)
class Advice:
    """A sentence for the maker, with what it is about.

    Parameters
    ----------
    key : str
        Short name of the case.
    text : str
        What is so, and what can be done instead.
    way_out : bool
        The wish as it stands cannot be had.
    """

    key: str
    text: str
    way_out: bool = False


def plain(text: str) -> str:
    """Return a sentence without the marks of bold."""
    return text.replace("**", "")


def shown(plan: Plan, name: str, **how) -> str:
    """Return the middle of one value in the commission's units."""
    return show(plan.middle(name), term(name).kind, plan.commission.units, **how)


def film_answer(plan: Plan) -> str:
    """Return how to draw the film."""
    if plan.commission.words["shows"] == "film as it is" and "drawn_line" in plan.book.values:
        finished = plan.middle("drawn_line") + 2 * plan.middle("undercut")
        width = show(finished, "fine", plan.commission.units)
        return (
            f"The film stays as it is: its finest line, {shown(plan, 'drawn_line')}, "
            f"finishes **{width}** wide; it takes **{shown(plan, 'greatest_depth', toward=-1)}** of depth at most."
        )
    if plan.number("greatest_depth") <= 0:
        return (
            f"No film draws a line so fine that it finishes **{shown(plan, 'finest_line')}** wide."
        )
    if too_deep(plan):
        return (
            f"The line is too fine for that depth: drawn **{shown(plan, 'narrowest_film_line')}** wide "
            f"it takes **{shown(plan, 'greatest_depth', toward=-1)}** at most."
        )
    return (
        f"Draw the fine lines **{shown(plan, 'film_line')}** wide on the film; "
        f"they finish {shown(plan, 'finest_line')}."
    )


def bath_answer(plan: Plan) -> str:
    """Return what to mix, or what the bath on the shelf holds."""
    if plan.commission.words["bath_is"] != "new":
        return _used_bath_answer(plan)
    return (
        f"Weigh **{shown(plan, 'etchant_crystals')}** of crystals and make up to "
        f"**{shown(plan, 'etchant_volume')}** with {shown(plan, 'etchant_water')} of water."
    )


def _used_bath_answer(plan: Plan) -> str:
    figure = plan.figures("ferric_in_bath")["ferric_in_bath"]
    units = plan.commission.units
    low, high = (show(end, "mass", units, 2) for end in (figure.low, figure.high))
    span = f" ({low} to {high})" if low != high else ""
    return (
        f"Pour **{shown(plan, 'etchant_volume')}** of the used bath: of its ferric "
        f"**{shown(plan, 'bath_spent_share', count=2)}** is spent, and **{shown(plan, 'ferric_in_bath')}** "
        f"of crystals are left in what you pour{span}."
    )


def lift_answer(plan: Plan) -> str:
    """Return when to lift and gauge, and when it will be done."""
    low, high = _ends(plan, "etch_time")
    last = max((r.minutes for r in plan.readings), default=0.0)
    if any(r.kind == "line" and r.depth >= plan.number("depth") for r in plan.readings):
        return "**Stop**: gauged as deep as ordered or deeper."
    if last >= plan.number("gauge_time"):
        return (
            f"Lift and gauge **now**: after {clock(last)} it may be deep enough; "
            f"done at about {shown(plan, 'etch_time')} ({clock(low)} to {clock(high)})."
        )
    return (
        f"Lift and gauge after **{shown(plan, 'gauge_time', toward=-1)}**; "
        f"done at about {shown(plan, 'etch_time')} ({clock(low)} to {clock(high)})."
    )


def answers(plan: Plan) -> tuple[str, str, str]:
    """Return the three answers: film, bath, lift and gauge."""
    return film_answer(plan), bath_answer(plan), lift_answer(plan)


def _ends(plan: Plan, name: str) -> tuple[float, float]:
    figure = plan.figures(name)[name]
    return float(figure.low.magnitude), float(figure.high.magnitude)


def too_deep(plan: Plan) -> bool:
    """Tell whether the finest line cannot take the ordered depth."""
    return plan.number("depth") > plan.number("greatest_depth") + 1e-6


def tilt_reason(plan: Plan) -> str:
    """Return how often to tilt, and whether the sum or the habit decides."""
    every = f"Tilt every {shown(plan, 'tilt_interval', toward=-1)}"
    if plan.commission.words["moved"] == "rocked by motor":
        return "The motor rocks the tray; look that it does."
    if "pooling_interval" not in plan.book.values:
        return f"{every}, by habit."
    pool = shown(plan, "pooling_interval", toward=-1)
    if plan.number("pooling_interval") < plan.number("tilt_habit"):
        return f"{every}: by then spent liquor fills a third of the gap under the plate."
    return f"{every}, by habit; spent liquor takes {pool} to fill a third of the gap."


def plates_left(plan: Plan) -> str:
    """Return the rest of the bath's life as a clause."""
    count = int(np.floor(max(plan.number("plates_to_come"), 0) + 1e-9))
    return (
        f"this bath has about {figures(count, 2) if count > 99 else count} more plates like these in it, "
        f"to {shown(plan, 'practical_stop', fixed=False)} of its ferric used"
    )


def deepest_axis(plan: Plan):
    """Return the depths at which the forecast is drawn, to half as deep again as ordered."""
    most = 1.45 * plan.number("depth")
    return Quantity(np.linspace(most / 14, most, 14), term("depth").unit)
