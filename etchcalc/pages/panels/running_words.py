"""What the page of the running etch says: the large line, the groove filling, each bar's words."""

import re
from dataclasses import replace
from datetime import tzinfo
from html import escape

from etchcalc.core.units import clock, read, show
from etchcalc.job import advice, answers
from etchcalc.job import record as records
from etchcalc.job.forecast import Lift, Standing, stopping_out
from etchcalc.job.plan import Plan
from etchcalc.job.running import LIFTS, Event, Running, on_the_wall
from etchcalc.pages import drawings, sheet

NONE_DEEP = 0.005  # mm, less than which no gauge tells from nothing
BARS = {
    "tilted": "Tilted", "moved": "Moved round", "looked": "Looked", "gauged": "Gauge",
    "stopped": "Lifted to stop out",  # of a plate with two depths
}  # fmt: skip
NAMES = {
    **BARS, "gauged": "Gauged", "started": "The plates are in", "watered": "Water added",
    "out": "Plates out", "in": "Plates back in", "ended": "Taken out for good",
}  # fmt: skip
RINGS = {"stop": "Stop out now", "lift": "Lift now", "tilt": "Tilt now", "look": "Look now"}
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
    if now.enough and now.stop:
        return (
            "Stop out now",
            "the fine lines are gauged as deep as ordered: press Lifted to stop out",
        )
    if now.enough:
        return (
            "Deep enough",
            "gauged as deep as ordered: rinse; under The etch is done press Taken out for good",
        )
    if now.lift is None or now.done_from is None:
        return "Not in this bath", "at its strength and warmth that depth takes months"
    until = (
        on_the_wall(now.done_to, now.now, zone, later=True) if now.done_to else "nobody knows when"
    )
    if now.stop and now.stop.at and now.stop.at <= now.now:
        return "Lift now", "to stop out the fine lines, and press Lifted to stop out"
    done = f"; done between {on_the_wall(now.done_from, now.now, zone)} and {until}"
    if now.stop:  # that stands in a line of its own
        done = ""
    if now.lift <= now.now:
        was = on_the_wall(now.lift, now.now, zone)
        return "Lift now", f"and gauge, since {was}{done}"
    return f"Lift at {on_the_wall(now.lift, now.now, zone)}", f"then gauge{done}"


def more(plan: Plan, now: Standing, zone: tzinfo | None = None) -> list[str]:
    """Return both lifts of a plate with two depths, the sooner first, and what the clocks count."""
    if now.enough and not now.stop:
        return []
    found, counted = [], []
    if now.looks:
        looks = "1 look" if now.looks == 1 else f"up to {now.looks} looks"
        counted = [f"{looks} of {answers.shown(plan, 'look_pause', fixed=False)}"]
    if now.stop:
        found = [_lifted("Lift to stop out the fine lines", now.stop, now, zone)]
        work, dries = (clock(minutes) for minutes in stopping_out(plan))
        counted.append(f"{work} to gauge and stop out, {dries} to dry")
    elif now.stopped:
        found = [f"Fine lines stopped out at {on_the_wall(now.stopped, now.now, zone)}"]
    elif now.lift and now.done_from and now.done_from < now.lift:  # else the two would seem at odds
        found = [f"The lift allows for {answers.shown(plan, 'depth_allowance')} more than ordered."]
    if now.last and (now.stop or now.out_since):
        found.append(_lifted("Lift for good", now.last, now, zone))
    return [*found, f"Counted in: {', '.join(counted)}."] if counted else found


def _lifted(what: str, lift: Lift, now: Standing, zone: tzinfo | None) -> str:
    if lift.at is None or lift.low is None:
        return f"{what}: nobody knows when"
    at, low = (on_the_wall(instant, now.now, zone) for instant in (lift.at, lift.low))
    high = on_the_wall(lift.high, now.now, zone, later=True) if lift.high else "nobody knows when"
    return f"{what} at {at} ({low} to {high})"


def before(plan: Plan) -> list[str]:
    """Return what is known before the plates are in: stretches of time, and no clock."""
    units = plan.commission.units
    water = show(plan.middle("evaporation_rate"), "evaporation", units, 2)
    return [
        answers.plain(answers.lift_answer(plan)),
        *(a.text for a in advice.advice(plan) if a.key == "second"),
        answers.tilt_reason(plan),
        f"Look every {answers.shown(plan, 'look_interval')}.",
        f"The bath at {answers.shown(plan, 'temperature')} loses about {water} of water.",
    ]


def how_long(minutes: float) -> str:
    """Return a stretch of time to the minute."""
    return "less than a minute" if minutes < 1 else clock(round(minutes))


