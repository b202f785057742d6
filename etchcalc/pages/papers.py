"""Papers to print: labels, the carrier's sheet, the client's proof, the film's order, a quotation.

Each is one HTML page, whole in itself: no script, nothing asked of anybody, everything that was
typed escaped. Black and white must do, and no letter is smaller than 9 pt.
"""

import base64
from collections.abc import Callable
from typing import Any

from etchcalc.core import tables
from etchcalc.core.faults import BadInput, listed
from etchcalc.core.units import MM, Quantity, show
from etchcalc.job import answers, contents
from etchcalc.job.plan import Plan
from etchcalc.pages.sheet import PAGES

# what a chooser offers; the job sheet for the bench is the first page of record.html
NAMES = {
    "labels": "Labels for bottles and trays",
    "carrier": "Sheet for the licensed carrier",
    "proof": "Proof for the client",
    "film_order": "Order sheet for the film",
    "quotation": "Quotation",
}
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm
_MARGINS = (28.0, 24.0)  # mm, of both sides, as the template's @page says
_FEW, _MANY = 3, 8  # statements up to which a label is set larger, beyond which in short
_SMALLEST = 20  # times smaller than true size, of a proof that no paper holds
_BESIDE = 52.0  # mm of height for heading, sentence and bar of the proof


def paper(kind: str, plan: Plan, *, paper: str = "A4", **more: Any) -> str:
    """Return a paper as HTML.

    Parameters
    ----------
    kind : str
        A key of `NAMES`.
    plan : Plan
    paper : {"A4", "Letter"}
    **more
        For all: ``shop`` (its name) and ``date``, a line to write on where none is given.
        labels: ``which`` (keys of `contents.BOTTLES`), ``acid_added``. carrier: ``acid_added``.
        proof: ``price`` (shown only if given), ``picture`` (PNG of the plate instead of the
        drawing's preview). film_order: ``films``, ``file_name``, ``digest`` (SHA-256 of the file),
        ``sheet`` (width and height of the film's sheet, mm). quotation: ``quotation``, a dict of
        texts ``client``, ``title``, ``lines`` (of what, how much, price), ``net``, ``tax``,
        ``gross``, ``valid_until``, ``assumptions`` (sentences).

    Raises
    ------
    BadInput
        There is no such paper, size or bottle.
    """
    if kind not in NAMES:
        raise BadInput(f"papers: “{kind}” is no paper that is printed here; say {listed(list(NAMES))}.")  # fmt: skip
    if paper not in SIZES:
        raise BadInput(f"papers: “{paper}” is no size of paper here; say {listed(list(SIZES))}.")
    return _MADE[kind](plan, paper, **more)


def _page(kind: str, plan: Plan, paper: str, shop: str, date: str, **given: Any) -> str:
    words = plan.commission.words
    width = SIZES[paper][given.pop("turned", False)] - _MARGINS[0]
    head = {
        "what": NAMES[kind],
        "title": plan.commission.title,
        "page": given.pop("page", paper),
        "width": f"{width:g}",
        "shop": shop,
        "date": date,
        "invented": words.get("invented", "") in ("yes", "True", "true"),
    }
    return PAGES.get_template(f"{kind}.html").render(head=head, **given)


def _labels(
    plan: Plan,
    paper: str,
    *,
    shop: str = "",
    date: str = "",
    which: tuple[str, ...] = (),
    acid_added: bool = False,
) -> str:
    """Return A6 labels, four on an A4, two on a Letter."""
    which = which or (contents.after_job(plan), "rinse", "developer", "stripper")
    labels = [_label(plan, kind, date, acid_added) for kind in which]
    per_sheet = 4 if paper == "A4" else 2
    return _page("labels", plan, paper, shop, date, labels=labels, per_sheet=per_sheet)


def _label(plan: Plan, kind: str, date: str, acid_added: bool) -> dict[str, Any]:
    held = contents.contents(plan, kind, acid_added=acid_added)
    soda = kind in ("developer", "stripper")
    cautions = ["soda_eyes", "soda_apart"] if soda else ["eyes", "no_mixing"]
    if kind in ("spent", "rinse"):
        cautions.append("waste")
    count = len(held.statements)
    return {
        "name": held.name,
        "facts": [*_label_facts(plan, held), ("Filled on", date)],
        "signal": held.signal,
        "pictograms": held.pictograms,
        "statements": held.statements,
        "before": "Of the etchant in it, undiluted: " if kind == "rinse" else "",
        "cautions": [_caution(key, count > _MANY) for key in cautions],
        "roomy": count <= _FEW,
        "recalled": any(s.recalled for s in held.statements),
    }


def _caution(key: str, short: bool) -> str:
    """Return a caution of data/cautions.toml, in short where a label is full."""
    entry = tables.load("cautions.toml")[key]
    return f"{entry['short'][0].upper()}{entry['short'][1:]}." if short else entry["text"]


