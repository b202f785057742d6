"""What the shop's own jobs taught: the true rate over the one worked out, kept for the next job.

``corrections.toml`` in the shop's folder holds one ``[[correction]]`` a job.
Jobs in the same tray, moved and lying alike, of one metal and of lines about
as wide, share a correction of the shop; each job still has its own way about
it. How much jobs differ is assumed until many have been kept.
"""

import difflib
import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date as day
from pathlib import Path
from typing import Any

import tomlkit

from etchcalc.core.faults import BadInput, joined, listed
from etchcalc.core.units import MM, ONE
from etchcalc.core.vocabulary import term
from etchcalc.job.baths import A_DATE
from etchcalc.job.commission import metal_key
from etchcalc.job.files import text_of, toml_of, write_whole
from etchcalc.job.schema import WORDS

NAME = "corrections.toml"
# Standard deviations of the logarithm from job to job in one tray (assumed).
RATE_JOB_TO_JOB = 0.15
FACTOR_JOB_TO_JOB = 0.10
ALIKE = 1.5  # lines whose widths differ by no more than this factor share a correction
_HEAD = """# What the jobs of this shop taught. rate: the true rate over the one worked out;
# etch_factor: the measured etch factor over the usual one; each with the spread of its logarithm.
"""
MOST_SPREAD = 5.0  # of a logarithm; more tells nothing


@dataclass(frozen=True)
class Entry:
    """What one job taught.

    Parameters
    ----------
    commission : str
        Name of its folder.
    date : str
        The day, as 2026-02-01.
    tray, moved, lies, metal, line : str
        As typed; the tray as "polypropylene 330 × 250 mm", the line as "0.4 mm".
    rate, rate_spread : float
        The true rate over the one worked out, and the standard deviation of its logarithm: what
        the readings of this job tell by themselves, so that no earlier job is counted twice.
    readings : int
        How many gauge readings tell it.
    etch_factor, etch_factor_spread : float or None
        The same of the etch factor, over the usual one; both or neither.
    """

    commission: str
    date: str
    tray: str
    moved: str
    lies: str
    metal: str
    line: str
    rate: float
    rate_spread: float
    readings: int
    etch_factor: float | None = None
    etch_factor_spread: float | None = None


@dataclass(frozen=True)
class Own:
    """What the shop's own jobs let the next one expect.

    Parameters
    ----------
    rate, rate_spread : float
        Mean and standard deviation of the logarithm of the rate's correction.
    factor, factor_spread : float or None
        The same of the etch factor's; nothing where no section was measured.
    jobs : int
        How many jobs tell it.
    """

    rate: float
    rate_spread: float
    factor: float | None
    factor_spread: float | None
    jobs: int


@dataclass(frozen=True)
class Corrections:
    """The corrections of a shop, in the order of the file."""

    entries: tuple[Entry, ...] = ()

    def found(
        self, *, tray: str, moved: str, lies: str, metal: str, line, prior_spread: float,
        without: str = "",
    ) -> Own | None:  # fmt: skip
        """Return what earlier jobs of this sort let the next one expect; None without any.

        Parameters
        ----------
        tray, moved, lies, metal : str
        line : Quantity
            Width of the finest line.
        prior_spread : float
            Spread of ln(rate) that the model alone gives a job.
        without : str
            A commission whose own entry is left out: its readings tell it already.
        """
        wanted = _sort(tray, moved, lies, metal)
        width = line.to(MM).magnitude
        alike = [
            e
            for e in self.entries
            if _sort(e.tray, e.moved, e.lies, e.metal) == wanted
            and abs(math.log(_width(e.line) / width)) <= math.log(ALIKE) + 1e-9
            and e.commission != without
        ]
        if not alike:
            return None
        rates = [(math.log(e.rate), e.rate_spread) for e in alike]
        rate, spread = _combined(rates, prior_spread, RATE_JOB_TO_JOB)
        factors = [
            (math.log(e.etch_factor), e.etch_factor_spread)
            for e in alike
            if e.etch_factor is not None and e.etch_factor_spread is not None
        ]
        usual = term("etch_factor_correction").spread
        factor, factor_spread = (
            _combined(factors, usual, FACTOR_JOB_TO_JOB) if factors else (None, None)
        )
        return Own(rate, spread, factor, factor_spread, len(alike))


def _combined(
    told: Sequence[tuple[float, float]], prior: float, job_to_job: float
) -> tuple[float, float]:
    """Return mean and spread of the next job's logarithm.

    The prior's variance is that of any one job: what stays the same in a shop has the rest of it
    when the job-to-job variance is taken off, which comes back for the next job. So the spread
    begins at the prior's and only falls.
    """
    jobs = job_to_job**2
    weights = [1 / (spread**2 + jobs) for _, spread in told]
    variance = 1 / math.fsum([1 / max(prior**2 - jobs, 1e-9), *weights])
    mean = variance * math.fsum(w * m for w, (m, _) in zip(weights, told, strict=True))
    return mean, min(math.sqrt(variance + jobs), prior)


def _sort(tray: str, moved: str, lies: str, metal: str) -> tuple[str, ...]:
    return " ".join(tray.lower().split()), moved, lies, metal_key(metal, [])


