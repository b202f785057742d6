"""The three answers: how to draw the film, what the bath is, when to lift and gauge.

A figure within a sentence stands between ** and **, for whoever sets it in
bold; `plain` takes the marks away.
"""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.units import Quantity, clock, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
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
    if any(r.kind == "line" and r.depth >= plan.number("depth") for r in plan.trusted):
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


def range_reason(plan: Plan) -> str:
    """Return what the range of the time comes from most, as a sentence; "" where there is none."""
    ways = plan.book.values["etch_time"].to(term("etch_time").unit).magnitude
    found = ranges.shares(np.broadcast_to(ways, ranges.WAYS + 1))
    told = [(name, share) for name, share in found.items() if share > 0.1][:2]
    if not told:
        return ""
    words = [
        f"{SAID.get(name, term(name).words)} ({figures(100 * share, 2)} %)" for name, share in told
    ]
    more = "gauge early: each reading narrows it" if told[0][0] == "rate_correction" else (
        "a better thermometer narrows it" if told[0][0] == "temperature" else "measure that better first"
    )  # fmt: skip
    return f"The range of the time comes mostly from {' and '.join(words)}; {more}."


def strip_guide(plan: Plan) -> list[str]:
    """Return how to take a test strip in the first half hour of a new shop, with its figures."""
    units = plan.commission.units
    rate, field = (plan.middle(n) for n in ("fresh_rate", "field_fresh_rate"))
    times = [term("reading_time").quantity(float(m)) for m in (15, 30)]
    deep = [[show(speed * time, "fine", units) for time in times] for speed in (rate, field)]
    film = (
        shown(plan, "film_line")
        if plan.number("film_line") > 0
        else shown(plan, "narrowest_film_line")
    )
    return [
        f"Cut a strip of the job's own sheet; coat, expose and develop on it three lines of {film} on the film, "
        "and one field as wide as your gauge's tip and more. Measure the lines on the film with a glass, and again in the resist once it is developed.",
        "Stop out its back and edges; lay it in the job's own bath, as the plates will lie.",
        f"Lift and gauge after 15 min and after 30 min: by this plan the line is then {deep[0][0]} and {deep[0][1]} deep, "
        f"the field {deep[1][0]} and {deep[1][1]}; to half or twice that is usual before any reading.",
        "Enter each reading here, said on line or field. A tip wider than the line does not reach its floor: gauge the field.",
        "Strip it, and with a glass measure how wide the line has become at its top, beside its width on the film and its "
        "depth: enter that as a measured groove, for the etch factor.",
    ]


SAID = {
    "rate_correction": "the rate itself",
    "temperature": "the bath's temperature",
    "etch_factor_correction": "the etch factor",
    "spent_place": "how far the bath is spent",
}


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
