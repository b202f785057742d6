"""The plan: every working of a commission in the order of the job, with ranges.

The plan is a list of formulas. Each takes its inputs by name from what is
known so far and adds its own result, as an array over the ways in which the
job may run (`ranges`), element 0 being the middle. What a figure rests on is
carried along in the same pass: it is the weakest of what went into it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from etchcalc import process  # noqa: F401  registers the formulas
from etchcalc.core import formula, tables
from etchcalc.core.units import ONE, Quantity
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.commission import Commission
from etchcalc.job.drawing import Drawing
from etchcalc.process import rates
from etchcalc.process import tray as tray_formulas


@dataclass(frozen=True)
class Use:
    """One formula in the plan, under its own name or another, some inputs renamed."""

    formula: str
    named: str = ""
    inputs: dict[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The name that the result goes by."""
        return self.named or self.formula


def _use(name: str, named: str = "", **inputs: str) -> Use:
    return Use(name, named, inputs)


# By step of data/steps.toml, but worked in the order in which each needs the ones before.
BATH = (
    _use("etchant_mass_fraction"),
    _use(
        "etchant_density", mass_fraction="etchant_mass_fraction", temperature="mixing_temperature"
    ),
    _use("etchant_baume", mass_fraction="etchant_mass_fraction"),
    _use("etchant_level"),
    _use("etchant_volume"),
    _use("etchant_crystals"),
    _use("etchant_water"),
)
METAL = (
    _use("ferric_demand"),
    _use("copper_atom_share"),
    _use("open_area_of_all"),
    _use("metal_removed"),
    _use("ferric_used"),
    _use("ferric_in_bath"),
    _use("ferric_left"),
    _use("spent_share"),
    _use("load_share"),
    _use("plates_to_come"),
    _use("bath_copper_after"),
)
RATE = (
    _use("molality", mass_fraction="etchant_mass_fraction"),
    _use("etchant_density", "warm_density", mass_fraction="etchant_mass_fraction"),
    _use("ferric_concentration", mass_fraction="etchant_mass_fraction", etchant_density="warm_density"),
    _use("viscosity", mass_fraction="etchant_mass_fraction"),
    _use("density_rise", mass_fraction="etchant_mass_fraction"),
    _use("ferric_diffusivity"),
    _use("reaction_constant"),
    _use("reaction_velocity"),
    _use("open_plate_velocity"),
    _use("narrow_line_velocity", line_width="finest_line"),
    _use("transport_velocity"),
    _use("fresh_rate", line_width="finest_line"),
    _use("tiring"),
    _use("etch_rate"),
    _use("etch_time"),
    _use("gauge_depth"),
    _use("fresh_rate", "gauge_fresh_rate", depth="gauge_depth", line_width="finest_line"),
    _use("etch_rate", "gauge_rate", fresh_rate="gauge_fresh_rate"),
    _use("etch_time", "too_deep_time", depth="gauge_depth", etch_rate="gauge_rate"),
    _use("gauge_time"),
    _use("fresh_rate", "field_fresh_rate", line_width="field_width", transport_velocity="open_plate_velocity"),
    _use("etch_rate", "field_rate", fresh_rate="field_fresh_rate"),
    _use("field_depth"),
    _use("pooling_interval"),
    _use("tilt_interval"),
)  # fmt: skip
FILM = (
    _use("usual_etch_factor", line_width="finest_line"),
    _use("etch_factor"),
    _use("undercut"),
    _use("film_line"),
    _use("film_line_compensation"),
    _use("greatest_depth"),
    _use("narrowest_finished_line"),
)
FILM_AS_IT_IS = (_use("line_limit"), _use("land_limit"))
BLANK = (_use("blank_area"),)
PAINT = (_use("stop_out_area"), _use("stop_out_paint"))
FILL = (_use("fill_paint"),)
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


