"""What to know of the bath, its strength and its life, and the ways out."""

from etchcalc.core.units import figures, show
from etchcalc.job.answers import Advice, plates_left, shown
from etchcalc.job.plan import Plan
from etchcalc.job.steps import second_fact
from etchcalc.process import hydrometer, mixture, rates


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
    # a log is kept to three figures, and a hair of the tray's level is no matter
    if not 0 < has.magnitude < 0.99 * takes.to(has.units).magnitude:
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


def _plates_left(plan: Plan) -> Advice | None:
    if plan.number("spent_share") > plan.number("practical_stop"):
        return None
    return Advice("life", f"Afterwards {plates_left(plan)}.")


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
        *names, last = (SALTS[salt] for salt in outside)
        salts = f"{', '.join(names)} and {last}" if names else last
        told.append(
            f"the bath lies beyond what was measured of the density and viscosity of {salts}"
        )
    coldest, hottest = rates.KINETIC_RANGE
    if not coldest - 0.01 <= celsius <= hottest + 0.01:
        told.append("the reaction was measured from 30 to 50 °C only")
    if not told:
        return None
    return Advice(
        "tables", f"At {shown(plan, 'temperature')} {' and '.join(told)}: the range allows for it."
    )


RULES = (
    _bath_too_weak,
    _bath_too_little,
    _one_reading,
    _trial,
    _slowed,
    _plates_left,
    _beyond_tables,
)
