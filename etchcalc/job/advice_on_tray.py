"""What to know of the tray, its level and its heat, and the ways out."""

import numpy as np

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import show
from etchcalc.job.answers import Advice, shown, tilt_reason
from etchcalc.job.plan import Plan
from etchcalc.process import heating


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


def _heater_too_small(plan: Plan) -> Advice | None:
    if "warm_up_time" not in plan.book.values or np.isfinite(plan.number("warm_up_time")):
        return None
    inputs = {name: plan.middle(name) for name in REGISTERED["settling_temperature"].inputs}
    settles = show(heating.settling_temperature(**inputs), "temperature", plan.commission.units)
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


def _tilting(plan: Plan) -> Advice | None:
    if plan.number("tilt_interval") >= plan.number("tilt_habit") - 1e-9:
        return None
    return Advice("tilt", tilt_reason(plan))


def _hot(plan: Plan) -> Advice | None:
    if plan.number("temperature") <= 50:
        return None
    return Advice(
        "hot",
        "Above 50 °C the bath gives off acid fumes and the resist softens: ventilate, or go cooler.",
    )


RULES = (
    _tray_too_small,
    _heater_bared,
    _heater_too_small,
    _water,
    _tilting,
    _hot,
)
