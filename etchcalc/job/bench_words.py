"""What the sentences of the bench say beside figures: ways of doing it, ranges, what is not known."""

import numpy as np

from etchcalc.core.units import ONE, Quantity, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import shown
from etchcalc.job.plan import Plan
from etchcalc.process import exposure, standing


def bench_words(plan: Plan) -> dict[str, str]:
    """Return what the steps of the bench in data/steps.toml name, in the maker's units."""
    words = plan.commission.words
    both = plan.number("coated_faces") > 1
    return {
        "sheet_said": _sheet(plan),
        "faces_said": "both faces" if both else "the face alone",
        "resist_said": resist_said(plan),
        "blanks_allowed": figures(np.floor(plan.number("developer_plates")), 2, -1).removesuffix(
            ".0"
        ),
        "exposure_range": ranged(plan, "exposure_time"),
        "developing_range": ranged(plan, "developing_time"),
        "soda_range": ranged(plan, "developer_soda"),
        "stripper_range": ranged(plan, "stripper_soda"),
        **{name: shown(plan, name, count=2) for name in ("breakpoint_time", "developing_time")},
        "exposure_said": exposure_said(plan),
        "blemishes_said": blemishes_said(plan),
        "painted": words["painted"],
        "tins_said": _tins(plan),
        "stand_said": stand_said(plan),
        "tilt_limit": tilt_limit(plan),
        "cold_said": _cold(plan),
        "fill_from": "from the grooves' own section"
        if "groove_volume" in plan.book.values
        else "from open metal and depth",
        "fill_better": fill_better(plan),
        "rub_down_said": rub_down_said(plan),
        "limit_said": f"{shown(plan, 'times_over_limit', count=2)} times",
    }


def ranged(plan: Plan, name: str) -> str:
    """Return the ends of a figure's range, as words."""
    figure, kind = plan.figures(name)[name], term(name).kind
    ends = [show(end, kind, plan.commission.units) for end in (figure.low, figure.high)]
    return " to ".join(dict.fromkeys(ends))


def _sheet(plan: Plan) -> str:
    sheet = " × ".join(shown(plan, n, fixed=False) for n in ("sheet_length", "sheet_width"))
    if not np.isfinite(plan.number("sheets_to_buy")):
        return f"A sheet of {sheet} is too small for one: type the sheet you buy."
    bought, mass = shown(plan, "sheets_to_buy", fixed=False), shown(plan, "metal_bought")
    return (
        f"A sheet of {sheet} gives {shown(plan, 'blanks_per_sheet', fixed=False)}, "
        f"{shown(plan, 'saw_kerf', fixed=False)} lost to each cut: {bought} to buy, {mass}."
    )


def resist_said(plan: Plan) -> str:
    """Return whether this resist has stood up for so long before."""
    if "resist_held_time" not in plan.commission.values:
        return (
            "How long this resist stands up in the bath nobody has noted yet: note the hours and the "
            "temperature of this job for the next."
        )
    held = f"{shown(plan, 'resist_held_time')}"
    if "resist_held_temperature" in plan.commission.values:
        held += f" at {shown(plan, 'resist_held_temperature')}"
    return f"By your own note this resist has stood up for {held}."


def exposure_said(plan: Plan) -> str:
    """Return what the exposure rests on."""
    values, wedges = plan.commission.values, len(plan.commission.wedges)
    if "wanted_dose" in values:
        return f"for the dose of the resist's sheet, {shown(plan, 'wanted_dose')}, at {shown(plan, 'irradiance')}."
    wanted = shown(plan, "wanted_step", fixed=False)
    if wedges:
        count = "a wedge" if wedges == 1 else f"{wedges} wedges"
        return f"from {count} of your own: then step {wanted} holds.{_lamp_moved(plan)}"
    said = (
        f"from a test of {shown(plan, 'test_exposure')} that held step "
        f"{shown(plan, 'held_step', fixed=False)} of the wedge where step {wanted} is wanted."
    )
    said += _lamp_moved(plan)
    if "test_exposure" in plan.commission.typed:
        return said
    return f"{said} Until you have exposed a wedge of your own, that test is only the usual start."


def _lamp_moved(plan: Plan) -> str:
    """Return what moving the lamp does, with both bounds; "" where it stands as at the test."""
    now, then = plan.middle("lamp_distance"), plan.middle("test_distance")
    if now == then:
        return ""
    moved = {"lamp_distance": now, "test_distance": then}
    bulb = exposure.lamp_distance_factor(**moved, lamp_falloff=Quantity(2.0, ONE))
    return (
        f" The lamp stands otherwise than at the test, which counts "
        f"{show(plan.middle('lamp_distance_factor'), 'number')} times; a small bulb would ask "
        f"{show(bulb, 'number')} times, by the square of the distance, a wide panel or a bank of tubes "
        "close by no change: light comes to each spot from all of it."
    )


