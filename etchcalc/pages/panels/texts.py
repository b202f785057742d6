"""What a panel says of a plan: plain text, the answers with their pictures, sums, cautions."""

from collections.abc import Iterable
from dataclasses import asdict
from html import escape
from pathlib import Path

import numpy as np

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import answers, baths, rate_map
from etchcalc.job import record as records
from etchcalc.job.advice import advice
from etchcalc.job.answers import shown
from etchcalc.job.plan import Figure, Plan
from etchcalc.job.strengths import said_every_way
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
    groove, fan = sheet.pictures(records.pictured(plan), term("depth").reach)
    return (
        f"{_said_html(plan, answers.answers(plan))}<div class='etch-two'>"
        f"<div><h3>The finest line, cut through</h3>{groove}</div>"
        f"<div><h3>Depth against time</h3>{fan}</div></div>"
    )


def bath_html(plan: Plan) -> str:
    """Return the answers on the bath and the lifting, the advice and the forecast."""
    said = answers.bath_answer(plan), answers.lift_answer(plan)
    fan = sheet.pictures(records.pictured(plan))[1]
    paced = f"<div class='etch-advice'><p>{escape(pace(plan))}</p></div>"
    return f"{_said_html(plan, said, 'second')}{paced}<div class='etch-one-picture'><h3>Depth against time</h3>{fan}</div>"


def _said_html(plan: Plan, sentences, told_elsewhere: str = "") -> str:
    said = "".join(f"<p>{sheet.bold(a)}</p>" for a in sentences)
    more = "".join(
        f"<p class='{'etch-out' if a.way_out else ''}'>{escape(a.text)}</p>"
        for a in advice(plan)
        if a.way_out or a.key != told_elsewhere
    )
    return (
        f"<div class='etch-sentence' aria-live='polite'>{said}</div>"
        f"<div class='etch-advice'>{more}</div>"
    )


def _spanned(plan: Plan, name: str) -> str:
    """Return a value in bold, its range behind it."""
    figure, kind = plan.figures(name)[name], term(name).kind
    return f"**{shown(plan, name, count=2)}** ({_ends(figure, kind, plan.commission.units)})"


def heat_said(plan: Plan) -> str:
    """Return what the tray's heat asks for: warming up, holding, water, the heater's cover."""
    wanted, start = (shown(plan, name) for name in ("temperature", "starting_temperature"))
    minutes, holding = plan.number("warm_up_time"), plan.number("heat_loss")
    heater = plan.number("heater_rating") > 0
    hold = f"holding it takes {_spanned(plan, 'heat_loss')}" if holding > 0 else "the room holds it"
    if plan.number("starting_temperature") >= plan.number("temperature"):
        said = f"At {start} the etchant is as warm as wanted from the start; {hold}."
    elif np.isfinite(minutes):
        said = f"The heater warms it from {start} to {wanted} in {_spanned(plan, 'warm_up_time')}; {hold}."
    else:
        said = f"{'This heater' if heater else 'Without a heater the tray'} never reaches {wanted}; {hold}."
    if plan.number("water_lost") > 0:
        said += f" Over the etch {_spanned(plan, 'water_lost')} of water goes, {shown(plan, 'evaporation_rate', count=2)} in the middle"
        bared = plan.number("heater_bared_time")
        if heater and plan.number("heater_cover") > 0 and np.isfinite(bared):
            said += f"; with none put back the heater is bare after {shown(plan, 'heater_bared_time', toward=-1)}"
        said += "."
    return said


def log_html(root: Path, name: str, units: str) -> str:
    """Return the log of a bath of the shop, an entry a line."""
    path = baths.path_of(root, name) if name else None
    try:
        said = baths.said(baths.opened(path), units) if path and path.is_file() else []
    except BadInput as fault:
        return f"<b role='alert'>{escape(str(fault))}</b>"
    if not said:
        return "<p>A name begins a log with the job for which the bath is new.</p>"
    return f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in said)}</ul>"


def measures(plan: Plan) -> list[tuple[str, str]]:
    """Return the strength of a plan in every measure, a row each."""
    return said_every_way(
        plan.middle("strength"), plan.middle("mixing_temperature"), plan.commission.units
    )


def mapped(plan: Plan) -> rate_map.RateMap:
    """Return the rate over usual strengths and temperatures."""
    return rate_map.rate_map(plan, np.linspace(200, 900, 8), np.arange(20, 51, 10))


