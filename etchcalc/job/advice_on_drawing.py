"""What to know of the maker's drawing: how it was read, what it holds, what the undercut loses."""

from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.answers import Advice, shown
from etchcalc.job.plan import Plan

# Metal between an etched line and the finished edge that filing the edge true leaves alone:
# common practice, no source.
_EDGE = 1.0


def place_said(place, system: str) -> str:
    """Return a place on the plate, mm from the top left, in words."""
    size = term("plate_width")
    across, down = (show(size.quantity(far), size.kind, system) for far in place)
    return f"{across} from the left, {down} down"


def _lost(plan: Plan) -> Advice | None:
    if plan.losses is None or not plan.losses.counts:
        return None
    first = plan.losses.listed[0]
    at = f"the largest at {place_said(first['place'], plan.commission.units)}"
    if plan.losses.points_only:
        return Advice("lost", f"Sharp tips come out blunt: {plan.losses.said}, {at}.")
    undercut, depth = shown(plan, "undercut"), shown(plan, "depth")
    if plan.commission.words["shows"] == "finished plate":
        narrowest = show(2 * plan.middle("undercut"), "fine", plan.commission.units, toward=1)
        text = (
            f"Corrected for {depth} the film loses part of the drawing: {plan.losses.said}, {at}. What is "
            f"narrower than {narrowest} cannot be had at this depth: draw it wider, or etch shallower."
        )
    else:
        text = (
            f"With this film {depth} is too deep for part of it, since each edge goes {undercut} under: "
            f"{plan.losses.said}, {at}. Etch shallower, or have the film drawn again with more metal there."
        )
    return Advice("lost", text, True)


def _near_edge(plan: Plan) -> Advice | None:
    found = plan.drawing.found if plan.drawing else None
    if not found or found["edge_distance"] is None or found["edge_distance"] >= _EDGE:
        return None
    away = show(term("depth").quantity(found["edge_distance"]), "fine", plan.commission.units)
    return Advice(
        "edge",
        f"Something etched comes within {away} of the finished edge, at "
        f"{place_said(found['edge_place'], plan.commission.units)}: filing the edge true may reach it.",
    )


def _read(plan: Plan) -> Advice | None:
    notes = plan.drawing.read["notes"] if plan.drawing and plan.drawing.read else ()
    return Advice("read", " ".join(notes)) if notes else None


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
    places = " and ".join(place_said(place, plan.commission.units) for place in plan.drawing.hairs)
    return Advice(
        "hairs", f"The drawing has something too thin for any film, at {places}: look there."
    )


RULES = (_lost, _line_differs, _hairs, _near_edge, _read)
