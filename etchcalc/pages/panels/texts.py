"""What a panel says of a plan: plain text, the answers with their pictures, sums, cautions."""

from dataclasses import asdict
from html import escape

from etchcalc.core import tables
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import answers
from etchcalc.job import record as records
from etchcalc.job.advice import advice
from etchcalc.job.plan import Figure, Plan
from etchcalc.pages import sheet


def as_text(plan: Plan) -> str:
    """Return the whole result of a plan, ranges to two figures, as plain text.

    A workbook's committed output: strict comparison of it checks every figure.
    """
    system = plan.commission.units
    said = [plan.commission.title, *map(answers.plain, answers.answers(plan))]
    said += [a.text for a in advice(plan)]
    for name, figure in plan.figures().items():
        kind = term(name).kind
        row = f"{term(name).words:<24}{show(figure.value, kind, system):>20}"
        if figure.low is not None and figure.low != figure.high:
            row += f"   ({_ends(figure, kind, system)})"
        said.append(f"{row}   {tables.STATUSES[figure.basis]}")
    return "\n".join(said)


def _ends(figure: Figure, kind: str, system: str) -> str:
    """Return the ends of a range to two figures, or as many as tell them apart."""
    for count in (2, 3, 4, 5):
        low, high = (
            show(end, kind, system, count, fixed=kind == "time")
            for end in (figure.low, figure.high)
        )
        if low != high:
            break
    return f"{low} to {high}"


def answers_html(plan: Plan) -> str:
    """Return the sentence with the three answers, the advice, the groove and the forecast.

    One text for one widget: what moves together is sent together.
    """
    said = "".join(f"<p>{sheet.bold(a)}</p>" for a in answers.answers(plan))
    more = "".join(
        f"<p class='{'etch-out' if a.way_out else ''}'>{escape(a.text)}</p>" for a in advice(plan)
    )
    groove, fan = sheet.pictures(records.pictured(plan))
    return (
        f"<div class='etch-sentence' aria-live='polite'>{said}</div>"
        f"<div class='etch-advice'>{more}</div><div class='etch-two'>"
        f"<div><h3>The finest line, cut through</h3>{groove}</div>"
        f"<div><h3>Depth against time</h3>{fan}</div></div>"
    )


def rests_html(plan: Plan) -> str:
    """Return what the answers rest on, and the lesser figures."""
    basis = {name: tables.STATUSES[plan.book.basis[name]] for name in ("fresh_rate", "etch_factor")}
    factor = show(plan.middle("etch_factor"), "number")
    return escape(
        f"The finest line takes {answers.shown(plan, 'greatest_depth', toward=-1)} at most. "
        f"Rate: {basis['fresh_rate']}. Etch factor {factor}: {basis['etch_factor']}. "
        f"Stop-out paint {answers.shown(plan, 'stop_out_paint')}, "
        f"fill paint {answers.shown(plan, 'fill_paint')}. "
        f"Tilt every {answers.shown(plan, 'tilt_interval')}; "
        "look and change places after about an hour."
    )


def sum_html(plan: Plan, name: str) -> str:
    """Return the working behind one value, with its range and its sources, in metric units.

    A sum stands in the units in which it is worked, its range with it.
    """
    working = plan.working(name)
    figure = plan.figures(name)[name]
    ends = ""
    if figure.low is not None and figure.low != figure.high:
        low, high = (show(end, term(name).kind) for end in (figure.low, figure.high))
        ends = f"   ({low} to {high})"
    sources = escape(" · ".join(working.sources))
    return (
        f"<pre>{escape(sheet.sum_text(asdict(working), ends))}</pre>"
        f"<p class='etch-source'>{sources}</p>"
    )


def caution_html(key: str, metal_hazard: str | None) -> str:
    """Return the usual cautions of one step."""
    step = next(s for s in tables.load("steps.toml")["step"] if s["key"] == key)
    said = " ".join(c["text"] for c in records.cautions(step, metal_hazard))
    return (
        f"<p><b>{escape(step['title'])}:</b> {escape(said)}</p><p class='etch-small-print'>"
        "Usual cautions; local rules and licensed practice come first.</p>"
    )


def cautions_html(metal_hazard: str | None) -> str:
    """Return the usual cautions of every step that has a hazard."""
    steps = [s["key"] for s in tables.load("steps.toml")["step"] if s["hazards"]]
    return "".join(caution_html(key, metal_hazard) for key in steps)
