"""What to know of resist, tray and spacers before the plates go in."""

from etchcalc.job.answers import Advice, shown
from etchcalc.job.plan import Plan
from etchcalc.job.schema import TRAYS


def _resist_stands(plan: Plan) -> Advice | None:
    held = plan.commission.values.get("resist_held_time")
    if held is None:
        return None
    late, hot = plan.figures("etch_time")["etch_time"].high, plan.middle("temperature")
    warmest = plan.commission.values.get("resist_held_temperature", hot)
    if late <= held and hot <= warmest:
        return None
    what = f"for {shown(plan, 'resist_held_time')}"
    if "resist_held_temperature" in plan.commission.values:
        what += f" at {shown(plan, 'resist_held_temperature')}"
    return Advice(
        "resist",
        f"Your note says that this resist has stood up {what}; this etch may take longer or is warmer. Try a strip "
        "first, look at the edges of the resist at each lift, or etch on two days.",
    )


def _tray_of(plan: Plan) -> Advice | None:
    material = plan.commission.words["tray_material"]
    if material.lower() in (tray.lower() for tray in TRAYS):
        return None
    return Advice(
        "tray_material",
        f"A tray of {material} is not known here to stand a warm bath: fill it with cold, then with warm water first, "
        "for as long as the etch, and look for cracks and soft corners. Chipped enamel counts as metal.",
    )


def _spacers_low(plan: Plan) -> Advice | None:
    if plan.commission.words["plate_lies"] != "face down":
        return None
    height, needed = plan.middle("spacer_height"), plan.middle("needed_spacer_height")
    if height >= needed:
        return None
    return Advice(
        "spacers",
        f"Under spacers of {shown(plan, 'spacer_height', fixed=False)} lies too little ferric for so much open metal: "
        f"use {shown(plan, 'needed_spacer_height', toward=1)}, or fewer plates at once.",
        True,
    )


RULES = (_resist_stands, _tray_of, _spacers_low)