def _label_facts(plan: Plan, held: contents.Contents) -> list[tuple[str, str]]:
    units = plan.commission.units
    volume = ("Volume", _volume(held.volume, units))
    if held.kind == "developer":
        strength = f"{answers.shown(plan, 'developer_strength')} of dry soda, as mixed"
        return [("Strength", strength), volume]
    if held.kind == "stripper":
        strength = f"saturated at {answers.shown(plan, 'room_temperature')}, holds stripped resist"
        return [("Strength", strength), volume]
    if held.kind == "rinse":
        return [("Holds, after one lift", _in_litre(held.parts, "metal in rinse", units)), volume]
    strength = f"{answers.shown(plan, 'strength')} of crystals as mixed"
    if held.kind != "etchant":
        strength += f", {answers.shown(plan, 'spent_share', count=2)} of its ferric used"
    metal = _in_litre(held.metals, "metal in bath", units) if held.metals else "none"
    return [("Strength", strength), ("Metal taken up", metal), volume]


def _volume(volume: Any, units: str) -> str:
    return show(volume, "volume", units, fixed=False)


def _in_litre(parts: tuple[contents.Part, ...], kind: str, units: str) -> str:
    shown = ((p.name, show(p.in_litre, kind, units, count=2)) for p in parts)
    return ", ".join(f"{name} {value}".replace(" ", "\u00a0") for name, value in shown)  # unbroken


def _carrier(
    plan: Plan, paper: str, *, shop: str = "", date: str = "", acid_added: bool = False
) -> str:
    """Return the sheet for the licensed carrier."""
    units = plan.commission.units
    held = contents.contents(plan, acid_added=acid_added)
    rinse = contents.contents(plan, "rinse", acid_added=acid_added)
    return _page(
        "carrier", plan, paper, shop, date,
        facts=_carrier_facts(plan, held, acid_added),
        parts=[_carrier_part(part, units) for part in held.parts],
        remark=_carrier_remark(plan),
        rinse=(
            f"{_volume(rinse.volume, units)}, kept apart; after one lift of every plate it holds "
            f"{_in_litre(rinse.parts, 'metal in rinse', units)}. More lifts, more of all."
        ),
        signal=held.signal,
        statements=held.statements,
        number=tables.source("un_number").citation,
        explanation=_explanation(plan),
    )  # fmt: skip


def _carrier_facts(plan: Plan, held: contents.Contents, acid_added: bool) -> list[tuple[str, str]]:
    units = plan.commission.units
    density = show(held.mass / held.volume, "density", units)
    acid = (
        "hydrochloric acid was added, which is not counted here"
        if acid_added
        else "no acid was added"
    )
    return [
        ("Volume and mass", f"{_volume(held.volume, units)}, {show(held.mass, 'mass', units)}, so {density}"),
        ("Made as", f"{answers.shown(plan, 'strength')} of ferric chloride hexahydrate crystals in water"),
        ("Ferric used", f"{answers.shown(plan, 'spent_share', count=2)}, by {plan.commission.alloy['name']} ({plan.commission.metal})"),
        ("Acidity", f"strongly acid by itself, as ferric chloride in water is; {acid}"),
        ("Fresh etchant is carried as", "UN 2582, ferric chloride solution, class 8 (to be checked: see below). With other metals in it, it may go under another number: the carrier says."),
    ]  # fmt: skip


def _carrier_part(part: contents.Part, units: str) -> dict[str, str]:
    low, high = (show(end, "mass", units) for end in (part.low, part.high))
    return {
        "name": part.name,
        "in_litre": show(part.in_litre, "metal in bath", units),
        "mass": show(part.mass, "mass", units),
        "range": f"{low} to {high}" if low != high else "",
    }


def _carrier_remark(plan: Plan) -> str:
    said = (
        "Iron is ferric and ferrous together. The metal taken up is an upper bound: groove walls "
        "are taken as upright. Water that has evaporated counts as put back."
    )
    if plan.number("bath_spent_share") > 0:
        said += " What the bath had dissolved before this job is taken to be the same metal."
    return said


def _explanation(plan: Plan) -> str:
    units, figures = plan.commission.units, contents.carrier_figures(plan)
    soda = show(figures["soda_taken_up"], "mass", units)
    gas = _volume(figures["carbon_dioxide"], units)
    sludge = show(figures["sludge_when_dry"], "mass", units)
    return (
        f"How much acid and metal it is, told by what would neutralise it: the bath would take up {soda} of "
        f"anhydrous soda, would give off {gas} of carbon dioxide at 20 °C, frothing over, and would leave {sludge} "
        "of dry hydroxides, wet several times that, which hold the metals and are hazardous waste too. "
        "That is why it is handed over as it is."
    )


