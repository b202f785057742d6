"""What the maker should read with the plan: the ways out where a wish cannot be had, and what to know."""

from dataclasses import dataclass

import numpy as np

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import figures, show
from etchcalc.job.answers import plates_left, shown, too_deep
from etchcalc.job.book import use
from etchcalc.job.plan import Plan
from etchcalc.job.steps import second_fact
from etchcalc.process import heating, hydrometer, mixture, rates


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
    before = plan.number("bath_spent_share")
    if before >= stop:
        limit = shown(plan, "practical_stop", fixed=False)
        text = f"This bath is past its stop: {shown(plan, 'bath_spent_share', count=2)} of its ferric is spent, and a bath is refreshed at {limit}. Refresh it first; until then everything takes longer than this range says."
        return Advice("bath", text, True)
    count = plan.number("plate_count")
    plates = int(count * (stop - before) / (share - before) + 1e-9)
    first = f"This bath does {plates} of {count:g} plates, then refresh it" if plates else (
        "This bath does not do one plate before it is spent"
    )  # fmt: skip
    needed = plan.middle("whole_bath") * ((share - before) / (stop - before))
    volume = show(needed, "volume", plan.commission.units, toward=1)
    return Advice("bath", f"{first}; or pour {volume} of the same strength for all of them.", True)


def _bath_too_little(plan: Plan) -> Advice | None:
    has, takes = plan.middle("bath_volume"), plan.middle("etchant_volume")
    if not 0 < has.magnitude < takes.magnitude:
        return None
    units = plan.commission.units
    return Advice(
        "volume",
        f"The tray takes {show(takes, 'volume', units)} and this bath has {show(has, 'volume', units)}: "
        f"make up {show(takes - has, 'volume', units, toward=1)} more of the same strength, or use a "
        "smaller tray; do not switch the heater on before it is covered.",
        True,
    )


def _one_reading(plan: Plan) -> Advice | None:
    """Tell what a hydrometer alone allows: it reads metal as well as ferric."""
    if plan.commission.words["bath_is"] != "found on the shelf" or second_fact(plan.commission):
        return None
    inputs = {
        name: plan.middle(name)
        for name in ("corrected_gravity", "copper_atom_share", "mixing_temperature")
    }
    ends = [
        show(hydrometer.strength_when_fresh(bath_spent_share=share, **inputs), "strength", plan.commission.units, 2)
        for share in (hydrometer.MOST_SPENT, 0 * hydrometer.MOST_SPENT)
    ]  # fmt: skip
    return Advice(
        "hydrometer",
        f"A hydrometer reads dissolved metal as well as ferric: this reading is anything from {ends[0]} "
        f"seven eighths spent to {ends[1]} unused. Say a second fact: the metal etched in it so far, a "
        "test strip beside the same strip in a fresh bath, or the bottle trial (weigh clean copper into "
        "a little of it, warm, overnight, and weigh it again).",
    )


def _trial(plan: Plan) -> Advice | None:
    if second_fact(plan.commission) != "copper_lost" or "strength_left" not in plan.book.uses:
        return None
    return Advice(
        "trial",
        f"The bottle trial says that at most {shown(plan, 'strength_left')} of crystals are left: "
        "dissolved copper helps to eat the copper weighed in, so the truth is somewhat less.",
    )


def _slowed(plan: Plan) -> Advice | None:
    if plan.number("bath_spent_share") < 2:
        return None
    left = 100 - plan.number("bath_spent_share")
    return Advice(
        "slow",
        f"It etches at about {figures(left, 2)} % of its rate when fresh (taken to fall with the ferric left).",
    )


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


SALTS = {"FeCl3": "ferric chloride", "FeCl2": "ferrous chloride", "CuCl2": "copper chloride",
         "ZnCl2": "zinc chloride"}  # fmt: skip