def deep(plan: Plan, now: Standing) -> str:
    """Return how deep the finest line is now; where it is stopped out, how deep the others are."""
    units, name, which = plan.commission.units, "depth", ""
    depths: tuple = now.low, now.depth, now.high
    if now.stopped and now.deeper:
        name, which = (
            "second_depth",
            f"The fine lines about {_fine(now.depth, units)}. The deeper n",
        )
        depths = now.deeper
    low, depth, high = (_fine(q, units) for q in depths)
    low, ordered = low.split(" ")[0], answers.shown(plan, name)
    return (
        f"{which or 'N'}ow about <b>{depth}</b> ({low} to {high}) of {ordered}, "
        f"{how_long(now.minutes)} in the bath"
    )


def _fine(depth, units: str) -> str:
    """Return a depth as a gauge could read it: less than half a hundredth of a millimetre is none."""
    return show(depth if depth.to("mm").magnitude >= NONE_DEEP else 0 * depth, "fine", units)


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
    stop_by = now.stop.at if now.stop else None
    by = {
        "tilted": now.tilt_by, "looked": now.look_by, "gauged": now.lift,
        "stopped": now.now if now.stop and now.enough else stop_by,
    }  # fmt: skip
    due, at = False, by.get(kind)
    if kind == "moved":
        said += " · with each look"
    elif kind == "tilted" and plan.commission.words["moved"] == "rocked by motor":
        said = "the motor rocks the tray: look that it does"
    elif kind == "gauged" and now.enough:
        said = f"{said} · deep enough"
    elif at is not None:
        over = at <= now.now
        due = over and not now.out_since
        said = f"{said} · {'due since' if over else 'by'} {on_the_wall(at, now.now, zone)}"
    return f"{BARS[kind]}\n{said}", due


def bars(now: Standing) -> list[str]:
    """Return the bars that are wanted: to stop out only what has not been."""
    return [kind for kind in BARS if kind != "stopped" or now.stop]


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
    begun = now.late_depth.to("mm").magnitude < NONE_DEEP
    first = "It has only begun:" if begun else f"It is about {deep_now} deep now,"
    return f"<p>{first} {short} less than the others.</p><p>{escape(said)}</p>"


def warned(plan: Plan, state: Running) -> str:
    """Return what the readings of this load warn of; "" where nothing."""
    if len(plan.readings) <= state.readings_before:
        return ""
    suspect, rows = plan.told.suspect if plan.told else (), plan.commission.readings
    mine = tuple(r for i, r in enumerate(rows) if i >= state.readings_before and i not in suspect)
    # how deep another load was gauged says nothing of this one
    own = replace(plan, commission=replace(plan.commission, readings=mine), told=None)
    said = [a.text for a in advice.advice(plan) if a.key in WARNINGS and a.key != "too deep"]
    said += [a.text for a in advice.advice(own) if a.key == "too deep"]
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
        f"<path d='M12 {foot:.1f}H{middle - film:.1f}' stroke='{drawings.colour_of('on')}' stroke-dasharray='4 3'/>"
    )
    if middle - out > 75:
        label = f"now {said}" if middle - out > 108 else said
        etched += drawings.words_at(12, _beside(foot, picture), label, colour="on")
    return picture.replace(wall[0], wall[0] + etched, 1).replace(
        "<title>", f"<title>Now {escape(said)} deep. ", 1
    )


def _beside(foot: float, picture: str) -> float:
    """Return where the words at the etched floor stand: under its line, over it where "metal" is in the way."""
    metal = re.search(r" y='([\d.]+)'[^>]*>metal<", picture)
    free = float(metal[1]) - 18 if metal else foot + 17
    return foot + 17 if foot + 17 <= free else min(foot - 6, free)


def as_text(plan: Plan, state: Running, now: Standing, zone: tzinfo | None = None) -> str:
    """Return the page as plain text; before the plates are in it holds no clock."""
    if state.started is None:
        return "\n".join([plan.commission.title, large(state, now)[0] + ".", *before(plan)])
    first, second = large(state, now, zone)
    lines = [plan.commission.title, f"{first}, {second}.", *more(plan, now, zone)]
    lines += [deep(plan, now), bath(plan, now)]
    for kind in bars(now):
        lines.append(bar(kind, plan, state, now, zone)[0].replace("\n", ": "))
    return "\n".join(re.sub(r"</?b>", "", line) for line in lines)


def reading_said(reading: dict[str, str]) -> str:
    """Return a reading that was just taken, in words."""
    film = reading.get("film_under_gauge", "0 mm")
    over = "on bare metal" if film == "0 mm" else f"over {film} of film"
    minutes = read(reading["reading_time"]).to("min").magnitude
    return f"Taken: {reading['reading_depth']} {over} after {how_long(minutes)} in the bath."
