"""What to know of the film, the lines and the forecast, and the ways out."""

from itertools import pairwise

from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import Advice, shown, too_deep
from etchcalc.job.plan import Plan
from etchcalc.process import gauging


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


def _simulated(plan: Plan) -> Advice | None:
    """Tell that the etch factor of a simulated groove does not count for this one."""
    said = ("worked_etch_factor", "worked_depth", "worked_line")
    counted = plan.book.basis["etch_factor"] in ("worked out", "measured here")
    if counted or not all(name in plan.book.values for name in said):
        return None
    factor, depth, line = (shown(plan, name) for name in said)
    return Advice(
        "simulated",
        f"The etch factor {factor} was worked out for a groove {depth} deep in a line of {line}; for this "
        "one the usual start counts. Work the groove out again under “How the groove grows”.",
    )


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


def _shallower(plan: Plan) -> Advice | None:
    """Query a reading that is shallower than one before it by more than two gaugings differ."""
    scatter = 2 * 2**0.5 * plan.number("gauge_error")
    told = [(i, r) for i, r in enumerate(plan.readings, 1) if r.kind == "line"]
    for (first, before), (second, after) in pairwise(sorted(told, key=lambda t: t[1].minutes)):
        if before.depth - after.depth > scatter:
            less = show(
                term("depth").quantity(before.depth - after.depth), "fine", plan.commission.units
            )
            return Advice(
                "shallower",
                f"Gauge reading {second} is {less} shallower than reading {first}, more than two gaugings "
                "differ by: metal does not grow back, so gauge both places again and take back the wrong one.",
            )
    return None


def _tip(plan: Plan) -> Advice | None:
    """Tell where a gauge's tip cannot have reached the floor that it was to read."""
    if "gauge_tip" not in plan.commission.values:
        return None
    tip = plan.number("gauge_tip")
    # over the resist its opening is as narrow as the film; on bare metal the groove is as wide as it grows
    wide = [
        plan.number(
            "film_line" if typed.get("film_under_gauge", "0 mm") != "0 mm" else "finest_line"
        )
        for typed in plan.commission.readings
    ]
    caught = [
        str(i)
        for i, (read, opening) in enumerate(zip(plan.readings, wide, strict=True), 1)
        if read.kind == "line" and tip >= opening
    ]
    if not caught:
        return None
    return Advice(
        "tip",
        f"The gauge's tip, {shown(plan, 'gauge_tip')}, is too wide for what reading {' and '.join(caught)} "
        "gauged: it did not reach the floor. Take that back and gauge a wide field instead.",
    )


def _late(plan: Plan) -> Advice | None:
    if "late_depth" not in plan.book.values:
        return None
    late, short, shared, wider = (
        shown(plan, n)
        for n in ("late_depth", "late_shortfall", "shared_depth", "shared_extra_width")
    )
    return Advice(
        "late",
        f"The line that cleared {shown(plan, 'cleared_late')} late will be about {late} deep when the others are "
        f"done, {short} less. Accept it; or stop the others out and give it its time; or share the "
        f"difference: go on to {shared} for all, which makes the other lines {wider} wider.",
    )


def _gauged(plan: Plan) -> Advice | None:
    """Tell what the last reading of the finest line means: how much longer, or what it has become."""
    last = max((r for r in plan.trusted if r.kind == "line"), key=lambda r: r.minutes, default=None)
    if last is None:
        return None
    units = plan.commission.units
    inputs = {n: plan.middle(n) for n in ("film_line", "etch_factor", "depth", "etch_rate")}
    reached = term("reached_depth").quantity(last.depth)
    width = gauging.line_now(
        film_line=inputs["film_line"], reached_depth=reached, etch_factor=inputs["etch_factor"]
    )
    now = f"the finest line is about {show(width, 'fine', units)} wide now"
    if last.depth > plan.number("gauge_depth"):
        deep = show(reached, "fine", units)
        through = (
            " More than half the sheet is gone there."
            if last.depth > plan.number("plate_thickness") / 2
            else ""
        )
        fill = plan.middle("fill_paint") * (last.depth / plan.number("depth"))
        return Advice(
            "too deep",
            f"Gauged {deep}, deeper than ordered and its allowance: {now}, and all fills take about "
            f"{show(fill, 'little volume', units)}.{through} Stop, and show the client.",
            True,
        )
    go = gauging.time_to_go(
        depth=inputs["depth"], reached_depth=reached, etch_rate=inputs["etch_rate"]
    )
    if float(go.magnitude) <= 0:
        return Advice("deep enough", f"Gauged as deep as ordered: {now}.")
    return Advice("shallow", f"From the last reading about {show(go, 'time', units)} more; {now}.")


def _suspect(plan: Plan) -> Advice | None:
    if plan.told is None or not plan.told.suspect:
        return None
    which = " and ".join(str(i + 1) for i in plan.told.suspect)
    return Advice(
        "reading",
        f"Gauge reading {which} does not fit the others (a bubble, a blocked line, a slip): it is "
        "left out until more readings bear it out.",
    )


RULES = (
    _too_fine,
    _nothing_open,
    _through,
    _fields_lag,
    _simulated,
    _second,
    _suspect,
    _tip,
    _shallower,
    _gauged,
    _late,
)
