"""What the page of the running etch says: the large line, the groove filling, each bar's words."""

import re
from datetime import tzinfo
from html import escape

from etchcalc.core.units import clock, show
from etchcalc.job import advice, answers
from etchcalc.job import record as records
from etchcalc.job.forecast import Standing
from etchcalc.job.plan import Plan
from etchcalc.job.running import LIFTS, Event, Running, on_the_wall
from etchcalc.pages import drawings, sheet

BARS = {"tilted": "Tilted", "moved": "Moved round", "looked": "Looked", "gauged": "Gauge"}
NAMES = {
    **BARS, "gauged": "Gauged", "started": "The plates are in", "watered": "Water added",
    "out": "Plates out", "in": "Plates back in", "ended": "Taken out for good",
}  # fmt: skip
RINGS = {"lift": "Lift now", "tilt": "Tilt now", "look": "Look now"}
WARNINGS = ("too deep", "reading", "tip", "shallower")  # advice that cannot wait for the job sheet
ABOUT_BELL = (
    "<span class='etch-bell-silent'>This page is silent until it has been touched once.</span>"
    "<span class='etch-bell-sounds'>This page rings when it is time to tilt, to look, to lift.</span> "
    "Let the computer in the shop ring: a phone whose screen is dark does not."
)


def large(state: Running, now: Standing, zone: tzinfo | None = None) -> tuple[str, str]:
    """Return the large line and the one under it."""
    if state.started is None:
        return "Not started", ""
    if state.ended:
        return (
            f"Out at {on_the_wall(state.ended, now.now, zone)}",
            f"after {clock(now.minutes)} in the bath, in at {on_the_wall(state.started, now.now, zone)}",
        )
    if now.out_since:
        return (
            f"Out since {on_the_wall(now.out_since, now.now, zone)}",
            "the time stands still until you press Plates back in",
        )
    if now.enough:
        return "Deep enough", "gauged as deep as ordered: rinse, and press Taken out for good"
    if now.lift is None or now.done_from is None:
        return "Not in this bath", "at its strength and warmth that depth takes months"
    until = (
        on_the_wall(now.done_to, now.now, zone, later=True) if now.done_to else "nobody knows when"
    )
    done = f"done between {on_the_wall(now.done_from, now.now, zone)} and {until}"
    if now.lift <= now.now:
        was = on_the_wall(now.lift, now.now, zone)
        return "Lift now", f"and gauge, since {was}; {done}"
    return f"Lift at {on_the_wall(now.lift, now.now, zone)}", f"then gauge; {done}"


def before(plan: Plan) -> list[str]:
    """Return what is known before the plates are in: stretches of time, and no clock."""
    units = plan.commission.units
    water = show(plan.middle("evaporation_rate"), "evaporation", units, 2)
    return [
        answers.plain(answers.lift_answer(plan)),
        answers.tilt_reason(plan),
        f"Look every {answers.shown(plan, 'look_interval')}.",
        f"The bath at {answers.shown(plan, 'temperature')} loses about {water} of water.",
    ]


def _for(minutes: float) -> str:
    return "less than a minute" if minutes < 1 else clock(round(minutes))


def deep(plan: Plan, now: Standing) -> str:
    """Return how deep the finest line is now."""
    units = plan.commission.units
    depth, low, high = (_fine(q, units) for q in (now.depth, now.low, now.high))
    low, ordered = low.split(" ")[0], answers.shown(plan, "depth")
    return (
        f"Now about <b>{depth}</b> ({low} to {high}) of {ordered}, {_for(now.minutes)} in the bath"
    )


def _fine(depth, units: str) -> str:
    """Return a depth as a gauge could read it: less than half a hundredth of a millimetre is none."""
    return show(depth if depth.to("mm").magnitude >= 0.005 else 0 * depth, "fine", units)


def bath(plan: Plan, now: Standing) -> str:
    """Return the water to add now, the bath's temperature and its level."""
    units = plan.commission.units
    warm = show(now.temperature, "temperature", units).replace(" ", "\u00a0")
    level = show(plan.middle("etchant_level"), "size", units)
    if float(now.water.to("mL").magnitude) < 5:
        water = "No water to add yet"
    else:
        water = f"Warm water to add now: <b>{show(now.water, 'little volume', units, 2)}</b>"
    return f"{water} · bath {warm} · level {level}"


