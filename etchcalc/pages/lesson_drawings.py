"""Pictures of the lessons, moved by their sliders: groove, letter, bars, forecast."""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot

from etchcalc.core.units import CELSIUS, MM, ONE, Quantity, show, unit
from etchcalc.job import answers
from etchcalc.job import record as records
from etchcalc.job.costing import near
from etchcalc.job.lesson_of_baths import COPPER_DENSITY, as_if_fresh, demand, gravity
from etchcalc.job.lesson_of_mixing import SODAS
from etchcalc.job.lesson_of_price import job, prices, with_profit
from etchcalc.job.lesson_of_ranges import together
from etchcalc.job.lesson_of_readings import DEPTHS_READ, forecast
from etchcalc.job.lesson_questions import Given
from etchcalc.job.prices import PENNY, money
from etchcalc.pages import sheet
from etchcalc.pages.drawings import colour_of, composed, groove, words_at
from etchcalc.process.developing import developer_soda, soda_share
from etchcalc.process.gauging import line_now
from etchcalc.process.hydrometer import bath_spent_share, strength_left, strength_spent
from etchcalc.process.undercut import land_limit, line_limit, undercut

ROOM = Quantity(20.0, CELSIUS)


@dataclass(frozen=True)
class Knob:
    """A slider: its label, kind of quantity, ends, step and start in the metric unit."""

    words: str
    kind: str
    low: float
    high: float
    step: float
    start: float


@dataclass(frozen=True)
class Play:
    """A picture to play with.

    Parameters
    ----------
    heading : str
    knobs : tuple of Knob
    drawn : callable
        Takes the knobs' quantities and the system of units; returns SVG and a sentence.
    """

    heading: str
    knobs: tuple[Knob, ...]
    drawn: Callable[[list, str], tuple[str, str]]


def _mm(quantity) -> float:
    return float(quantity.to(MM).magnitude)


NEAR = 0.02  # mm, within which a guess is as good as the sum


def _groove(at: list, system: str) -> tuple[str, str]:
    film, depth, factor, guess = at
    under = undercut(depth=depth, etch_factor=factor)
    width = line_now(film_line=film, reached_depth=depth, etch_factor=factor)

    def fine(quantity) -> str:
        return show(quantity, "fine", system)

    off = _mm(guess) - _mm(width)
    hit = abs(off) <= NEAR
    far = "a little" if abs(off) < 0.1 else "much"
    words = (
        f"Near enough: it is {fine(width)}, {fine(film)} of film and an undercut of {fine(under)} at "
        "both edges."
        if hit
        else f"Your guess of {fine(guess)} is {far} too {'wide' if off > 0 else 'narrow'}."
    )
    says = {
        "film": f"film {fine(film)}",
        "line": f"{fine(width)} finished" if hit else "how wide?",
        "depth": fine(depth),
        "undercut": f"Undercut {fine(under)}" if hit else "The dashed lines are the guess",
        "wanted": "guess",
    }
    picture = groove(
        film=_mm(film), undercut=_mm(under), depth=_mm(depth), says=says, wanted=_mm(guess)
    )
    return picture, words


# ---- the letter: an A of three strokes, in mm, its apex at the origin

STROKE, HELD = Quantity(0.3, MM), Quantity(0.1, MM)
FOOT, HEIGHT, BAR = 0.85, 2.4, 1.6
_SIDE = FOOT * BAR / HEIGHT  # half of the crossbar
#: Radius of the circle in the triangle of the strokes' middles: twice its area over its edges.
INSIDE = 2 * _SIDE * BAR / (2 * _SIDE + 2 * hypot(_SIDE, BAR))
COUNTER = Quantity(2 * INSIDE, MM) - STROKE  # across the counter on the film


def counter_share(depth, factor) -> float:
    """Return the counter's area over that on the film: a triangle that keeps its shape."""
    left = COUNTER - 2 * undercut(depth=depth, etch_factor=factor)
    return max(float((left / COUNTER).to(ONE).magnitude), 0.0) ** 2