def _proof(
    plan: Plan,
    paper: str,
    *,
    shop: str = "",
    date: str = "",
    price: str = "",
    picture: bytes = b"",
) -> str:
    """Return the proof: the plate in true size where the paper allows, else at a said scale."""
    width, height = (
        float(plan.middle(n).to(MM).magnitude) for n in ("plate_width", "plate_height")
    )
    scale, turned = _fit(width, height, paper)
    drawing = plan.drawing.preview if plan.drawing else b""
    said = "The plate in true size, dark where it is etched."
    if scale > 1:
        said = f"The plate is larger than this paper: drawn at 1 : {scale}, not in true size; dark where it is etched."
    if not (picture or drawing):
        said += " No drawing was given: the outline alone."
    return _page(
        "proof", plan, paper, shop, date,
        turned=turned,
        page=f"{paper} landscape" if turned else paper,
        client=plan.commission.words.get("client", ""),
        scale=said,
        width=f"{width / scale:.6g}",
        height=f"{height / scale:.6g}",
        picture=base64.b64encode(picture or drawing).decode(),
        facts=_proof_facts(plan, price),
    )  # fmt: skip


def _fit(width: float, height: float, paper: str) -> tuple[int, bool]:
    """Return the least scale at which a plate fits, and whether the paper is turned for it."""
    across, down = SIZES[paper]
    for scale in range(1, _SMALLEST):
        for turned, (w, h) in enumerate(((across, down), (down, across))):
            if width / scale <= w - _MARGINS[0] and height / scale <= h - _MARGINS[1] - _BESIDE:
                return scale, bool(turned)
    return _SMALLEST, False


def _proof_facts(plan: Plan, price: str) -> list[tuple[str, str]]:
    units = plan.commission.units
    size = _plate_size(plan)
    thick = answers.shown(plan, "plate_thickness")
    found = [
        ("Size", f"{size}, {thick} thick"),
        ("Metal", plan.commission.alloy["name"]),
        ("Plates", f"{plan.number('plate_count'):g}"),
        ("Etched", f"{show(plan.ordered('depth'), 'fine', units)} deep; finest line {answers.shown(plan, 'finest_line')} wide"),
    ]  # fmt: skip
    return [*found, ("Price", price)] if price else found


def _plate_size(plan: Plan) -> str:
    units = plan.commission.units
    sides = (
        show(plan.middle(n), "size", units, fixed=False) for n in ("plate_width", "plate_height")
    )
    return " × ".join(sides)


def _film_order(
    plan: Plan,
    paper: str,
    *,
    shop: str = "",
    date: str = "",
    films: int = 1,
    file_name: str = "film.tif",
    digest: str = "",
    sheet: tuple[float, float] | None = None,
) -> str:
    """Return the order sheet for the film."""
    words = plan.commission.words
    line = _film_line(plan)
    size = _plate_size(plan)
    sides = [show(Quantity(side, MM), "size", plan.commission.units) for side in sheet or ()]
    facts = [
        ("Films", f"{films}, of one file"),
        ("File", file_name + (f" (sheet {' × '.join(sides)})" if sides else "")),
        ("SHA-256 of the file", digest),
        ("Black on the film", _BLACK[words["black"]]),
        ("Reads", _EMULSION[words["emulsion"]]),
        ("Resolution", _resolution(plan)),
        ("Size", f"true size, 100 %, never fitted: {size} between the inner edges of the corner ticks"),
        ("Keep on the film", "register marks on the four sides, corner ticks, test strip and screens, all in the file"),
        ("Finest line on the film", f"{line} wide; it must be whole from end to end"),
        ("Not to be done", "no spread or choke, no screening, no smoothing, no scaling: the file is corrected for the etch already"
         if words["shows"] == "finished plate" else "no spread or choke, no screening, no smoothing, no scaling"),
    ]  # fmt: skip
    return _page("film_order", plan, paper, shop, date, facts=facts, size=size, line=line)


_BLACK = {
    "etched": "what is etched; clear is metal that is kept (a positive, for resist that light hardens)",
    "kept": "metal that is kept; clear is what is etched (a negative, for resist that light loosens)",
}
_EMULSION = {
    "up": "right-reading, emulsion up: it reads right with the emulsion towards you. The file is as it is read; do not mirror it",
    "down": "right-reading, emulsion down: it reads right with the emulsion away from you. The file is mirrored for that already; do not mirror it again",
}  # fmt: skip


def _film_line(plan: Plan) -> str:
    """Return the width of the finest line on the film, as the answers of the plan have it."""
    if plan.commission.words["shows"] == "film as it is" and "drawn_line" in plan.book.values:
        return answers.shown(plan, "drawn_line")
    return answers.shown(plan, "narrowest_film_line" if answers.too_deep(plan) else "film_line")


def _resolution(plan: Plan) -> str:
    """Return the film's resolution: as said, or that of the file that was read; "" where unknown."""
    if "film_resolution" in plan.commission.typed:
        return f"{answers.shown(plan, 'film_resolution')} or more"
    if plan.drawing is None or not plan.drawing.found:
        return ""
    return f"{25.4 / plan.drawing.found['pixel']:.5g} dpi, as the file"


def _quotation(
    plan: Plan, paper: str, *, quotation: dict[str, Any], shop: str = "", date: str = ""
) -> str:
    """Return the quotation: every figure comes worded from whoever worked the cost out."""
    return _page("quotation", plan, paper, shop, date, q=quotation)


_MADE: dict[str, Callable[..., str]] = {
    "labels": _labels,
    "carrier": _carrier,
    "proof": _proof,
    "film_order": _film_order,
    "quotation": _quotation,
}