def bar(
    kind: str, plan: Plan, state: Running, now: Standing, zone: tzinfo | None = None
) -> tuple[str, bool]:
    """Return what a bar says, its name on the first line, and whether it is due."""
    last = state.last(*(LIFTS if kind == "looked" else (kind,)))
    said = f"last {on_the_wall(last.at, now.now, zone)}" if last else "not yet"
    by = {"tilted": now.tilt_by, "looked": now.look_by, "gauged": now.lift}
    due, at = False, by.get(kind)
    if kind == "moved":
        said += " · with each look"
    elif kind == "tilted" and plan.commission.words["moved"] == "rocked by motor":
        said = "the motor rocks the tray: look that it does"
    elif kind == "gauged" and now.enough:
        said = f"{said} · deep enough"
    elif at is not None:
        due = at <= now.now and not now.out_since
        said = f"{said} · {'due since' if due else 'by'} {on_the_wall(at, now.now, zone)}"
    return f"{BARS[kind]}\n{said}", due


def undo_words(last: Event | None, now: Standing, zone: tzinfo | None = None) -> str:
    """Return what the undo button says."""
    if last is None:
        return "Undo"
    return f"Undo: {NAMES[last.kind]}, {on_the_wall(last.at, now.now, zone)}"


def late(plan: Plan, now: Standing) -> str:
    """Return what a line that cleared late means and what can be done; "" where none did."""
    if now.late_depth is None:
        return ""
    units = plan.commission.units
    deep_now, short = (_fine(q, units) for q in (now.late_depth, now.late_short))
    said = next((a.text for a in advice.advice(plan) if a.key == "late"), "")
    return (
        f"<p>It is about {deep_now} deep now, {short} less than the others.</p>"
        f"<p>{escape(said)}</p>"
    )


def warned(plan: Plan, state: Running) -> str:
    """Return what the readings of this load warn of; "" where nothing."""
    if len(plan.readings) <= state.readings_before:
        return ""
    said = [a.text for a in advice.advice(plan) if a.key in WARNINGS]
    return "".join(f"<p>{escape(text)}</p>" for text in said)


def filling(plan: Plan, now: Standing) -> str:
    """Return the groove's picture, as ordered, with what is etched so far in it."""
    picture = sheet.groove_of(records.pictured(plan))
    # its finished width would stand in what is etched
    picture = re.sub(r"<text[^>]*>[^<]* finished</text>", "", picture)
    wall = re.search(r"<path class='etch-wall' d='M([^']*)'[^>]*/>", picture)
    share = now.depth / plan.middle("depth")
    share = min(float(share.to("").magnitude), 1.5)
    if wall is None or share <= 0:
        return picture
    numbers = [float(n) for n in re.findall(r"[\d.]+", wall[1])]
    # the wall begins at the groove's left edge at the face; its floor ends at the film's left edge
    middle, top, floor = drawings.GROOVE_WIDTH / 2, numbers[1], numbers[5]
    out, film = middle - numbers[0], middle - numbers[6]
    wide, foot = film + share * (out - film), top + share * (floor - top)
    bend = 0.5523  # a quarter of an ellipse, as the wall itself
    half = film + (1 - bend) * (wide - film)
    deep_there = top + bend * (foot - top)
    shape = (
        f"M{middle - wide:.1f} {top:.1f}C{middle - wide:.1f} {deep_there:.1f} {middle - half:.1f} {foot:.1f} "
        f"{middle - film:.1f} {foot:.1f}H{middle + film:.1f}C{middle + half:.1f} {foot:.1f} "
        f"{middle + wide:.1f} {deep_there:.1f} {middle + wide:.1f} {top:.1f}Z"
    )
    brown, said = drawings.colour_of("brown"), _fine(now.depth, plan.commission.units)
    etched = (
        f"<path class='etch-now' d='{shape}' fill='{brown}' fill-opacity='.3' stroke='{brown}' stroke-width='2'/>"
        f"<path d='M12 {foot:.1f}H{middle - film:.1f}' stroke='{brown}' stroke-dasharray='4 3'/>"
    )
    if middle - out > 75:
        label = f"now {said}" if middle - out > 108 else said
        etched += drawings.words_at(12, foot + 17, label, colour="on")
    return picture.replace(wall[0], wall[0] + etched, 1).replace(
        "<title>", f"<title>Now {escape(said)} deep. ", 1
    )


def as_text(plan: Plan, state: Running, now: Standing, zone: tzinfo | None = None) -> str:
    """Return the page as plain text; before the plates are in it holds no clock."""
    if state.started is None:
        return "\n".join([plan.commission.title, large(state, now)[0] + ".", *before(plan)])
    first, second = large(state, now, zone)
    lines = [plan.commission.title, f"{first}, {second}.", deep(plan, now), bath(plan, now)]
    for kind in BARS:
        lines.append(bar(kind, plan, state, now, zone)[0].replace("\n", ": "))
    return "\n".join(re.sub(r"</?b>", "", line) for line in lines)


def reading_said(reading: dict[str, str]) -> str:
    """Return a reading that was just taken, in words."""
    film = reading.get("film_under_gauge", "0 mm")
    over = "on bare metal" if film == "0 mm" else f"over {film} of film"
    return f"Taken: {reading['reading_depth']} {over} after {reading['reading_time']} in the bath."