def _width(line: str) -> float:
    return float(term("line_width").read(line).to(MM).magnitude)


def opened(path: Path) -> Corrections:
    """Return the corrections of a file, none where there is no file; BadInput names every fault."""
    if not path.exists():
        return Corrections()
    text = text_of(path, "The shop's corrections")
    try:
        return _parsed(text)
    except BadInput as fault:
        raise BadInput(f"{path.name}: {fault}") from None


def _parsed(text: str) -> Corrections:
    document = toml_of(text, "it", "rate = 0.83")
    rows = document.pop("correction", [])
    faults = [f"“{key}” is not known here; write [[correction]]" for key in document]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise BadInput("write [[correction]] and its lines below it.")
    entries = [_entry(row, f"correction {n}", faults) for n, row in enumerate(rows, 1)]
    seen: dict[str, int] = {}
    for number, entry in enumerate(entries, 1):
        if entry and seen.setdefault(entry.commission, number) != number:
            faults.append(
                f"correction {number}, commission: “{entry.commission}” is correction "
                f"{seen[entry.commission]} already; take one of them out"
            )
    if faults:
        raise BadInput(joined(faults))
    return Corrections(tuple(entry for entry in entries if entry))


def _entry(row: dict[str, Any], label: str, faults: list[str]) -> Entry | None:
    """Return an entry of the file; None where the faults grew."""
    found, before = {}, len(faults)
    for key in row:
        if key not in _READ:
            near = difflib.get_close_matches(key, list(_READ), 1)
            hint = f"did you mean {near[0]}?" if near else f"it knows {listed(tuple(_READ))}"
            faults.append(f"{label} knows no “{key}”; {hint}")
    for key, reader in _READ.items():
        if key in row:
            try:
                found[key] = reader(row[key])
            except BadInput as fault:
                faults.append(f"{label}, {key}: {fault}")
        elif key not in _OPTIONAL:
            faults.append(f"{label}: {key} is missing; type it below [[correction]]")
    if sum(key in row for key in _OPTIONAL) == 1:
        faults.append(f"{label}: {' and '.join(_OPTIONAL)} go together; type both or neither")
    return Entry(**found) if len(faults) == before else None


def _text(value) -> str:
    if not isinstance(value, str) or not value.strip():
        raise BadInput("nothing is said; type it in quotation marks.")
    return value.strip()


def _date(value) -> str:
    try:
        if day.fromisoformat(str(value)).isoformat() == str(value):
            return str(value)
    except ValueError:
        pass
    raise BadInput(f"“{value}” is not a date; {A_DATE}.")


def _choice(key: str) -> Callable[[Any], str]:
    choices = WORDS["tray"][key] or ()

    def reader(value) -> str:
        if value not in choices:
            raise BadInput(f"“{value}” is not an answer here; type {listed(choices)}.")
        return value

    return reader


def _metal(value) -> str:
    faults: list[str] = []
    metal_key(value, faults)
    if faults:
        raise BadInput(faults[0].partition(": ")[2])
    return str(value).strip()


def _line(value) -> str:
    _width(str(value))
    return str(value).strip()


def _number(name: str) -> Callable[[Any], float]:
    return lambda value: float(term(name).read(str(value)).to(ONE).magnitude)


def _spread(value) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < MOST_SPREAD:
        raise BadInput(f"“{value}” is no spread; type a number above 0, such as 0.08.")
    return float(value)


def _count(value) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise BadInput(f"“{value}” is no number of readings; type a whole number, such as 3.")
    return value


# How each key of an entry is read, in the order of the file.
_READ: dict[str, Callable[[Any], Any]] = {
    "commission": _text, "date": _date, "tray": _text, "moved": _choice("moved"),
    "lies": _choice("plate_lies"), "metal": _metal, "line": _line,
    "rate": _number("rate_correction"), "rate_spread": _spread, "readings": _count,
    "etch_factor": _number("etch_factor_correction"), "etch_factor_spread": _spread,
}  # fmt: skip
_OPTIONAL = ("etch_factor", "etch_factor_spread")


def kept(path: Path, entry: Entry) -> Corrections:
    """Write what a job taught, in the place of its earlier entry if there is one; remarks stay.

    Returns
    -------
    Corrections
        Those of the file as it is now.

    Raises
    ------
    BadInput
        The entry or the file cannot be meant; the file is untouched.
    """
    opened(path)
    before = path.read_text(encoding="utf-8") if path.exists() else _HEAD
    document: Any = tomlkit.parse(before)
    said = {key: value for key, value in asdict(entry).items() if value is not None}
    old = [r for r in document.get("correction", []) if r["commission"].strip() == entry.commission]
    for row in old:
        for key in [key for key in row if key not in said]:
            del row[key]
        for key, value in said.items():
            if row.get(key) != value:
                row[key] = value
    text = tomlkit.dumps(document)
    if not old:
        gap = "\n" if text.endswith("\n") else "\n\n"
        text += f"{gap}[[correction]]\n{tomlkit.dumps(said)}"
    now = _parsed(text)
    write_whole(path, text.encode())
    return now