class Book:
    """What is known of a job so far: values by name, and the formulas that gave them."""

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.basis: dict[str, str] = {}
        self.uses: dict[str, Use] = {}
        self.bounds: dict[str, Any] = {}

    def put(self, name: str, quantity, status: str) -> None:
        """Enter a value that no formula gives."""
        self.values[name] = quantity
        self.basis[name] = status

    def inputs(self, use: Use) -> dict[str, Any]:
        """Return the keyword arguments of a use, from what is known."""
        entry = formula.REGISTERED[use.formula]
        return {key: self.values[use.inputs.get(key, key)] for key in entry.inputs}

    def work(self, use: Use) -> None:
        """Run one formula and enter its result, unless the maker has said it."""
        if use.name in self.values:
            return
        entry = formula.REGISTERED[use.formula]
        self.values[use.name] = entry.function(**self.inputs(use))
        self.basis[use.name] = tables.weakest(
            {entry.status, *_constant_statuses(entry.function)}
            | {self.basis[use.inputs.get(key, key)] for key in entry.inputs}
        )
        self.uses[use.name] = use


_STATUSES: dict[Callable, frozenset[str]] = {}


def _constant_statuses(function: Callable) -> frozenset[str]:
    if function not in _STATUSES:
        _STATUSES[function] = frozenset(v.status for v in formula.constants_used(function))
    return _STATUSES[function]


@dataclass(frozen=True)
class Plan:
    """A commission worked out.

    Parameters
    ----------
    commission : Commission
    drawing : Drawing or None
    book : Book
        Every value by name, as arrays whose element 0 is the middle.
    """

    commission: Commission
    drawing: Drawing | None
    book: Book

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
        use = self.book.uses[name]
        working = formula.working(use.formula, self.book.inputs(use), use.name)
        keys = [use.inputs.get(key, key) for key in formula.REGISTERED[use.formula].inputs]
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


def planned(commission: Commission, drawing: Drawing | None = None) -> Plan:
    """Work a commission out.

    Parameters
    ----------
    commission : Commission
    drawing : Drawing, optional
        Measured from the artwork; without it the open share is the one said.

    Returns
    -------
    Plan
    """
    book = Book()
    for name, quantity in commission.values.items():
        book.put(name, ranges.ways(term(name), quantity), commission.status(name))
    for name in ("rate_correction", "etch_factor_correction", "field_width"):
        entry = term(name)
        book.put(name, ranges.ways(entry, entry.quantity(float(entry.start or 0))), entry.status)
    if "etch_factor" in commission.values:
        entry = term("etch_factor_correction")
        own = ranges.ways(entry, entry.quantity(1.0), OWN_ETCH_FACTOR_SPREAD)
        book.values["etch_factor"] = commission.values["etch_factor"] * own
    _enter_metal(book, commission)
    _enter_drawing(book, commission, drawing)
    with np.errstate(divide="ignore", invalid="ignore"):  # a drawing may leave nothing open
        for step in ORDER:
            for use in STEPS[step]:
                book.work(use)
    if "drawn_line" in book.values:
        for use in FILM_AS_IT_IS:
            book.work(use)
        _enter_greatest_as_it_is(book)
    return Plan(commission, drawing, book)


def _enter_metal(book: Book, commission: Commission) -> None:
    alloy = commission.alloy
    for metal in ("copper", "zinc", "nickel", "tin", "lead"):
        share = Quantity(float(alloy.get(metal, 0.0)), ONE)
        book.put(f"{metal}_share", share, alloy["status"])
    book.put(
        "metal_density",
        Quantity(float(alloy["density"]) * 1000, term("metal_density").unit),
        alloy["status"],
    )


def _enter_drawing(book: Book, commission: Commission, drawing: Drawing | None) -> None:
    area = term("open_area")
    if drawing is None:
        book.put("narrowest_line", book.values["finest_line"], book.basis["finest_line"])
        use = _use("open_area")
        book.work(use)
        share_status = book.basis["open_fraction"]
        book.values["open_area"] = ranges.ways(area, book.values["open_area"])
        book.basis["open_area"] = share_status
        return
    book.put("open_area", ranges.ways(area, drawing.open_area), "drawing")
    face = book.values["plate_width"] * book.values["plate_height"]
    book.put("open_fraction", book.values["open_area"] / face, "drawing")
    for name, width in (
        ("narrowest_line", drawing.narrowest_line),
        ("narrowest_land", drawing.narrowest_land),
    ):
        if width is not None:
            book.put(name, width, "drawing")
            book.bounds[name] = drawing.pixel
    if commission.words["shows"] == "film as it is" and drawing.narrowest_line is not None:
        book.put("drawn_line", drawing.narrowest_line, "drawing")
        book.put("drawn_land", drawing.narrowest_land or book.values["plate_width"], "drawing")


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