def _letter(at: list, system: str) -> tuple[str, str]:
    depth, factor, allowed = at
    under = undercut(depth=depth, etch_factor=factor)
    line = STROKE + 2 * under
    said = {"etch_factor": factor}
    limits = {
        "line": line_limit(**said, finest_line=allowed, drawn_line=STROKE),
        "counter": land_limit(**said, drawn_land=COUNTER, narrowest_resist_land=HELD),
    }
    first = min(limits, key=lambda name: limits[name])
    lost = [name for name, limit in limits.items() if depth > limit]
    share = counter_share(depth, factor)

    def fine(quantity) -> str:
        return show(quantity, "fine", system)

    words = (
        f"The line is {fine(line)} and may become {fine(allowed)}: too wide beyond {fine(limits['line'])} "
        f"of depth. {100 * share:.0f} % of the counter is left; its resist holds on {fine(HELD)} or more, "
        f"to {fine(limits['counter'])} of depth. The {first} is lost first. "
        + (f"Lost now: {' and '.join(lost)}." if lost else "Both are safe at this depth.")
    )
    return _letter_picture(_mm(STROKE), _mm(line), fine, depth, words), words


def _letter_picture(stroke: float, line: float, fine, depth, words: str) -> str:
    scale, left, top = 86.0, 250.0, 30.0

    def at(x: float, y: float) -> str:
        return f"{left + x * scale:.1f} {top + y * scale:.1f}"

    path = f"M{at(-FOOT, HEIGHT)}L{at(0, 0)}L{at(FOOT, HEIGHT)}M{at(-_SIDE, BAR)}L{at(_SIDE, BAR)}"
    drawn = "fill='none' stroke-linejoin='round' stroke-linecap='round'"
    body = [
        f"<rect width='440' height='270' fill='{colour_of('brass')}'/>",
        f"<path class='etch-grown' d='{path}' {drawn} stroke='{colour_of('edge')}' stroke-width='{line * scale:.1f}'/>",
        f"<path d='{path}' {drawn} stroke='{colour_of('paper')}' stroke-width='{stroke * scale:.1f}'/>",
        words_at(10, 20, f"{fine(depth)} deep", colour="on"),
        f"<rect x='10' y='222' width='14' height='14' fill='{colour_of('paper')}'/>",
        words_at(30, 233, "open on the film", colour="on"),
        f"<rect x='10' y='244' width='14' height='14' fill='{colour_of('edge')}'/>",
        words_at(30, 255, "undercut", colour="on"),
    ]
    return composed(440, 270, "A letter A, its lines grown by the undercut", words, body, "letter")


# ---- bars

Part = tuple[float, str]  # how much, and a name of `COLOURS`


def bars(title: str, words: str, rows: list[tuple[str, list[Part]]]) -> str:
    """Return rows of bars on one scale.

    Parameters
    ----------
    title, words : str
    rows : list of (str, list of (float, str))
        What stands over the bar, and its parts: how much, and the name of their colour.
    """
    most = max(sum(value for value, _ in parts) for _, parts in rows) or 1.0
    body = []
    for number, (label, parts) in enumerate(rows):
        x, y = 10.0, 26.0 + number * 56
        body.append(words_at(10, y - 6, label, size=14))
        for value, colour in parts:
            width = 420 * value / most
            body.append(
                f"<rect class='etch-part' x='{x:.1f}' y='{y:.1f}' width='{width:.1f}' height='22' "
                f"fill='{colour_of(colour)}' stroke='{colour_of('edge' if colour == 'band' else 'paper')}'/>"
            )
            x += width
    return composed(440, 56 * len(rows) + 4, title, words, body, "bars")


