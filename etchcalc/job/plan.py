"""The plan: every working of a commission in the order of the job, with ranges.

The plan is a list of formulas. Each takes its inputs by name from what is
known so far and adds its own result, as an array over the ways in which the
job may run (`ranges`), element 0 being the middle. What a figure rests on is
carried along in the same pass: it is the weakest of what went into it.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from etchcalc.core import formula, tables
from etchcalc.core.units import ONE, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.book import Book, use
from etchcalc.job.calibrate import Learnt, Reading, learnt
from etchcalc.job.commission import Commission
from etchcalc.job.drawing import Drawing
from etchcalc.job.schema import GAUGED_ON, READING
from etchcalc.process import rates
from etchcalc.process import tray as tray_formulas

# By step of data/steps.toml, but worked in the order in which each needs the ones before.
BATH = (
    use("etchant_mass_fraction"),
    use("etchant_density", mass_fraction="etchant_mass_fraction", temperature="mixing_temperature"),
    use("etchant_baume", mass_fraction="etchant_mass_fraction"),
    use("etchant_level"),
    use("etchant_volume"),
    use("etchant_crystals"),
    use("etchant_water"),
)
METAL = (
    use("ferric_demand"),
    use("copper_atom_share"),
    use("open_area_of_all"),
    use("metal_removed"),
    use("ferric_used"),
    use("etchant_crystals", "ferric_in_bath"),  # a fresh bath: what was weighed into it
    use("ferric_left"),
    use("spent_share"),
    use("load_share"),
    use("plates_to_come"),
    use("bath_copper_after"),
)
RATE = (
    use("molality", mass_fraction="etchant_mass_fraction"),
    use("etchant_density", "warm_density", mass_fraction="etchant_mass_fraction"),
    use("ferric_concentration", mass_fraction="etchant_mass_fraction", etchant_density="warm_density"),
    use("viscosity", mass_fraction="etchant_mass_fraction"),
    use("density_rise", mass_fraction="etchant_mass_fraction"),
    use("ferric_diffusivity"),
    use("reaction_constant"),
    use("reaction_velocity"),
    use("open_plate_velocity"),
    use("narrow_line_velocity", line_width="finest_line"),
    use("transport_velocity"),
    use("fresh_rate", line_width="finest_line"),
    use("tiring"),
    use("etch_rate"),
    use("etch_time"),
    use("gauge_depth"),
    use("fresh_rate", "gauge_fresh_rate", depth="gauge_depth", line_width="finest_line"),
    use("etch_rate", "gauge_rate", fresh_rate="gauge_fresh_rate"),
    use("etch_time", "too_deep_time", depth="gauge_depth", etch_rate="gauge_rate"),
    use("gauge_time"),
    use("fresh_rate", "field_fresh_rate", line_width="field_width", transport_velocity="open_plate_velocity"),
    use("etch_rate", "field_rate", fresh_rate="field_fresh_rate"),
    use("field_depth"),
    use("pooling_interval"),
    use("tilt_interval"),
)  # fmt: skip
FILM = (
    use("usual_etch_factor", line_width="finest_line"),
    use("etch_factor"),
    use("undercut"),
    use("film_line"),
    use("film_line_compensation"),
    use("greatest_depth"),
    use("narrowest_finished_line"),
)
FILM_AS_IT_IS = (use("line_limit"), use("land_limit"))
BLANK = (use("blank_area"),)
PAINT = (use("stop_out_area"), use("stop_out_paint"))
FILL = (use("fill_paint"),)
STEPS = {
    "film": FILM,
    "blank": BLANK,
    "stop_out": PAINT,
    "mix": BATH,
    "etch": RATE,
    "fill": FILL,
    "put_away": METAL,
}
ORDER = ("blank", "film", "mix", "put_away", "etch", "stop_out", "fill")

# The results of a plan: the names that record.json and --json use. Meaning and unit stand in the
# vocabulary under the same name.
RESULTS = (
    "open_area", "open_fraction", "narrowest_line", "narrowest_land", "undercut",
    "film_line_compensation", "greatest_depth", "etchant_volume", "etchant_crystals", "etchant_water",
    "etchant_density", "etchant_baume", "etch_rate", "etch_time", "gauge_time", "tilt_interval",
    "metal_removed", "ferric_used", "ferric_left", "bath_copper_after", "plates_to_come",
    "etchant_level", "stop_out_paint", "fill_paint",
)  # fmt: skip
# Beside an input in a working: what is not known firmly says so.
_MARKS = {key: f" ({tables.STATUSES[key]})" for key in ("assumed", "common practice")}
# Of an etch factor measured on the shop's own test strip (assumed: gauge and glass together).
OWN_ETCH_FACTOR_SPREAD = 0.08
DECISIONS = ("gauge_time", "tilt_interval", "etchant_level")


@dataclass(frozen=True)
class Figure:
    """A figure of the plan: its middle, the ends of its 90 % range, what it rests on."""

    name: str
    value: Any
    low: Any
    high: Any
    basis: str


@dataclass(frozen=True)
class Plan:
    """A commission worked out.

    Parameters
    ----------
    commission : Commission
    drawing : Drawing or None
    book : Book
        Every value by name, as arrays whose element 0 is the middle.
    told : Learnt or None
        What the commission's gauge readings tell of the rate.
    """

    commission: Commission
    drawing: Drawing | None
    book: Book
    told: Learnt | None = None

    def middle(self, name: str):
        """Return the middle of a value, a scalar in the metric unit of its kind."""
        quantity = self.book.values[name].to(term(name).unit)
        return Quantity(float(np.ravel(quantity.magnitude)[0]), quantity.units)

    def number(self, name: str) -> float:
        """Return the middle of a value as a bare number in its metric unit."""
        return float(self.middle(name).magnitude)

    def figures(self, *names: str) -> dict[str, Figure]:
        """Return figures with ranges; of all `RESULTS` that apply where none is named."""
        wanted = [n for n in names or RESULTS if n in self.book.values]
        rows, units = [], []
        for name in wanted:
            quantity = self.book.values[name].to(term(name).unit)
            units.append(quantity.units)
            rows.append(np.broadcast_to(quantity.magnitude, ranges.WAYS + 1))
        table = np.array(rows, dtype=float)
        low, high = ranges.ends(table)
        found = {}
        for i, name in enumerate(wanted):
            value, first, last = (
                Quantity(float(e), units[i]) for e in (table[i, 0], low[i], high[i])
            )
            bound = self.book.bounds.get(name)
            if bound is not None:
                first, last = value - bound, value + bound
            ends = (None, None) if name in DECISIONS else (first, last)
            found[name] = Figure(name, value, ends[0], ends[1], self.book.basis[name])
        return found

    def working(self, name: str) -> formula.Working:
        """Return the working behind a value that a formula gave."""
        used = self.book.uses[name]
        working = formula.working(used.formula, self.book.inputs(used), used.name)
        keys = list(used.sources)
        marks = [_MARKS.get(self.book.basis[key], "") for key in keys]
        inputs = [
            (term(k).words, v + m) for k, (_, v), m in zip(keys, working.inputs, marks, strict=True)
        ]
        return replace(working, inputs=tuple(inputs))

    def depth_against_time(self, depths) -> np.ndarray:
        """Return minutes to depths for the low, middle and high of the range.

        Parameters
        ----------
        depths : Quantity of shape (n,)

        Returns
        -------
        array of shape (3, n)
            Earliest (5 % of the ways), middle, latest (95 %).
        """
        column = depths.reshape(-1, 1)
        inputs = {**self.book.inputs(self.book.uses["fresh_rate"]), "depth": column}
        rate = rates.fresh_rate(**inputs) * self.book.values["tiring"]
        minutes = (column / rate).to("min").magnitude
        early, late = ranges.ends(minutes)
        return np.array([early, minutes[:, 0], late])

    @property
    def blank_size(self) -> tuple:
        """Width and height of the blank: the finished plate and its margin."""
        v = self.book.values
        margin = 2 * v["waste_margin"]
        return v["plate_width"] + margin, v["plate_height"] + margin

    @property
    def plates_at_once(self) -> int:
        """How many blanks the tray holds side by side."""
        v = self.book.values
        width, height = self.blank_size
        return tray_formulas.plates_in_tray(
            v["tray_length"], v["tray_width"], width, height, v["plate_gap"]
        )


def planned(
    commission: Commission, drawing: Drawing | None = None, before: Plan | None = None
) -> Plan:
    """Work a commission out, and where the plate was gauged, again with what that taught.

    Parameters
    ----------
    commission : Commission
    drawing : Drawing, optional
        Measured from the artwork; without it the open share is the one said.
    before : Plan, optional
        A plan of nearly the same commission: what does not depend on a changed input is taken
        from it, which halves the time of a slider's move.

    Returns
    -------
    Plan
    """
    plan = _worked(commission, drawing, before)
    if not commission.readings:
        return plan
    return _worked(commission, drawing, plan, _learnt(plan))


def _learnt(plan: Plan) -> Learnt:
    """Return what the commission's readings tell of the rate."""

    def minutes_to(depths, wide: bool):
        name = "field_fresh_rate" if wide else "fresh_rate"
        inputs = {key: _middle(v) for key, v in plan.book.inputs(plan.book.uses[name]).items()}
        deep = Quantity(depths, term("depth").unit)
        rate = rates.fresh_rate(**{**inputs, "depth": deep}) * _middle(plan.book.values["tiring"])
        return (deep / rate).to("min").magnitude

    return learnt(
        readings(plan.commission),
        minutes_to,
        plan.number("depth"),
        prior=term("rate_correction").spread,
        drift=plan.number("rate_drift") / 100,
        gauge_error=plan.number("gauge_error"),
    )


