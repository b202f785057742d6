"""What a commission's own measurements teach, and what is kept of it for the shop's next job."""

from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np

from etchcalc.artwork.film import WIDTHS
from etchcalc.core.units import MINUTE, MM, ONE, UM, Quantity, first, unit
from etchcalc.core.vocabulary import term
from etchcalc.job import calibrate, corrections
from etchcalc.job.book import Book, number
from etchcalc.job.calibrate import Learnt, Reading
from etchcalc.job.commission import Commission
from etchcalc.job.corrections import Corrections, Entry, Own
from etchcalc.job.schema import GAUGED_ON, SECTION, WEDGE
from etchcalc.job.through import History
from etchcalc.process import exposure, gauging, rates, undercut

# Spread of ln of one measured etch factor: gauge and glass together (assumed).
SECTION_ERROR = 0.08
_RATE, SECOND = UM / MINUTE, unit("s")
# How wrong the share of fields may be where a drawing tells it, in halves of the whole (assumed).
SHARE_ERROR = 0.3
# Of the open area by which a loss of weight is turned into depth.
AREA_ERROR = 0.03


def readings(commission: Commission, book: Book) -> list[Reading]:
    """Return the gauge readings and weighings of a commission as understood.

    The film under the gauge is taken off. A weighing gives the mean depth of lines and fields. How
    they share the open area the drawing tells; without one its error counts half of their difference.
    """
    found = []
    for typed in commission.readings:
        minutes = float(term("reading_time").read(typed["reading_time"]).to(MINUTE).magnitude)
        if typed.get("weight_lost", "").strip():
            found.append(Reading(minutes, *_weighed(typed["weight_lost"], book)))
            continue
        film = term("film_under_gauge").read(typed.get("film_under_gauge") or "0 mm")
        read = term("reading_depth").read(typed["reading_depth"])
        wide = typed.get("gauged_on") == GAUGED_ON[1]
        found.append(
            Reading(minutes, float((read - film).to(MM).magnitude), "field" if wide else "line")
        )
    return found


def _weighed(typed: str, book: Book) -> tuple[float, str, float, float]:
    inputs = {name: _middle(book, name) for name in ("metal_density", "open_area_of_all")}
    lost = term("weight_lost").read(typed)
    depth = float(gauging.depth_by_weight(weight_lost=lost, **inputs).to(MM).magnitude)
    line, field = (number(book, name) for name in ("depth", "field_depth"))
    apart = depth * abs(line - field) / (line + field)
    share = field_share(book)
    if share is None:
        share = 0.5
    else:
        apart *= SHARE_ERROR
    return depth, "mean", float(np.hypot(AREA_ERROR * depth, apart)), share


def field_share(book: Book) -> float | None:
    """Return how much of the mean depth over all open metal is a wide field's, 0 to 1.

    Each band of line width of the drawing etches at its own rate, between that of the finest line
    and that of a field. None without a drawing, or where the two rates are the same.
    """
    line, field = (
        float(_middle(book, name).to(_RATE).magnitude)
        for name in ("fresh_rate", "field_fresh_rate")
    )
    if not book.width_shares or not any(book.width_shares) or abs(line - field) < 1e-6 * line:
        return None
    finest = number(book, "finest_line")
    widths = [max(finest, np.sqrt(a * b)) for a, b in pairwise((WIDTHS[0] / 2, *WIDTHS))]
    rates_there = [
        first(book.reworked({"finest_line": Quantity(width, MM)}, ("fresh_rate",))["fresh_rate"])
        for width in widths
    ]
    fast = [float(rate.to(_RATE).magnitude) for rate in rates_there]
    mean = float(np.dot(book.width_shares, [*fast, field]))
    return float(np.clip((mean - line) / (field - line), 0.0, 1.0))


def factors(commission: Commission) -> list[float]:
    """Return the etch factors of the measured grooves, each over the usual one of its width."""
    found = []
    for typed in commission.sections:
        said = {name: term(name).read(typed[name]) for name in SECTION}
        if typed.get("developed_line", "").strip():  # an error of exposure is no undercut
            said["section_film"] = term("developed_line").read(typed["developed_line"])
        usual = undercut.usual_etch_factor(line_width=said["section_line"])
        found.append(float((gauging.measured_etch_factor(**said) / usual).to(ONE).magnitude))
    return found


