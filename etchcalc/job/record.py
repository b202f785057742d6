"""The worked record of a commission: everything said, worked out and rested on, as plain data."""

from dataclasses import asdict

import numpy as np

import etchcalc
from etchcalc.core import tables
from etchcalc.core.units import unit
from etchcalc.core.vocabulary import term
from etchcalc.job import answers, pricing
from etchcalc.job.advice import advice
from etchcalc.job.commission import Commission
from etchcalc.job.placeholders import placeholders
from etchcalc.job.plan import Plan
from etchcalc.job.schema import ROWS

SCHEMA = 4
# Units of the results in pint's own words: what `etchcalc plan --json` promises.
_UNITS = {
    "fine": "mm", "size": "mm", "area": "cm^2", "volume": "L", "little volume": "mL", "mass": "g",
    "share": "dimensionless", "number": "dimensionless", "density": "kg/m^3", "rate": "um/min",
    "time": "min", "metal in bath": "g/L", "strength": "g/L", "temperature": "degC", "film": "um",
    "short time": "s", "irradiance": "mW/cm^2", "dose": "mJ/cm^2",
    "power": "W", "heat": "kJ", "heat flux": "W/m^2", "heat capacity": "kJ/kg/K",
    "metal in rinse": "mg/L", "drag-out": "L/m^2", "evaporation": "mL/hour", "resolution": "dots_per_inch", "stiffness": "GPa",
    "spreading rate": "m^2/L",
}  # fmt: skip


def _rounded(value: float) -> float | None:
    """Return a number to ten figures, so that a record made twice is the same file."""
    return float(f"{value:.10g}") if np.isfinite(value) else None


def _magnitude(quantity, kind: str) -> float | None:
    return None if quantity is None else _rounded(float(quantity.to(unit(_UNITS[kind])).magnitude))


def results(plan: Plan, *names: str) -> dict[str, dict]:
    """Return results as value, unit, low, high, basis: those named, else all that apply."""
    found = {}
    for name, figure in plan.figures(*names).items():
        kind = term(name).kind
        found[name] = {
            "value": _magnitude(figure.value, kind),
            "unit": _UNITS[kind],
            "low": _magnitude(figure.low, kind),
            "high": _magnitude(figure.high, kind),
            "basis": tables.STATUSES[figure.basis],
        }
    return found


def everything(plan: Plan) -> dict[str, dict]:
    """Return every result of a plan, its price too where the shop has said what it pays and asks."""
    return results(plan) | price(plan)


def said_of(name: str) -> tuple[str, str]:
    """Return what a result is called, and what it means."""
    if name == "price":
        return name, "what the client pays for all plates, tax included"
    return term(name).words, term(name).meaning


def noted(commission: Commission) -> dict[str, list[dict[str, str]]]:
    """Return what was noted as the job went, as typed, by part of the commission's file."""
    return {part: [dict(row) for row in commission.rows(part)] for part in ROWS}


def price(plan: Plan) -> dict[str, dict]:
    """Return the price of the job as a result; nothing where the shop has said no prices."""
    cost = pricing.cost_of(plan)
    if cost is None:
        return {}
    low, value, high = (_rounded(float(n)) for n in (cost.low, cost.gross, cost.high))
    basis = tables.STATUSES[cost.basis]
    return {
        "price": {
            "value": value,
            "unit": cost.prices.currency,
            "low": low,
            "high": high,
            "basis": basis,
        }
    }


def steps(plan: Plan) -> list[dict]:
    """Return the job in order: what to do, what to write down, workings, cautions."""
    said = placeholders(plan)
    found = []
    for step in tables.load("steps.toml")["step"]:
        found.append(
            {
                "key": step["key"],
                "title": step["title"],
                "do": [answers.plain(line.format(**said)).strip() for line in step["do"]],
                "note": step["note"],
                "workings": [asdict(plan.working(n)) for n in plan.worked_in(step["key"])],
                "cautions": cautions(step, plan.commission.alloy.get("hazard")),
            }
        )
    return found