def _beyond_tables(plan: Plan) -> Advice | None:
    celsius = plan.number("temperature")
    spent = plan.number("bath_spent_share") / 100
    w, copper = (plan.number(n) / 100 for n in ("etchant_mass_fraction", "copper_atom_share"))
    fractions = mixture.used(w, spent, copper)
    told = []
    outside = dict.fromkeys(
        salt
        for what in ("density", "viscosity")
        for salt in hydrometer.outside_fits(what, fractions, celsius)
    )
    if outside:
        salts = " and ".join(SALTS[salt] for salt in outside)
        told.append(f"density and viscosity are carried beyond their data (of {salts})")
    coldest, hottest = rates.KINETIC_RANGE
    if not coldest - 0.01 <= celsius <= hottest + 0.01:
        told.append("the reaction was measured from 30 to 50 °C only")
    if not told:
        return None
    return Advice(
        "tables", f"At {shown(plan, 'temperature')} {' and '.join(told)}: the range allows for it."
    )


def _heater_too_small(plan: Plan) -> Advice | None:
    if "warm_up_time" not in plan.book.values or np.isfinite(plan.number("warm_up_time")):
        return None
    used = use("settling_temperature")
    inputs = {k: plan.middle(n) for k, n in zip(
        REGISTERED[used.formula].inputs, used.sources, strict=True)}  # fmt: skip
    settles = show(heating.settling_temperature(**inputs), "temperature", plan.commission.units, 2)
    wanted = shown(plan, "temperature")
    what = (
        f"A heater of {shown(plan, 'heater_rating')} never warms this tray to {wanted}: left on, it settles at about {settles}"
        if plan.number("heater_rating") > 0
        else f"Without a heater this tray settles at about {settles}, not at {wanted}"
    )
    return Advice(
        "heater",
        f"{what}. Use one of {shown(plan, 'heater_power', toward=1)}, lay a lid over the tray, or plan for the colder bath.",
        True,
    )


def _water(plan: Plan) -> Advice | None:
    bared, done = plan.number("heater_bared_time"), plan.number("etch_time")
    if plan.number("heater_rating") <= 0 or plan.number("heater_cover") <= 0 or bared > 1.5 * done:
        return None
    text = (
        f"Evaporation would bare the heater after about {shown(plan, 'heater_bared_time', toward=-1)}: make good "
        f"{shown(plan, 'evaporation_rate')} with water, at each look."
        if plan.number("etchant_level") > plan.number("heater_cover") + 0.5
        else f"The etchant just covers the heater: pour a little more, and make good {shown(plan, 'evaporation_rate')} with water."
    )
    return Advice("water", text)


def _second(plan: Plan) -> Advice | None:
    if "second_time" not in plan.book.values:
        return None
    first, second, width, drawn = (
        shown(plan, n) for n in ("etch_time", "second_time", "second_line", "second_film_line")
    )
    drawn = f"draw those of {width} on the film {drawn} wide" if plan.number("second_film_line") > 0 else (
        f"no film draws those of {width} so fine"
    )  # fmt: skip
    return Advice(
        "second",
        f"Two depths: stop the fine lines out at about {first}, put the plate back, and the deeper lines are "
        f"{shown(plan, 'second_depth')} deep at about {second} in the bath in all; {drawn}.",
        plan.number("second_film_line") <= 0,
    )


def _tilting(plan: Plan) -> Advice | None:
    if "pooling_interval" not in plan.book.values:
        return None
    pool = shown(plan, "pooling_interval", toward=-1)
    if plan.number("pooling_interval") < plan.number("tilt_habit"):
        return Advice(
            "tilt",
            f"Tilt every {pool}: by then spent liquor fills a third of the gap under the plate.",
        )
    return None


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


_RULES = (
    _too_fine,
    _tray_too_small,
    _bath_too_weak,
    _bath_too_little,
    _one_reading,
    _trial,
    _slowed,
    _heater_too_small,
    _water,
    _second,
    _tilting,
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
