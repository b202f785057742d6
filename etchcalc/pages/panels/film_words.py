"""What the film's panel says: questions, what was measured, what is lost."""

import itertools
from html import escape

from etchcalc.artwork.film import WIDTHS
from etchcalc.core.units import MM, Quantity, show
from etchcalc.job import answers
from etchcalc.job.advice import advice
from etchcalc.job.advice_on_drawing import place_said
from etchcalc.job.film import drawn_widths
from etchcalc.job.plan import Plan
from etchcalc.pages import film_drawings, sheet
from etchcalc.pages.panels import texts

CHOICES = {
    "black": "Black is",
    "shows": "It shows the",
    "mirrored": "Mirrored",
    "placed": "If its size differs",
    "drawing_unit": "Its unit",
}
BOXES = {
    "thin_line": ("Lines without a width", "such as 0.25 mm"),
    "scan_resolution": ("The bitmap's resolution", "such as 1200 dpi"),
}
BITMAPS = (".tif", ".tiff", ".png")
NO_DRAWING = (
    "No drawing yet. Bring one above: SVG, PDF, DXF, TIFF or PNG, solid black on white, its text turned "
    "into outlines. Until then {} of the face counts as open metal."
)
SET_ASIDE = (
    "The drawing is not read: why stands above. Until then {} of the face counts as open metal."
)
SHOWN = 4  # losses that are marked and can be looked at closely; red shows them all
ABOUT = (
    "read",
    "lost",
    "line",
    "hairs",
    "edge",
    "open",
    "too fine",
)  # advice that is of the drawing


def _length(value: float, system: str, count: int = 3) -> str:
    return show(Quantity(value, MM), "fine", system, count)


def _at(place, system: str) -> str:
    return f" at {place_said(place, system)}" if place else ""


def measured(plan: Plan) -> list[tuple[str, str]]:
    """Return what was measured on the drawing, a row each, the bound beside each figure."""
    if plan.drawing is None or plan.drawing.found is None:
        return []
    m, read, system = plan.drawing.found, plan.drawing.read, plan.commission.units
    bound = show(Quantity(m["pixel"] / 2 * m["edge_length"], "mm^2"), "area", system, 2)
    area = show(plan.middle("open_area"), "area", system)
    share = show(plan.middle("open_fraction"), "share", system)
    rows = [
        ("File", f"{read['kind']}, {read['width']:.2f} × {read['height']:.2f} mm"),
        ("Pixel", f"{m['pixel'] * 1000:.1f} µm, {25.4 / m['pixel']:.0f} dpi"),
        ("Open metal", f"{area} ± {bound}, {share} of the face"),
        ("Edges", f"{m['edge_length'] / 1000:.3g} m ± 2 %"),
    ]
    for words, key, place in (
        ("Narrowest line", "narrowest_line", "line_place"),
        ("Narrowest land", "narrowest_land", "land_place"),
    ):
        if m[key] is not None:
            width = f"{_length(m[key], system)} ± {m['width_bound'] * 1000:.0f} µm"
            rows.append((words, width + _at(m[place], system)))
    for words, key, place in (
        ("Smallest island", "island_area", "island_place"),
        ("Smallest counter", "counter_area", "counter_place"),
    ):
        if m[key] is not None:
            rows.append((words, f"{m[key]:.3g} mm²{_at(m[place], system)}"))
    if m["edge_distance"] is not None:
        rows.append(
            (
                "Nearest to the edge",
                _length(m["edge_distance"], system) + _at(m["edge_place"], system),
            )
        )
    off = f", {m['running_off']} running off the plate" if m["running_off"] else ""
    rows.append(("Pieces", f"{m['etched_pieces']} etched{off}; {m['kept_pieces']} of metal"))
    return rows


def shares(plan: Plan) -> list[tuple[str, float]]:
    """Return the open area's shares by line width, those that come to half a percent."""
    system = plan.commission.units
    ends = [_length(w, system) for w in WIDTHS]
    words = [f"to {ends[0]}", *(f"{a.split()[0]} to {b}" for a, b in itertools.pairwise(ends)),
             f"over {ends[-1]}"]  # fmt: skip
    found = plan.drawing.found["shares"] if plan.drawing and plan.drawing.found else ()
    return [(word, share) for word, share in zip(words, found, strict=False) if share >= 0.005]


def losses_html(plan: Plan) -> str:
    """Return what is lost as a table."""
    rows = losses(plan)
    return texts.rows_html(rows) if rows else "<p>Nothing is lost.</p>"