def strip_said(section: dict[str, str], units: str) -> str:
    """Return a measured groove in words: what the exposure did apart from what the etch did."""
    said = {name: term(name).read(text, units) for name, text in section.items() if text.strip()}
    found = (
        f"{section['section_film']} on the film, {section['section_line']} at the top, "
        f"{section['section_depth']} deep"
    )
    if "developed_line" not in said:
        return found
    opened, film = said["developed_line"], said["section_film"]
    growth = exposure.exposure_growth(developed_line=opened, section_film=film)
    side = exposure.strip_undercut(section_line=said["section_line"], developed_line=opened)
    wider = "wider" if growth.magnitude >= 0 else "narrower"
    return (
        f"{found}; in the resist {section['developed_line']}: the exposure made it "
        f"{show(abs(growth), 'fine', units)} {wider}, the etch took {show(side, 'fine', units)} under each edge"
    )


def blemishes_said(plan: Plan) -> str:
    """Return the retouch log as one sentence; "" where nothing is noted."""
    noted = [
        ", ".join(
            row[key].strip() for key in ("blemish", "place", "mended") if row.get(key, "").strip()
        )
        for row in plan.commission.blemishes
    ]
    return f"Noted: {'; '.join(noted)}." if noted else ""


def _tins(plan: Plan) -> str:
    count = int(plan.number("tins_to_buy"))
    return f"{count} {'tin' if count == 1 else 'tins'} of {shown(plan, 'tin_volume', fixed=False)}"


def stand_said(plan: Plan) -> str:
    """Return what the plates stand on, and whether ferric enough lies under them."""
    if plan.commission.words["plate_lies"] != "face down":
        return "Stand the plates so that no two faces touch."
    count, height = shown(plan, "spacer_count", fixed=False), plan.middle("spacer_height")
    needed = plan.middle("needed_spacer_height")
    enough = (
        f"{shown(plan, 'needed_spacer_height', toward=1)} would do for the ferric the open metal uses"
        if height >= needed
        else f"the open metal wants {shown(plan, 'needed_spacer_height', toward=1)}: stand them higher, or tilt more often"
    )
    return (
        f"{count} spacers of {shown(plan, 'spacer_height', fixed=False)} under each plate, off the artwork, "
        f"no further apart than {shown(plan, 'spacer_span', count=2, fixed=False, toward=-1)}, so that it neither sags nor rocks; {enough}."
    )


def tilt_limit(plan: Plan) -> str:
    """Return how far the tray may be tilted, and the shim for a bench that is not level."""
    shim = plan.number("shim_needed")
    level = (
        f" With a bench {shown(plan, 'bench_slope', fixed=False)} off level, lay a shim of "
        f"{shown(plan, 'shim_needed', toward=1)} under the low end."
        if shim > 1e-6
        else ""
    )
    if plan.number("greatest_tilt") <= 0:
        return (
            f"The tray is too full to be tilted: {shown(plan, 'tray_depth', fixed=False)} of wall leaves less than "
            f"{shown(plan, 'slosh_margin', fixed=False)} above the etchant.{level}"
        )
    return f"Lift one end by {shown(plan, 'greatest_tilt', count=2, fixed=False, toward=-1)} at most: then it slops over.{level}"


def water_said(plan: Plan) -> str:
    """Return how much warm water to add at each look, and what a lid keeps in."""
    if plan.number("evaporation_rate") <= 0:
        return ""
    whole = standing.lid_saving(lid_cover=Quantity(1.0, ONE), lid_loss=plan.middle("lid_loss"))
    lid = (
        f"the lid over {shown(plan, 'lid_cover', fixed=False)} of it keeps in {shown(plan, 'lid_saving', count=2)}"
        if plan.number("lid_cover") > 0
        else f"a lid over all of it would keep in {show(whole, 'share', count=2)}"
    )
    return (
        f"Add about {shown(plan, 'water_each_look', count=2)} of warm water at each look, to the mark: reckoned as pure "
        f"water, so rather less. Of what an open tray loses {lid}."
    )


def _cold(plan: Plan) -> str:
    if plan.number("soda_dropped_out") <= 0:
        return ""
    return (
        f" Left in a shop that cools to {shown(plan, 'cold_room_temperature')} it drops about "
        f"{shown(plan, 'soda_dropped_out', count=2)} of crystals: they go back when it is warm again."
    )


def fill_better(plan: Plan) -> str:
    """Return when a fill that does not shrink is the better choice; "" where paint does."""
    if plan.number("fill_coats") <= 4:
        return ""
    return (
        "So many fills of a thin paint: a wax or a two-part filler, which hardly shrinks, is the better "
        "choice for a groove so deep."
    )


def rub_down_said(plan: Plan) -> str:
    """Return whether the depth ordered counts what rubbing down takes."""
    if plan.commission.words["depth_is"] == "after rubbing down":
        return f"It is etched that much deeper for it, so that {shown(plan, 'finished_depth')} is left."
    return (
        f"Of {shown(plan, 'depth')} etched so much is lost: if the client measures the finished plate, say "
        "that the depth is meant after rubbing down."
    )