def _packets(at: list, system: str) -> tuple[str, str]:
    strength, volume = at
    rows, said, dry = [], [], 0.0
    for name, waters in SODAS.items():
        share = soda_share(soda_waters=Quantity(float(waters), ONE))
        weight = developer_soda(
            developer_volume=volume, developer_strength=strength, soda_share=share
        )
        mass = float(weight.to("g").magnitude)
        dry = mass * float(share.to(ONE).magnitude)
        shown = show(weight, "mass", system)
        said.append(f"{shown} of {name}")
        rows.append((f"{name}: {shown}", [(dry, "brown"), (mass - dry, "blue")]))
    words = (
        f"The same developer from {said[0]}, {said[1]} or {said[2]}. The left part is dry soda, "
        f"{show(Quantity(dry, unit('g')), 'mass', system)} in each; the right is water in the crystals."
    )
    return bars("The same developer from three packets", words, rows), words


def _readings(at: list, system: str) -> tuple[str, str]:
    count, resist = round(float(at[0].magnitude)), round(_mm(at[1]), 3)
    plan = forecast(count, resist)
    time = plan.figures("etch_time")["etch_time"]
    shown = [show(end, "time") for end in (time.value, time.low, time.high)]
    read = [
        f"{show(Quantity(float(d.split()[0]), MM), 'fine', system)} after {h} h"
        for h, d in enumerate(DEPTHS_READ[:count], 1)
    ]
    words = f"Done at about {shown[0]}, between {shown[1]} and {shown[2]}; lift and gauge at {answers.shown(plan, 'gauge_time', toward=-1)}."
    told = " and ".join(filter(None, [", ".join(read[:-1]), *read[-1:]]))
    if count == 3:
        off = show(at[1], "fine", system) if resist else "none"
        told += f", the third over 0.05 mm (2 thou) of resist, {off} of it taken off"
    words = f"{f'Read: {told}.' if told else 'No reading yet.'} {words}"
    understood = records.pictured(plan)
    understood["words"] = {**understood["words"], "units": system}
    return sheet.pictures(understood)[1], words


def _bath(at: list, system: str) -> tuple[str, str]:
    strength, metal = at
    takes = demand()
    used = strength_spent(metal_in_bath=metal, metal_density=COPPER_DENSITY, ferric_demand=takes)
    spent = bath_spent_share(strength=strength, strength_spent=used)
    left = strength_left(strength=strength, bath_spent_share=spent)
    seems = as_if_fresh(gravity(strength, spent))
    shown = [show(q, "strength", system) for q in (strength, seems, left)]
    bare = [float(q.to("g/L").magnitude) for q in (strength, seems, left)]
    rows = [
        (f"made up at {shown[0]}", [(bare[0], "brown")]),
        (f"by the hydrometer, as if fresh: {shown[1]}", [(bare[1], "blue")]),
        (f"left to work: {shown[2]}", [(bare[2], "brown"), (bare[0] - bare[2], "band")]),
    ]
    words = f"With {show(metal, 'metal in bath')} of copper the hydrometer reads as in a fresh bath of {shown[1]}; {shown[2]} are left to work, the last part of the bar is spent."
    return bars("What the hydrometer says, and what is left", words, rows), words


def _profit(at: list, system: str) -> tuple[str, str]:
    percent, plates = show(at[0], "share", fixed=False), round(float(at[1].magnitude))
    amount = Given("100", Quantity(100.0, ONE))
    asked = [with_profit(amount, markup=percent), with_profit(amount, margin=percent)]
    hour, weight = Quantity(1.0, unit("hour")), Quantity(0.0, unit("kg"))
    done = job(3 * hour, hour, weight, plates, prices(work="25 / h")).net
    each, own = near(done / plates, PENNY), 25.0
    one_more = job(3 * hour, hour, weight, plates, prices(work="25 / h")).second_plate
    count = f"{plates} plate{'s' if plates > 1 else ''}"
    rows = [
        (f"cost 100, markup {percent}: {money(asked[0])}", [(100.0, "brown"), (float(asked[0]) - 100, "blue")]),
        (f"cost 100, margin {percent}: {money(asked[1])}", [(100.0, "brown"), (float(asked[1]) - 100, "blue")]),
        (f"each plate of {plates}: {money(each)}", [(own, "brown"), (float(each) - own, "band")]),
    ]  # fmt: skip
    words = (
        f"Of a cost of 100, {percent} as a markup makes {money(asked[0])}, as a margin {money(asked[1])}. "
        f"With 75 of work once and 25 a plate, {count} cost{'' if plates > 1 else 's'} {money(done)}, one more {money(one_more)}. "
        "The last part of a plate's bar is its share of what is done once."
    )
    return bars("Markup and margin, and a plate's share of what is done once", words, rows), words