def _middle(quantity):
    return Quantity(float(np.ravel(quantity.magnitude)[0]), quantity.units)


def readings(commission: Commission) -> list[Reading]:
    """Return the gauge readings of a commission as understood: the film is taken off."""
    found = []
    for typed in commission.readings:
        said = {name: term(name).read(typed[name]) for name in READING}
        film = term("film_under_gauge").read(typed.get("film_under_gauge") or "0 mm")
        deep = float((said["reading_depth"] - film).to(term("depth").unit).magnitude)
        minutes = float(said["reading_time"].to("min").magnitude)
        found.append(Reading(minutes, deep, typed.get("gauged_on") == GAUGED_ON[1]))
    return found


def _worked(
    commission: Commission,
    drawing: Drawing | None = None,
    before: Plan | None = None,
    told: Learnt | None = None,
) -> Plan:
    """Work a commission out once.

    Parameters are those of `planned`; `told` corrects the rate.
    """
    book = Book(before.book if before else None)
    for name, quantity in {**_starts(), **commission.values}.items():
        book.say(name, quantity, commission.status(name))
    if "etch_factor" in commission.values:
        correction = term("etch_factor_correction")
        own = ranges.ways(correction, correction.quantity(1.0), OWN_ETCH_FACTOR_SPREAD)
        book.put("etch_factor", commission.values["etch_factor"] * own, "measured here")
    if told is not None:
        correction = term("rate_correction")
        own = ranges.ways(correction, correction.quantity(told.correction), told.spread)
        book.put("rate_correction", own, "measured here")
        book.measured["fresh_rate"] = "measured here"
    for name, quantity in _metal(commission.metal).items():
        book.say(name, quantity, commission.alloy["status"])
    _enter_drawing(book, commission, drawing)
    with np.errstate(divide="ignore", invalid="ignore"):  # a drawing may leave nothing open
        for step in ORDER:
            for step_use in STEPS[step]:
                book.work(step_use)
    if "drawn_line" in book.values:
        for limit in FILM_AS_IT_IS:
            book.work(limit)
        _enter_greatest_as_it_is(book)
    book.close()
    return Plan(commission, drawing, book, told)