def bars_html(parts: list[tuple[str, float]]) -> str:
    """Return the shares by line width as a picture."""
    return film_drawings.share_bars(parts, "Open metal by line width") if parts else ""


def redrawn(plan: Plan) -> list[tuple[str, str]]:
    """Return finished widths and how wide to draw them, a row each."""
    system = plan.commission.units
    rows = [("Finished", "Draw on the film")]
    for line, drawn in drawn_widths(plan):
        wide = "too fine for the film" if drawn is None else show(drawn, "fine", system)
        rows.append((show(line, "fine", system), wide))
    return rows


def losses(plan: Plan) -> list[tuple[str, str]]:
    """Return what is lost, a row each, at most twelve."""
    if plan.losses is None:
        return []
    rows = [
        (
            f"{i}",
            f"{each['what']}{_at(each['place'], plan.commission.units)}, {each['area']:.2g} mm²",
        )
        for i, each in enumerate(plan.losses.listed[:12], 1)
    ]
    more = sum(plan.losses.counts.values()) - len(rows)
    return [*rows, ("", f"and {more} more")] if more > 0 else rows


def said_html(plan: Plan) -> str:
    """Return the film's answer and what is to be known of the drawing."""
    said = f"<p>{sheet.bold(answers.film_answer(plan))}</p>"
    more = "".join(
        f"<p class='{'etch-out' if a.way_out else ''}'>{escape(a.text)}</p>"
        for a in advice(plan)
        if a.key in ABOUT
    )
    return (
        f"<div class='etch-sentence' aria-live='polite'>{said}</div>"
        f"<div class='etch-advice'>{more}</div>"
    )


def plate_html(plan: Plan, picture: bytes) -> str:
    """Return the plate with the narrowest places and the losses marked, and what the marks are."""
    width, height = (plan.number(n) for n in ("plate_width", "plate_height"))
    if plan.drawing is None or not plan.drawing.digest:
        share = show(plan.middle("open_fraction"), "share", fixed=False)
        drawn = film_drawings.marked_plate(width, height, b"", [], "The plate, not yet drawn")
        says = SET_ASIDE if plan.commission.words["file"] else NO_DRAWING
        return f"{drawn}<p class='etch-small-print'>{says.format(share)}</p>"
    found = plan.drawing.found
    marks: list[film_drawings.Mark] = []
    if found:
        marks += [
            (*found[place], label, "blue")
            for place, label in (("line_place", "A"), ("land_place", "B"))
            if found[place]
        ]
    if plan.losses:
        marks += [
            (*each["place"], str(i), "red") for i, each in enumerate(plan.losses.listed[:SHOWN], 1)
        ]
    drawn = film_drawings.marked_plate(width, height, picture, marks, "Film and plate")
    says = (
        "Ink is open on the film, brown is what the undercut adds, red was drawn and is lost. "
        "A: narrowest line. B: narrowest land."
    )
    return f"{drawn}<p class='etch-small-print'>{says}</p>"


def close_html(plan: Plan, box: tuple[float, float, float, float], picture: bytes) -> str:
    """Return a close look at a part of the plate."""
    wide = box[2] - box[0]
    bar = next(b for b in (10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05) if b <= wide / 3)
    says = show(Quantity(bar, MM), "fine", plan.commission.units)
    return film_drawings.close_up(box, picture, bar, says, "A close look")


def as_text(plan: Plan) -> str:
    """Return the whole result of the film's panel as plain text."""
    rows = [*measured(plan), *losses(plan)]
    parts = [(w, f"{s:.1%}") for w, s in shares(plan)]
    said = [texts.as_text(plan), *("   ".join(r) for r in [*rows, *parts, *redrawn(plan)])]
    return "\n".join(said)


def places(plan: Plan) -> dict[str, tuple[float, float]]:
    """Return the places worth a close look, by what they are."""
    found = plan.drawing.found if plan.drawing else None
    named = {"narrowest line": "line_place", "narrowest land": "land_place",
             "smallest island": "island_place", "nearest to the edge": "edge_place"}  # fmt: skip
    at = {words: found[key] for words, key in named.items() if found and found[key]}
    if plan.losses:
        for i, each in enumerate(plan.losses.listed[:SHOWN], 1):
            left, top, right, bottom = each["box"]
            at[f"loss {i}"] = ((left + right) / 2, (top + bottom) / 2)
    return at