def bath_text(plan: Plan) -> str:
    """Return the whole result of a plan as plain text, with its heat, measures and rates."""
    found = mapped(plan)
    rows = [*measures(plan), *rate_map.table(found, plan.commission.units)]
    said = [as_text(plan), pace(plan), answers.plain(heat_said(plan)), rate_map.said(found, plan)]
    return "\n".join([*said, *("   ".join(row) for row in rows)])


def rows_html(rows, headed: bool = False) -> str:
    """Return rows as a table, everything escaped; the first cell of a row is its heading."""
    found = []
    for number, (first, *others) in enumerate(rows):
        kind = "th" if headed and number == 0 else "td"
        cells = "".join(f"<{kind}>{escape(cell)}</{kind}>" for cell in others)
        found.append(f"<tr><th scope='row'>{escape(first)}</th>{cells}</tr>")
    return f"<div class='etch-scroll'><table class='etch-table'>{''.join(found)}</table></div>"


def rests_html(plan: Plan) -> str:
    """Return what the answers rest on, and the lesser figures."""
    basis = {name: tables.STATUSES[plan.book.basis[name]] for name in ("fresh_rate", "etch_factor")}
    factor = show(plan.middle("etch_factor"), "number")
    return escape(
        f"The finest line takes {answers.shown(plan, 'greatest_depth', toward=-1)} at most. "
        f"Rate: {basis['fresh_rate']}. Etch factor {factor}: {basis['etch_factor']}. "
        f"Stop-out paint {answers.shown(plan, 'stop_out_paint')}, "
        f"fill paint {answers.shown(plan, 'fill_paint')}. "
        f"{pace(plan)}"
    )


def pace(plan: Plan) -> str:
    """Return what to do while it etches, how long that is on the clock, what its range comes from."""
    return (
        f"{answers.tilt_reason(plan)} Look and change places every {shown(plan, 'look_interval')}: "
        f"{shown(plan, 'bench_time')} on the clock. {answers.range_reason(plan)}"
    )


def sums_html(plan: Plan, names: Iterable[str]) -> str:
    """Return the workings behind those of the values that a formula or an integration gave."""
    return "".join(sum_html(plan, name) for name in names if plan.has_working(name))


def sum_html(plan: Plan, name: str) -> str:
    """Return the working behind one value, with its range and its sources, in metric units.

    A sum stands in the units in which it is worked, its range with it.
    """
    with np.errstate(divide="ignore", invalid="ignore"):  # a wait that ends never
        working = plan.working(name)
    figure = plan.figures(name)[name]
    ends = ""
    if figure.low is not None and figure.low != figure.high:
        low, high = (show(end, term(name).kind) for end in (figure.low, figure.high))
        ends = f"   ({low} to {high})"
    sources = escape(" · ".join(working.sources))
    return (
        f"<pre>{lines_html(sheet.sum_text(asdict(working), ends))}</pre>"
        f"<p class='etch-source'>{sources}</p>"
    )


def lines_html(text: str) -> str:
    """Return lines of plain text, each with its indent, so that a long one is broken under itself."""
    found = []
    for line in text.split("\n"):
        words = line.lstrip(" ")
        found.append(
            f"<span class='etch-line' style='--in:{len(line) - len(words)}'>{escape(words)}</span>"
        )
    return "".join(found)


def _step(key: str) -> dict:
    return next(s for s in tables.load("steps.toml")["step"] if s["key"] == key)


def cautions_said(key: str, metal_hazard: str | None) -> str:
    """Return the usual cautions of one step as sentences; "" where it has none."""
    return " ".join(c["text"] for c in records.cautions(_step(key), metal_hazard))


def caution_html(key: str, metal_hazard: str | None) -> str:
    """Return the usual cautions of one step."""
    step = _step(key)
    said = cautions_said(key, metal_hazard)
    return (
        f"<p><b>{escape(step['title'])}:</b> {escape(said)}</p><p class='etch-small-print'>"
        "Usual cautions; local rules and licensed practice come first.</p>"
    )


def cautions_html(metal_hazard: str | None) -> str:
    """Return the usual cautions of every step that has a hazard."""
    steps = [s["key"] for s in tables.load("steps.toml")["step"] if s["hazards"]]
    return "".join(caution_html(key, metal_hazard) for key in steps)
