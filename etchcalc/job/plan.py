"""The plan: every working of a commission in the order of the job, with ranges.

The plan is a list of formulas. Each takes its inputs by name from what is
known so far and adds its own result, as an array over the ways in which the
job may run (`ranges`), element 0 being the middle. What a figure rests on is
carried along in the same pass: it is the weakest of what went into it.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from etchcalc.core import formula, tables
from etchcalc.core.units import Quantity, show
from etchcalc.core.vocabulary import term
from etchcalc.job import bench_steps, givens, learning, ranges, steps, through
from etchcalc.job.book import Book
from etchcalc.job.calibrate import Learnt, Reading
from etchcalc.job.commission import Commission
from etchcalc.job.drawing import Drawing
from etchcalc.job.givens import NOTHING_MORE, Known
from etchcalc.process import rates

# The results of a plan: the names that record.json and --json use. Meaning and unit stand in the
# vocabulary under the same name.
RESULTS = (
    "open_area", "open_fraction", "narrowest_line", "narrowest_land", "lines_lost", "islands_lost", "undercut",
    "film_line_compensation", "greatest_depth", "etchant_volume", "etchant_crystals", "etchant_water",
    "etchant_density", "etchant_baume", "etch_rate", "etch_time", "gauge_time", "tilt_interval",
    "metal_removed", "ferric_used", "ferric_left", "bath_copper_after", "plates_to_come",
    "etchant_level", "spacer_height", "spacer_count", "heater_power", "warm_up_time", "water_lost",
    "exposure_time", "developer_soda", "stripper_soda", "stop_out_paint", "fill_paint", "fill_coats",
    "soda_taken_up", "rinse_copper",
)  # fmt: skip
# Beside an input in a working: what is not known firmly says so.
_MARKS = {key: f" ({tables.STATUSES[key]})" for key in ("assumed", "common practice")}
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
    known : Known
    history : History or None
        How the bath's temperature goes, where it is not kept.
    before : Plan or None
        The plan before any reading, where there are readings.
    losses : Losses or None
        What the undercut loses of the drawing, where that was looked up.
    """

    commission: Commission
    drawing: Drawing | None
    book: Book
    told: Learnt | None = None
    known: Known = NOTHING_MORE
    history: through.History | None = None
    before: "Plan | None" = None
    losses: Any = None

    def middle(self, name: str):
        """Return the middle of a value, a scalar in the metric unit of its kind."""
        return self.book.middle(name)

    def ordered(self, name: str):
        """Return the middle of a value as it was ordered: what rubbing down takes not added."""
        finished = f"finished_{name}"
        return self.middle(finished if finished in self.book.values else name)

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
        if name in self.book.methods:
            return self._by_method(name)
        self.book.values[name]  # worked now, where it waits
        used = self.book.uses[name]
        working = formula.working(used.formula, self.book.inputs(used), used.name)
        keys = list(used.sources)
        marks = [_MARKS.get(self.book.basis[key], "") for key in keys]
        inputs = [
            (term(k).words, v + m) for k, (_, v), m in zip(keys, working.inputs, marks, strict=True)
        ]
        return replace(working, inputs=tuple(inputs))

    def _by_method(self, name: str) -> formula.Working:
        """Return the working of a value that was integrated: what went in, how, what came out."""
        known = ("temperature", "fresh_rate", "load_share")
        inputs = ((term(n).words, show(self.middle(n), term(n).kind, count=4)) for n in known)
        result = show(self.middle(name), term(name).kind, count=4)
        entry = term(name)
        sources = tuple(tables.source(key).citation for key in through.SOURCES)
        return formula.Working(
            name,
            entry.words,
            entry.meaning,
            tuple(inputs),
            (),
            self.book.methods[name],
            result,
            sources,
        )

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
        if self.history:
            # where the bath would be spent before, the line leaves the picture
            minutes = np.minimum(self.history.minutes_to(depths.to("mm").magnitude), 1e6)
            early, late = ranges.ends(minutes)
            return np.array([early, minutes[:, 0], late])
        column = depths.reshape(-1, 1)
        inputs = {**self.book.inputs(self.book.uses["fresh_rate"]), "depth": column}
        rate = rates.fresh_rate(**inputs) * self.book.values["tiring"]
        minutes = (column / rate).to("min").magnitude
        early, late = ranges.ends(minutes)
        return np.array([early, minutes[:, 0], late])

    @property
    def readings(self) -> list[Reading]:
        """The gauge readings and weighings as understood: the film is taken off."""
        return learning.readings(self.commission, self.book)

    @property
    def trusted(self) -> list[Reading]:
        """The readings that fit the others."""
        suspect = self.told.suspect if self.told else ()
        return [read for i, read in enumerate(self.readings) if i not in suspect]

    def has_working(self, name: str) -> bool:
        """Tell whether a formula or an integration gave a value."""
        return self.book.works(name)

    def worked_in(self, step: str) -> list[str]:
        """Return the names that formulas gave in one step of data/steps.toml, in order."""
        logged = self.known.bath is not None
        drawn = "edge_length" in self.book.values
        uses = [
            *steps.sequence(self.commission, logged),
            *bench_steps.bench(self.commission, drawn),
        ]
        return list(
            dict.fromkeys(
                u.name for key, of in uses if key == step for u in of if self.has_working(u.name)
            )
        )

    @property
    def blank_size(self) -> tuple:
        """Width and height of the blank: the finished plate and its margin."""
        return givens.blank_size(self.book.values)

    @property
    def plates_at_once(self) -> int:
        """How many blanks the tray holds side by side."""
        return givens.plates_in_tray(self.book.values, self.commission.words["plate_lies"])


def planned(
    commission: Commission,
    drawing: Drawing | None = None,
    before: Plan | None = None,
    known: Known | None = None,
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
    known : Known, optional
        What the shop knows beside it; that of `before` where none is given.

    Returns
    -------
    Plan

    Raises
    ------
    BadInput
        What is said of a used bath cannot all be so.
    """
    if known is None:
        known = before.known if before else NOTHING_MORE
    plan = _worked(commission, drawing, before, known)
    if not commission.readings:
        return plan
    spread = givens.spread_before(commission, known)
    told = learning.from_readings(commission, plan.book, plan.history, spread)
    return replace(_worked(commission, drawing, plan, known, told), before=plan)


def _worked(
    commission: Commission,
    drawing: Drawing | None,
    before: Plan | None,
    known: Known,
    told: Learnt | None = None,
) -> Plan:
    """Work a commission out once; parameters are those of `planned`, `told` corrects the rate."""
    book, goes = Book(before.book if before else None), None
    givens.enter(book, commission, drawing, known)
    if told is not None:
        givens.correct_rate(book, told)
    with np.errstate(divide="ignore", invalid="ignore"):  # a drawing may leave nothing open
        for _, uses in steps.sequence(commission, known.bath is not None):
            if uses is steps.TIMES and (goes := through.history(book, commission)):
                through.enter_times(goes)
            for step_use in uses:
                book.work(step_use)
    if goes and "second_depth" in book.values:
        through.enter_second(goes)
    if "drawn_line" in book.values:
        for limit in steps.FILM_AS_IT_IS:
            book.work(limit)
        _enter_greatest_as_it_is(book)
    for _, uses in bench_steps.bench(commission, "edge_length" in book.values):
        for step_use in uses:
            book.work_later(step_use)
    book.close()
    givens.refuse_contradiction(book, commission)
    return Plan(commission, drawing, book, told, known, goes)


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
