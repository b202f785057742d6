"""What a plan starts from before any formula: what was said, drawn, written down or learnt."""

from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import first
from etchcalc.core.vocabulary import term
from etchcalc.job import learning, ranges, tray_layout
from etchcalc.job.bath_state import State, composition
from etchcalc.job.book import Book, number, use
from etchcalc.job.calibrate import Learnt, factor_learnt
from etchcalc.job.commission import Commission
from etchcalc.job.corrections import Corrections
from etchcalc.job.drawing import Drawing
from etchcalc.job.steps import RUB_DOWN
from etchcalc.process import plate

ROCKING_GAIN = tables.constant("rocking_gain_by_motor")
ROCKED_SPREAD = tables.constant("rate_spread_by_motor")
_LIKE = 0.1  # of depth or width, within which a simulated groove speaks for another
ALL_BUT_SPENT = 99.0  # per cent: beyond, it etches no more
_STARTS = (
    "rate_correction", "etch_factor_correction", "field_width", "spent_place", "loss_correction",
    "lid_loss", "heat_capacity_place", "greatest_heat_capacity", "elastic_modulus", "soda_place", "sewer_limit",
)  # fmt: skip


@dataclass(frozen=True)
class Known:
    """What the shop knows beside the commission.

    Parameters
    ----------
    bath : State or None
        What the log of the bath named in the commission tells.
    corrections : Corrections or None
        What earlier jobs taught.
    name : str
        Of the commission's folder: its own entries do not count before it is done.
    prices : dict of str to str
        What the shop pays and asks, as typed.
    """

    bath: State | None = None
    corrections: Corrections | None = None
    name: str = ""
    prices: dict[str, str] = field(default_factory=dict)


NOTHING_MORE = Known()


def enter(book: Book, commission: Commission, drawing: Drawing | None, known: Known) -> None:
    """Enter everything that is known before any formula is worked."""
    said = {**_starts(), **_way(commission.words["plate_lies"]), **commission.values}
    for name, quantity in said.items():
        book.say(name, quantity, commission.status(name), commission.tolerances.get(name))
    _enter_moved(book, commission.words["moved"])
    _enter_bath(book, commission, known)
    own = learning.own(commission, known.corrections, known.name, _model_spread(commission))
    if own is not None:
        _correct(book, "rate_correction", float(np.exp(own.rate)), own.rate_spread)
    for name, quantity in composition(commission.metal).items():
        book.say(name, quantity, commission.alloy["status"])
    _enter_drawing(book, commission, drawing)
    count = int(commission.values["plate_count"].magnitude)
    _enter_rub_down(book, commission)
    _enter_etch_factor(book, commission, own)
    _enter_wedges(book, commission)
    book.say(
        "plates_at_once",
        _plates(min(plates_in_tray(book.values, commission.words["plate_lies"]), count)),
        "given",
    )


def _enter_rub_down(book: Book, commission: Commission) -> None:
    """Let what rubbing down takes be etched too, where the depth is ordered as it is delivered."""
    if commission.words["depth_is"] != "after rubbing down":
        return
    for name, deeper in RUB_DOWN.items():
        if name in book.values:
            off = commission.tolerances.get(name)
            book.say(f"finished_{name}", commission.values[name], commission.status(name), off)
            book.forget(name)
            book.work(deeper)


def _enter_wedges(book: Book, commission: Commission) -> None:
    """Enter what the wedges told, in the place of the one test that is said."""
    told = learning.wedges(commission)
    if told is None:
        return
    exposure, error = told
    word, wanted = term("held_step"), commission.values["wanted_step"]
    book.put("test_exposure", exposure, "measured here")
    book.put("held_step", ranges.ways(word, wanted, error), "measured here")


def correct_rate(book: Book, told: Learnt) -> None:
    """Enter what gauge readings tell of the rate, over the one before any."""
    before = number(book, "rate_correction")
    _correct(book, "rate_correction", before * told.correction, told.spread)
    book.measured["fresh_rate"] = "measured here"


def spread_before(commission: Commission, known: Known) -> float:
    """Return the spread of ln(rate) before any reading of this job."""
    spread = _model_spread(commission)
    own = learning.own(commission, known.corrections, known.name, spread)
    return spread if own is None else own.rate_spread


def _model_spread(commission: Commission) -> float:
    if commission.words["moved"] == "rocked by motor":
        return float(ROCKED_SPREAD.magnitude)
    return term("rate_correction").spread


def _correct(book: Book, name: str, correction: float, spread: float) -> None:
    word = term(name)
    book.put(name, ranges.ways(word, word.quantity(correction), spread), "measured here")


def _enter_etch_factor(book: Book, commission: Commission, own: learning.Own | None) -> None:
    """Enter the shop's own etch factor: as said, or from measured grooves and earlier jobs."""
    word, mean = term("etch_factor_correction"), 0.0
    spread, measured = word.spread, learning.factors(commission)
    kept = own is not None and own.factor is not None and own.factor_spread is not None
    if own is not None and kept:
        mean, spread = float(own.factor or 0.0), float(own.factor_spread or spread)
    if measured or kept:
        told = factor_learnt(
            measured, prior_mean=mean, prior_spread=spread, error=learning.SECTION_ERROR
        )
        _correct(book, "etch_factor_correction", *told)
        book.measured["etch_factor"] = "measured here"
    if "etch_factor" in commission.values and "etch_factor" not in commission.tolerances:
        said = ranges.ways(word, word.quantity(1.0), learning.SECTION_ERROR)
        book.put("etch_factor", commission.values["etch_factor"] * said, "measured here")
    elif _worked_holds(book) and not (measured or kept):
        # the simulation knows the shape no better than the usual values: their range stays
        worked = ranges.ways(word, word.quantity(1.0), word.spread)
        book.put("etch_factor", commission.values["worked_etch_factor"] * worked, "worked out")


