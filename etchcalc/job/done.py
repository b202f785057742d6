"""What was done: held to the plan, and copied to do the job again."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import MINUTE, MM, ONE, clock, figures, show
from etchcalc.core.vocabulary import term
from etchcalc.job import keeping, learning, past
from etchcalc.job.commission_file import written
from etchcalc.job.schema import ROWS
from etchcalc.process import undercut

# What was done, of the commission's part [done], and the word of the plan that it is held to.
DONE = {
    "done_time": "etch_time",
    "done_depth": "depth",
    "done_width": "finest_line",
    "done_temperature": "temperature",
}
DONE_WORDS = ("done_on", "done_notes", keeping.PHOTOGRAPHS)
# What a job done again keeps of what was noted: readings and blemishes belong to the old plates.
_KEPT = ("wedge",)


@dataclass(frozen=True)
class Row:
    """A thing planned and done: quantities, and in words by how much the actual one is off."""

    name: str
    planned: Any
    actual: Any
    off: str


@dataclass(frozen=True)
class AsDone:
    """What was done, held to the plan, and what was noted.

    Parameters
    ----------
    rows : tuple of Row
        By the names of `DONE`.
    forecast : tuple of float or None
        Minutes foretold before any reading for the depth that was reached: early (5 % of the
        ways), middle, late (95 %).
    noted : dict
        Readings, grooves, wedges and the retouch log, as typed.
    words : dict
        Those of `DONE_WORDS` that were said.
    """

    rows: tuple[Row, ...]
    forecast: tuple[float, float, float] | None
    noted: dict[str, list[dict[str, str]]]
    words: dict[str, str]

    def row(self, name: str) -> Row | None:
        """Return one row; None where it was not noted."""
        return next((row for row in self.rows if row.name == name), None)


@dataclass(frozen=True)
class Again:
    """The text of a commission that does a past job again, and sentences on what changed since."""

    text: str
    changed: tuple[str, ...]


def as_done(record: dict) -> AsDone:
    """Return what was done of a record's job, held to its plan.

    Parameters
    ----------
    record : dict
        As `etchcalc.job.past.opened` gives it.

    Raises
    ------
    BadInput
        What was noted cannot be meant.
    """
    typed, system = record["typed"], record["words"].get("units", "metric")
    actual = {n: term(of).read(typed[n], system) for n, of in DONE.items() if typed.get(n)}
    reached = actual.get("done_depth")
    forecast = foretold(record, None if reached is None else float(reached.to(MM).magnitude))
    rows = []
    for name, value in actual.items():
        of = DONE[name]
        if name == "done_time":
            if forecast is None:
                continue
            wanted = term(of).quantity(forecast[1])
        else:
            wanted = term(of).quantity(record["understood"][of]["value"])
        rows.append(Row(name, wanted, value, _off(of, wanted, value)))
    words = {k: record["words"][k] for k in DONE_WORDS if record["words"].get(k)}
    return AsDone(tuple(rows), forecast, record["noted"], words)


def _off(of: str, wanted, actual) -> str:
    if term(of).kind == "temperature":
        degrees = float(actual.to("degC").magnitude - wanted.to("degC").magnitude)
        return f"{degrees:+.1f} °C".replace("-", "−")
    return f"{100 * float((actual / wanted).to(ONE).magnitude - 1):+.0f} %".replace("-", "−")


def foretold(record: dict, depth: float | None = None) -> tuple[float, float, float] | None:
    """Return the minutes foretold before any reading for a depth in mm, else for that ordered.

    None where the depth lies beyond the curve, or a bath would be spent before.
    """
    curve = record["before_any_reading"] or record["depth_against_time"]
    wanted = record["understood"]["depth"]["value"] if depth is None else depth
    depths = [0.0, *curve["depth"]]
    ends = [[0.0, *curve[key]] for key in ("early", "middle", "late")]
    if wanted > depths[-1] or any(minutes is None for minutes in (*ends[0], *ends[1], *ends[2])):
        return None
    early, middle, late = (float(np.interp(wanted, depths, minutes)) for minutes in ends)
    return early, middle, late


def same_again(record: dict, folder: Path | None = None) -> Again:
    """Return the commission of a past job to be done again, with what it really did.

    The bath is as warm as it was, the etch factor that of its measured grooves, the exposures
    those of its wedges; what it took stands in remarks at the head. Its readings, blemishes and
    photographs belong to the old plates.

    Parameters
    ----------
    record : dict
        As `etchcalc.job.past.opened` gives it.
    folder : Path, optional
        Its folder, for its files and what the shop has learnt since.
    """
    did, order = as_done(record), past.commission_of(record)
    changes = {}
    if measured := learning.factors(order):
        usual = undercut.usual_etch_factor(line_width=order.values["finest_line"])
        mean = float(np.exp(np.mean(np.log(measured))))
        changes["etch_factor"] = f"{float(usual.to(ONE).magnitude) * mean:.3g}"
    if record["typed"].get("done_temperature"):
        changes["temperature"] = record["typed"]["done_temperature"]
    for part in ROWS:
        while part not in _KEPT and order.rows(part):
            order = order.without_last(part)
    try:
        again = order.changed(**changes, **dict.fromkeys((*DONE, *DONE_WORDS, "starts"), ""))
        changed = [str(difference) for difference in past.worked_again(record, folder)]
        if folder:
            changed += keeping.altered(folder, record)
    except BadInput as fault:
        raise BadInput(f"The job cannot be done again as it was: {fault}") from None
    remarks = "".join(f"# {_one_line(line)}\n" for line in _remarks(record, did))
    return Again(remarks + written(again), tuple(changed))


def _remarks(record: dict, did: AsDone) -> list[str]:
    found = [
        f"The same again as “{record['title']}”, saved {record['saved'] or 'on no day'}, version "
        f"{record['version']}, etchcalc {record['package_version']}."
    ]
    if did.forecast:
        early, middle, late = (clock(m) for m in did.forecast)
        found.append(f"Foretold in the etchant: {middle} ({early} to {late}).")
    time = did.row("done_time")
    if time and did.forecast:
        minutes = float(time.actual.to(MINUTE).magnitude)
        rate = figures(did.forecast[1] / minutes)
        found.append(f"It took {clock(minutes)}: the rate was {rate} of the one worked out.")
    for row in did.rows:
        if row is not time:
            kind = term(DONE[row.name]).kind
            said = record["words"].get("units", "metric")
            now, then = (show(q, kind, said, fixed=False) for q in (row.actual, row.planned))
            found.append(f"{term(DONE[row.name]).words.capitalize()}: {now}, planned {then}.")
    for part in ("reading", "section", "blemish"):
        found += [f"{part.capitalize()}: {', '.join(r.values())}." for r in did.noted[part]]
    return [*found, *(f"Noted: {text}" for text in did.words.values())]


def _one_line(text: str) -> str:
    """Return a text that stays within a remark of a TOML file."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
