"""What a plan says in words: the three answers, and the ways out where a wish cannot be had.

A figure within a sentence stands between ** and **, for whoever sets it in
bold; `plain` takes the marks away.
"""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.units import Quantity, clock, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job.plan import Plan, readings
from etchcalc.process import mixture, rates


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
    """Return what to mix."""
    return (
        f"Weigh **{shown(plan, 'etchant_crystals')}** of crystals and make up to "
        f"**{shown(plan, 'etchant_volume')}** with {shown(plan, 'etchant_water')} of water."
    )


def lift_answer(plan: Plan) -> str:
    """Return when to lift and gauge, and when it will be done."""
    low, high = _ends(plan, "etch_time")
    last = max((r.minutes for r in readings(plan.commission)), default=0.0)
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


def advice(plan: Plan) -> list[Advice]:
    """Return every sentence that the maker should read with the plan, ways out first."""
    found = [rule(plan) for rule in _RULES]
    said = [a for a in found if a is not None]
    return sorted(said, key=lambda a: not a.way_out)


def _too_fine(plan: Plan) -> Advice | None:
    if not too_deep(plan):
        return None
    depth = shown(plan, "depth")
    at_most = shown(plan, "greatest_depth", toward=-1)
    if plan.number("greatest_depth") <= 0:
        return Advice(
            "too fine",
            f"No depth can be had: the film cannot draw this line. Ask for lines of "
            f"{shown(plan, 'narrowest_finished_line', toward=1)} or more at {depth}.",
            True,
        )
    text = (
        f"At {depth} the finest line closes on the film. Etch to {at_most}, or draw no line finer than "
        f"{shown(plan, 'narrowest_finished_line', toward=1)} and keep the depth."
    )
    if "drawn_line" in plan.book.values:
        text = _film_spreads(plan, depth, at_most)
    return Advice("too fine", text, True)


def _film_spreads(plan: Plan, depth: str, at_most: str) -> str:
    """Return the way out where a film that stays as it is cannot take the depth."""
    if plan.number("land_limit") < plan.number("line_limit"):
        return (
            f"At {depth} the resist over the narrowest land lets go. Etch to {at_most}, or have the "
            "film drawn again with more land."
        )
    if plan.number("film_line") < plan.number("narrowest_film_line"):
        return (
            f"At {depth} this film spreads too far. Etch to {at_most}, or let the finest line finish "
            f"{show(plan.middle('drawn_line') + 2 * plan.middle('undercut'), 'fine', plan.commission.units)}."
        )
    return (
        f"At {depth} this film spreads too far. Etch to {at_most}, or have the film drawn again, its "
        f"finest line {shown(plan, 'film_line')} wide."
    )