def wedges(commission: Commission) -> tuple[Any, float] | None:
    """Return today's exposure from the step wedges, and its error in steps; None where none was lit.

    Each wedge tells the exposure that would have held the wanted step. The middle is their
    geometric mean; its error is that of reading a step, or the wedges' own scatter where that is
    wider, over the root of their number.
    """
    if not commission.wedges:
        return None
    values, steps = commission.values, []
    for typed in commission.wedges:
        said = {name: term(name).read(typed[name]) for name in WEDGE}
        factor = exposure.step_factor(
            step_density=values["step_density"],
            wanted_step=values["wanted_step"],
            held_step=said["held_step"],
        )
        steps.append(float(np.log10((said["test_exposure"] * factor).to(SECOND).magnitude)))
    each = float(values["step_density"].to(ONE).magnitude)
    scatter = float(np.std(steps, ddof=1)) / each if len(steps) > 1 else 0.0
    error = max(term("held_step").spread, scatter) / len(steps) ** 0.5
    return Quantity(10 ** float(np.mean(steps)), SECOND), error


def from_readings(
    commission: Commission, book: Book, history: History | None, spread: float
) -> Learnt:
    """Return what the commission's readings tell of the rate, over the one before any.

    Parameters
    ----------
    commission : Commission
    book : Book
        Of the plan before any reading.
    history : History or None
    spread : float
        Of ln(rate) before any reading.
    """

    def minutes_to(depths, wide: bool):
        if history:
            return history.minutes_to(depths, "field_width" if wide else "finest_line", True)[:, 0]
        used = book.uses["field_fresh_rate" if wide else "fresh_rate"]
        inputs = {key: first(v) for key, v in book.inputs(used).items()}
        deep = Quantity(depths, MM)
        rate = rates.fresh_rate(**{**inputs, "depth": deep}) * _middle(book, "tiring")
        return (deep / rate).to(MINUTE).magnitude

    return calibrate.learnt(
        readings(commission, book),
        minutes_to,
        number(book, "depth"),
        prior=spread,
        drift=number(book, "rate_drift") / 100,
        gauge_error=number(book, "gauge_error"),
    )


def _middle(book: Book, name: str):
    return first(book.values[name])


# ---- what the shop keeps


def tray_name(commission: Commission) -> str:
    """Return a tray as corrections know it: what it is of and its size."""
    length, width = (commission.values[n].to(MM).magnitude for n in ("tray_length", "tray_width"))
    return f"{commission.words['tray_material']} {length:.0f} × {width:.0f} mm"


def own(commission: Commission, known: Corrections | None, name: str, spread: float) -> Own | None:
    """Return what earlier jobs of this sort let this one expect."""
    if known is None or not known.entries:
        return None
    words = commission.words
    line = float(commission.values["finest_line"].to(MM).magnitude)
    sort = (tray_name(commission), words["moved"], words["plate_lies"], commission.metal)
    return _own(known, sort, line, spread, name)


@cache
def _own(known: Corrections, sort: tuple[str, ...], line: float, spread: float, name: str):
    tray, moved, lies, metal = sort
    return known.found(
        tray=tray, moved=moved, lies=lies, metal=metal, line=Quantity(line, MM),
        prior_spread=spread, without=name,
    )  # fmt: skip


def entry(commission: Commission, book: Book, alone: Learnt, name: str, date: str) -> Entry:
    """Return what a done job teaches, as corrections keep it.

    Parameters
    ----------
    commission : Commission
    book : Book
        Of the plan before any reading.
    alone : Learnt
        What the readings tell by themselves (`from_readings` with the spread `calibrate.ALONE`).
    name, date : str
        Of the commission's folder; the day, as 2026-02-01.
    """
    words = commission.words
    found = Entry(
        commission=name,
        date=date,
        tray=tray_name(commission),
        moved=words["moved"],
        lies=words["plate_lies"],
        metal=commission.alloy["known_as"][0],
        line=f"{number(book, 'finest_line'):g} mm",
        rate=round(alone.correction * number(book, "rate_correction"), 4),
        rate_spread=round(alone.spread, 4),
        readings=len(commission.readings) - len(alone.suspect),
    )
    measured = factors(commission)
    if not measured:
        return found
    mean = float(np.exp(np.mean(np.log(measured))))
    spread = SECTION_ERROR / len(measured) ** 0.5
    return replace(found, etch_factor=round(mean, 4), etch_factor_spread=round(spread, 4))


def file_of(root):
    """Return the shop's file of corrections."""
    return root / corrections.NAME
