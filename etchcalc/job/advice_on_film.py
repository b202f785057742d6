"""What to know of the film, the lines and the forecast, and the ways out."""

from etchcalc.core.units import show
from etchcalc.job.answers import Advice, shown, too_deep
from etchcalc.job.plan import Plan


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
    _line_differs,
    _hairs,
    _through,
    _fields_lag,
    _second,
    _suspect,
)