def _errors(at: list, system: str) -> tuple[str, str]:
    less, more = sorted(at)
    sizes = [less, more, together(less, more), together(less, more / 2), together(less / 2, more)]
    small, great, both, better, little = (show(size, "share", fixed=False) for size in sizes)
    straight = show(less + more, "share", fixed=False)
    bare = [float(size.to("percent").magnitude) for size in sizes]
    rows = [
        (f"the greater: {great}", [(bare[1], "brown")]),
        (f"the lesser: {small}", [(bare[0], "blue")]),
        (f"together: {both}, not {straight}", [(bare[2], "brown"), (bare[0] + bare[1] - bare[2], "band")]),
        (f"together, the greater halved: {better}", [(bare[3], "brown")]),
        (f"together, the lesser halved: {little}", [(bare[4], "brown")]),
    ]  # fmt: skip
    words = (
        f"{great} and {small} are {both} together, by squares; added as they stand they would be {straight}, "
        "too much by the last part of the bar. "
    ) + (
        f"Measured twice as well, the greater leaves {better}, the lesser {little}: measure the greater."
        if less < more
        else f"They weigh the same: either measured twice as well leaves {better}."
    )
    return bars("Two errors, together, and with one of them halved", words, rows), words


_DEPTH = Knob("Depth", "fine", 0.02, 0.4, 0.01, 0.2)
_FACTOR = Knob("Etch factor", "number", 1.0, 2.5, 0.05, 1.4)
PLAYS = {
    "guess-the-width": Play(
        "Slide the guess until it fits; then change the rest and guess again",
        (
            Knob("On the film", "fine", 0.05, 0.6, 0.01, 0.2),
            _DEPTH,
            _FACTOR,
            Knob("Your guess", "fine", 0.05, 1.2, 0.01, 0.3),
        ),
        _groove,
    ),
    "closing-counter": Play(
        "Slide until the counter closes",
        (_DEPTH, _FACTOR, Knob("Line allowed", "fine", 0.4, 1.0, 0.05, 0.6)),
        _letter,
    ),
    "mix-from-the-wrong-packet": Play(
        "Three packets, one developer",
        (
            Knob("Dry soda", "strength", 4, 20, 0.5, 8.5),
            Knob("Developer", "volume", 0.5, 5, 0.5, 1.5),
        ),
        _packets,
    ),
    "three-readings": Play(
        "An invented job, 0.25 mm (10 thou) deep: take the resist off the third reading",
        (
            Knob("Readings", "number", 0, 3, 1, 3),
            Knob("Resist off", "fine", 0.0, 0.06, 0.01, 0.0),
        ),
        _readings,
    ),
    "used-bath": Play(
        "A bath that dissolves copper",
        (
            Knob("Made up at", "strength", 300, 700, 10, 500),
            Knob("Copper in it", "metal in bath", 0, 30, 1, 20),
        ),
        _bath,
    ),
    "price-a-plate": Play(
        "The same share, two prices",
        (Knob("Profit", "share", 5, 60, 1, 30), Knob("Plates", "number", 1, 8, 1, 3)),
        _profit,
    ),
    "how-sure": Play(
        "Two errors that know nothing of each other",
        (Knob("One error", "share", 1, 20, 1, 8), Knob("The other", "share", 1, 20, 1, 3)),
        _errors,
    ),
}