def cautions(step: dict, metal_hazard: str | None = None) -> list[dict]:
    """Return the cautions of a step: those of each of its hazards, and of the metal's."""
    hazards = list(step["hazards"])
    if metal_hazard and step["key"] in ("blank", "etch", "strip", "finish", "put_away"):
        hazards.append(metal_hazard)
    return [
        {
            "text": entry["text"],
            "short": entry["short"],
            "source": tables.source(entry["source"]).citation,
        }
        for entry in tables.load("cautions.toml").values()
        if entry["hazard"] in hazards
    ]


def record(plan: Plan, saved: str = "") -> dict:
    """Return the worked record of a plan.

    Parameters
    ----------
    plan : Plan
    saved : str
        Day of saving, ISO 8601; the record holds no other clock.

    Returns
    -------
    dict
        Ready for JSON. `schema` grows by one with every change of shape.
    """
    commission = plan.commission
    return {
        "schema": SCHEMA,
        "package": "etchcalc",
        "package_version": etchcalc.__version__,
        "saved": saved,
        "title": commission.title,
        "words": {key: text for key, text in commission.words.items() if text},
        "metal": {"key": commission.metal, "name": commission.alloy["name"]},
        "typed": commission.typed,
        "understood": {
            name: _understood(plan, name)
            for name in commission.values
            if name != "open_fraction" or plan.drawing is None  # else the drawing tells
        },
        "answers": list(answers.answers(plan)),
        "advice": [asdict(a) for a in advice(plan)],
        "results": everything(plan),
        "depth_against_time": curve(plan),
        "before_any_reading": curve(plan.before) if plan.before else None,
        "readings": gauged(plan),
        "noted": noted(plan.commission),
        "steps": steps(plan),
        "drawing": drawn(plan),
        "files": {commission.words["file"]: plan.drawing.digest} if plan.drawing else {},
    }


def drawn(plan: Plan) -> dict | None:
    """Return what was measured on the drawing and what the undercut loses of it; None without one.

    Lengths in mm, areas in mm², places in mm from the top left.
    """
    if plan.drawing is None or plan.drawing.found is None:
        return None
    losses = plan.losses
    return {
        "read": plan.drawing.read,
        "measures": {
            name: _rounded(value) if isinstance(value, float) else value
            for name, value in plan.drawing.found.items()
        },
        "losses": {"counts": losses.counts, "listed": losses.listed} if losses else None,
    }


def curve(plan: Plan) -> dict[str, list]:
    """Return minutes to depths in mm: 5 % of the ways, middle, 95 %."""
    depths = answers.deepest_axis(plan)
    early, middle, late = plan.depth_against_time(depths)
    return {
        "depth": [_rounded(d) for d in depths.to("mm").magnitude],
        "early": [_rounded(t) for t in early],
        "middle": [_rounded(t) for t in middle],
        "late": [_rounded(t) for t in late],
    }


def pictured(plan: Plan) -> dict:
    """Return the part of a record that its moving pictures are drawn from."""
    named = ("depth", "finest_line", "narrowest_film_line")
    return {
        "words": plan.commission.words,
        "understood": {name: _understood(plan, name) for name in named},
        "results": results(plan, "undercut", "greatest_depth", "narrowest_line", "gauge_time"),
        "depth_against_time": curve(plan),
        "before_any_reading": curve(plan.before) if plan.before else None,
        "readings": gauged(plan),
    }


def gauged(plan: Plan) -> list[dict]:
    """Return the gauge readings as typed and as understood."""
    suspect = plan.told.suspect if plan.told else ()
    return [
        {
            "typed": typed,
            "minutes": _rounded(read.minutes),
            "depth": _rounded(read.depth),
            "wide": read.kind == "field",
            "left_out": number in suspect,
        }
        for number, (typed, read) in enumerate(
            zip(plan.commission.readings, plan.readings, strict=True)
        )
    ]


def _understood(plan: Plan, name: str) -> dict:
    kind = term(name).kind
    return {
        "value": _magnitude(plan.ordered(name), kind),
        "unit": _UNITS[kind],
        "basis": tables.STATUSES[plan.commission.status(name)],
        "source": ""
        if name in plan.commission.typed
        else tables.source(plan.commission.source(name)).citation,
    }