@cache
def _starts() -> dict[str, Any]:
    """Return what no commission says: the shop's own corrections before any reading."""
    names = ("rate_correction", "etch_factor_correction", "field_width", "bath_spent_share")
    return {name: term(name).quantity(float(term(name).start or 0)) for name in names}


@cache
def _metal(key: str) -> dict[str, Any]:
    """Return the composition and density of an alloy, the same objects each time."""
    alloy = tables.load("alloys.toml")[key]
    metals = ("copper", "zinc", "nickel", "tin", "lead")
    shares = {f"{m}_share": Quantity(float(alloy.get(m, 0.0)), ONE) for m in metals}
    density = Quantity(float(alloy["density"]) * 1000, term("metal_density").unit)
    return {**shares, "metal_density": density}


def _enter_drawing(book: Book, commission: Commission, drawing: Drawing | None) -> None:
    if drawing is None:
        book.say("narrowest_line", commission.values["finest_line"], book.basis["finest_line"])
        book.work(use("open_area"))
        spread = ranges.ways(term("open_area"), book.values["open_area"])
        book.put("open_area", spread, book.basis["open_area"])
        return
    book.say("open_area", drawing.open_area, "drawing")
    face = book.values["plate_width"] * book.values["plate_height"]
    book.say("open_fraction", book.values["open_area"] / face, "drawing")
    for name, width in (
        ("narrowest_line", drawing.narrowest_line),
        ("narrowest_land", drawing.narrowest_land),
    ):
        if width is not None:
            book.say(name, width, "drawing")
            book.bounds[name] = drawing.pixel
    if commission.words["shows"] == "film as it is" and drawing.narrowest_line is not None:
        book.say("drawn_line", drawing.narrowest_line, "drawing")
        land = drawing.narrowest_land
        book.say("drawn_land", book.values["plate_width"] if land is None else land, "drawing")


def _enter_greatest_as_it_is(book: Book) -> None:
    """The film cannot be corrected: the lesser of what its line and its land allow."""
    line, land = book.values["line_limit"], book.values["land_limit"]
    first = [float(np.ravel(q.to("mm").magnitude)[0]) for q in (line, land)]
    name = "line_limit" if first[0] <= first[1] else "land_limit"
    book.values["greatest_depth"] = np.minimum(line, land)
    book.basis["greatest_depth"] = tables.weakest(
        {book.basis["line_limit"], book.basis["land_limit"]}
    )
    book.uses["greatest_depth"] = book.uses[name]