def _tray_too_small(plan: Plan) -> Advice | None:
    count, fits = int(plan.number("plate_count")), plan.plates_at_once
    if fits >= count:
        return None
    if fits == 0:
        gap = 2 * plan.middle("plate_gap")
        units = plan.commission.units
        sides = [show(side + gap, "size", units, fixed=False, toward=1) for side in plan.blank_size]
        return Advice(
            "tray",
            f"No plate fits this tray with its margin: use a tray of at least {sides[0]} by {sides[1]} "
            "inside, or leave less waste margin.",
            True,
        )
    batches = -(-count // fits)
    return Advice(
        "tray",
        f"The tray holds {fits} of {count} at once: etch {batches} batches in this bath, each as long, "
        "the later ones a little longer.",
        True,
    )


def _bath_too_weak(plan: Plan) -> Advice | None:
    share, stop = plan.number("spent_share"), plan.number("practical_stop")
    if share <= stop:
        return None
    count = plan.number("plate_count")
    plates = int(count * stop / share + 1e-9)
    needed = plan.middle("etchant_volume") * (share / stop)
    volume = show(needed, "volume", plan.commission.units, toward=1)
    first = f"This bath does {plates} of {count:g} plates, then refresh it" if plates else (
        "This bath does not do one plate before it is spent"
    )  # fmt: skip
    return Advice("bath", f"{first}; or pour {volume} of the same strength for all of them.", True)


def _heater_bared(plan: Plan) -> Advice | None:
    level, asked = plan.middle("etchant_level"), plan.middle("liquid_depth")
    if level <= asked:
        return None
    area = plan.middle("tray_length") * plan.middle("tray_width")
    more = show((level - asked) * area, "volume", plan.commission.units, toward=1)
    what = "cover the heater" if level > plan.middle("spacer_height") + plan.middle("touching_margin") else (
        "touch the under face"
    )  # fmt: skip
    return Advice(
        "level",
        f"{shown(plan, 'liquid_depth')} of etchant does not {what}: pour {more} more, to "
        f"{shown(plan, 'etchant_level')}; it is counted in here.",
        True,
    )


def _suspect(plan: Plan) -> Advice | None:
    if plan.told is None or not plan.told.suspect:
        return None
    which = " and ".join(str(i + 1) for i in plan.told.suspect)
    return Advice(
        "reading",
        f"Gauge reading {which} does not fit the others (a bubble, a blocked line, a slip): it is "
        "left out until more readings bear it out.",
    )


def _line_differs(plan: Plan) -> Advice | None:
    if (
        plan.drawing is None
        or plan.drawing.narrowest_line is None
        or "drawn_line" in plan.book.values
    ):
        return None
    drawn, asked = plan.number("narrowest_line"), plan.number("finest_line")
    if abs(drawn - asked) < 0.03:
        return None
    return Advice(
        "line",
        f"The narrowest line of the drawing is {shown(plan, 'narrowest_line')}, and you asked for "
        f"{shown(plan, 'finest_line')}: the sums use what you asked for.",
    )


def _hairs(plan: Plan) -> Advice | None:
    if plan.drawing is None or not plan.drawing.hairs:
        return None
    places = " and ".join(f"({x:.1f}, {y:.1f})" for x, y in plan.drawing.hairs)
    return Advice(
        "hairs",
        "The drawing has something too thin for any film, counted from the top left in mm at "
        f"{places}: look there.",
    )


def _nothing_open(plan: Plan) -> Advice | None:
    if plan.number("open_area") > 0:
        return None
    return Advice(
        "open", "Nothing of the plate is open to the etchant: is black etched or kept?", True
    )


def _through(plan: Plan) -> Advice | None:
    if plan.number("depth") <= plan.number("plate_thickness") / 2:
        return None
    return Advice(
        "thin", "The groove goes more than half through the sheet: it may bend or break through."
    )


def _fields_lag(plan: Plan) -> Advice | None:
    if plan.number("depth") - plan.number("field_depth") < 0.01:
        return None
    return Advice(
        "fields",
        f"Fine lines run ahead: when they are done, wide fields are about {shown(plan, 'field_depth')} deep.",
    )


def _beyond_tables(plan: Plan) -> Advice | None:
    celsius = plan.number("temperature")
    fraction = plan.number("etchant_mass_fraction") / 100
    told = []
    if mixture.outside_fit("FeCl3", "viscosity", fraction, celsius):
        told.append("density and viscosity are carried beyond their data (to 35 °C)")
    coldest, hottest = rates.KINETIC_RANGE
    if not coldest - 0.01 <= celsius <= hottest + 0.01:
        told.append("the reaction was measured from 30 to 50 °C only")
    if not told:
        return None
    return Advice(
        "tables", f"At {shown(plan, 'temperature')} {' and '.join(told)}: the range allows for it."
    )


def _hot(plan: Plan) -> Advice | None:
    if plan.number("temperature") <= 50:
        return None
    return Advice(
        "hot",
        "Above 50 °C the bath gives off acid fumes and the resist softens: ventilate, or go cooler.",
    )


def _plates_left(plan: Plan) -> Advice | None:
    if plan.number("spent_share") > plan.number("practical_stop"):
        return None
    return Advice("life", f"Afterwards {plates_left(plan)}.")


def plates_left(plan: Plan) -> str:
    """Return the rest of the bath's life as a clause."""
    count = int(np.floor(max(plan.number("plates_to_come"), 0) + 1e-9))
    return (
        f"this bath has about {figures(count, 2) if count > 99 else count} more plates like these in it, "
        f"to {shown(plan, 'practical_stop', fixed=False)} of its ferric used"
    )


_RULES = (
    _too_fine,
    _tray_too_small,
    _bath_too_weak,
    _heater_bared,
    _nothing_open,
    _suspect,
    _line_differs,
    _hairs,
    _through,
    _hot,
    _fields_lag,
    _plates_left,
    _beyond_tables,
)


def placeholders(plan: Plan) -> dict[str, str]:
    """Return what the sentences of data/steps.toml may name, in the maker's units."""
    units = plan.commission.units
    words = {name: shown(plan, name, fixed=_fixed(name)) for name in plan.book.values}
    sides = [show(side, "size", units, fixed=False) for side in plan.blank_size]
    film, bath, lift = (plain(answer) for answer in answers(plan))
    return words | {
        "answer_film": film,
        "answer_bath": bath,
        "answer_lift": lift,
        "blank_size": f"{sides[0]} × {sides[1]}",
        "plate_size": f"{words['plate_width']} × {words['plate_height']}",
        "plates_left": plates_left(plan) + ".",
    }


def _fixed(name: str) -> bool:
    """Sizes that were said stand as said; times and fine lengths in the trade's decimals."""
    return term(name).kind not in ("size", "number", "share")


def deepest_axis(plan: Plan):
    """Return the depths at which the forecast is drawn, to half as deep again as ordered."""
    most = 1.45 * plan.number("depth")
    return Quantity(np.linspace(most / 14, most, 14), term("depth").unit)