def _worked_holds(book: Book) -> bool:
    """Return whether there is an etch factor of a simulated groove, and for a groove like this one."""
    return "worked_etch_factor" in book.values and all(
        abs(number(book, now) / number(book, simulated) - 1) <= _LIKE
        for now, simulated in (("depth", "worked_depth"), ("finest_line", "worked_line"))
        if simulated in book.values
    )


def refuse_contradiction(book: Book, commission: Commission) -> None:
    """Refuse a bath that cannot be what is said of it, in one sentence."""
    if np.isfinite([number(book, name) for name in ("strength", "bath_spent_share")]).all():
        if number(book, "bath_spent_share") > ALL_BUT_SPENT:
            raise BadInput(
                "bath: by what is said of it no ferric is left in this bath; refresh it, or correct "
                "the metal, the trial or the strip."
            )
        return
    if commission.words["bath_is"] == "found on the shelf":
        raise BadInput(
            "bath: what the hydrometer shows and what else is said of this bath do not go together; "
            "read it again, or correct the metal, the trial or the volume of the bath."
        )
    raise BadInput(
        "metal dissolved: more than the ferric of this bath can take; type less metal, or a larger "
        "volume or strength of the bath."
    )


def blank_size(values: dict) -> tuple:
    """Return the middle width and height of the blank: the finished plate and its margin."""
    names = ("plate_width", "plate_height", "waste_margin")
    width, height, margin = (first(values[name]) for name in names)
    return (
        plate.blank_width(plate_width=width, waste_margin=margin),
        plate.blank_height(plate_height=height, waste_margin=margin),
    )


def plates_in_tray(values: dict, lies: str) -> int:
    """Return how many blanks the tray holds side by side, or on edge one behind the other."""
    return len(tray_layout.places(values, blank_size(values), lies))


@cache
def _starts() -> dict[str, Any]:
    """Return what no commission says, such as the shop's own corrections before any reading."""
    return {name: term(name).quantity(float(term(name).start or 0)) for name in _STARTS}


@cache
def _way(lies: str) -> dict[str, Any]:
    return {"groove_turning": term("groove_turning").quantity(0.0 if lies == "face up" else 1.0)}


@cache
def _plates(number: int):
    return term("plates_at_once").quantity(float(number))


def _enter_moved(book: Book, moved: str) -> None:
    """Enter how the tray is moved: a motor's gain is a guess, and widens what the rate may be."""
    if moved == "rocked by motor":
        book.say("rocking_gain", ROCKING_GAIN, "assumed")
        book.put("rate_correction", _rocked(), book.basis["rate_correction"])
    else:
        book.say("rocking_gain", _by_hand(), "worked out")


@cache
def _by_hand():
    return term("rocking_gain").quantity(1.0)


@cache
def _rocked():
    correction = term("rate_correction")
    return ranges.ways(correction, correction.quantity(1.0), float(ROCKED_SPREAD.magnitude))


@cache
def _nothing_spent():
    return term("bath_spent_share").quantity(0.0)


def _enter_bath(book: Book, commission: Commission, known: Known) -> None:
    """Enter what the bath is, where that is known before any formula."""
    state = commission.words["bath_is"]
    if state == "new":
        book.say("bath_spent_share", _nothing_spent(), "given")
    elif state == "found on the shelf":
        book.forget("strength")
    elif known.bath is not None:
        book.say("strength", known.bath.strength, "given")
        book.say("bath_volume", known.bath.volume, "given")
        book.say("bath_spent_share", known.bath.bath_spent_share, "worked out")


def _enter_drawing(book: Book, commission: Commission, drawing: Drawing | None) -> None:
    if drawing is None:
        line, off = commission.values["finest_line"], commission.tolerances.get("finest_line")
        book.say("narrowest_line", line, book.basis["finest_line"], off)
        book.work(use("open_area"))
        if "open_fraction" not in commission.tolerances:
            spread = ranges.ways(term("open_area"), book.values["open_area"])
            book.put("open_area", spread, book.basis["open_area"])
        return
    book.width_shares = drawing.found["shares"] if drawing.found else None
    book.say("open_area", drawing.open_area, "drawing")
    if drawing.found:
        edges = commission.values["plate_count"].magnitude * drawing.found["edge_length"]
        book.say("edge_length", term("edge_length").quantity(edges), "drawing")
    face = book.values["plate_width"] * book.values["plate_height"]
    book.say("open_fraction", book.values["open_area"] / face, "drawing")
    for name, width in (
        ("narrowest_line", drawing.narrowest_line),
        ("narrowest_land", drawing.narrowest_land),
    ):
        if width is not None:
            book.say(name, width, "drawing")
            book.bounds[name] = drawing.width_bound
    if commission.words["shows"] == "film as it is" and drawing.narrowest_line is not None:
        book.say("drawn_line", drawing.narrowest_line, "drawing")
        land = drawing.narrowest_land
        book.say("drawn_land", book.values["plate_width"] if land is None else land, "drawing")
