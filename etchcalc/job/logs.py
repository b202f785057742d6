"""The shop's own tables as CSV: a thermometer log, a list of gauge readings.

A file may come from a spreadsheet or a logger: comma, semicolon or tab, decimal
comma, a first line in the maker's words. A number's unit stands in its cell, else
in the first line; none is guessed. All faults of a file make one sentence that
names their lines.
"""

import csv
import io
import re
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache, partial
from pathlib import Path

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import CELSIUS, KINDS, ONE, Quantity, read
from etchcalc.core.vocabulary import term
from etchcalc.job.measured import reading_faults
from etchcalc.job.schema import READING, READING_KEYS

MOST_BYTES, MOST_LINES, LONGEST_CELL, TOLD = 2_000_000, 20_000, 40, 3
GAP, USUAL_STEPS = 30.0, 5  # a gap is longer than so many minutes and than so many usual steps

# The words of a first line that tell a column; a column is taken once, so the special ones first.
LOG = {"temperature": ("temp",), "reading_time": ("time", "clock", "elapsed")}
GAUGE = {
    "film_under_gauge": ("film", "resist"),
    "gauged_on": ("gauged on", "where"),
    "weight_lost": ("weight", "mass"),
    "reading_depth": ("depth", "deep", "gauge"),
    "reading_time": LOG["reading_time"],
}
_BARE = re.compile(r"[+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?")
_VALUE = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\D+)")
_DEGREES = {"°C": "°F", "°F": "°C", "K": ""}  # and what a bare number may have been meant as
# signs that look alike: degree, minus, space that does not break
_ALIKE = str.maketrans("º˚−\u00a0\u202f", "°°-  ")
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")


@dataclass(frozen=True)
class Log:
    """A bath's temperature as it was read.

    Parameters
    ----------
    minutes : array of shape (n,)
        From when the plate went in, rising; clock times count from the first row.
    celsius : array of shape (n,)
    """

    minutes: np.ndarray
    celsius: np.ndarray

    def celsius_at(self, minutes) -> np.ndarray:
        """Return the temperature at some minutes: straight between rows, the ends held."""
        return np.interp(minutes, self.minutes, self.celsius)


def thermometer_log(path: Path) -> Log:
    """Return the log in a CSV file of times and temperatures.

    Raises
    ------
    BadInput
        One sentence that names the lines at fault, at most three of them.
    """
    table = _table(path, LOG, ("reading_time", "temperature"))
    minutes, celsius = _minutes(table), _celsius(table)
    if len(table.rows) == 1:
        line = table.rows[0][0]
        table.fault(line, " is the only row; write at least two, plate in and plate out")
    _in_order(table, minutes)
    table.close()
    return Log(minutes, celsius)


def readings_from(path: Path, system: str = "metric") -> tuple[dict[str, str], ...]:
    """Return the gauge readings in a CSV file, in the words of a commission.

    Parameters
    ----------
    path : Path
        Columns of time in the bath and depth; where wanted of the film under the gauge and of what
        was gauged.
    system : str
        In which units a sentence says what is accepted.

    Raises
    ------
    BadInput
        One sentence that names the lines at fault, at most three of them.
    """
    table = _table(path, {k: w for k, w in GAUGE.items() if k in READING_KEYS}, READING)
    readings = []
    for number, (line, _) in enumerate(table.rows, 1):
        typed = {key: table.typed(key, number - 1) for key in READING_KEYS if key in table.places}
        if "gauged_on" in typed:
            typed["gauged_on"] = typed["gauged_on"].lower()
        readings.append({key: text for key, text in typed.items() if text})
        if any(_BARE.fullmatch(typed.get(key, "")) for key in table.unsaid):
            continue
        try:
            faults = reading_faults(readings[-1], number, system)
        except (ArithmeticError, TypeError, ValueError):
            faults = ["a cell cannot be read; write numbers such as 20 min and 0.12 mm"]
        for fault in faults:
            table.fault(line, f", {fault.removeprefix(f'reading {number}').strip(',:. ')}")
    table.close()
    return tuple(readings)


# ---- columns of a log


def _minutes(table: "_Table") -> np.ndarray:
    """Return the times in minutes, nan where a cell is none; clock times go on past midnight."""
    found, last = np.full(len(table.rows), np.nan), -np.inf
    by_clock = bool(_CLOCK.fullmatch(table.typed("reading_time", 0)))
    days = 0
    for i, (line, _) in enumerate(table.rows):
        text = table.typed("reading_time", i)
        shown = _CLOCK.fullmatch(text)
        if bool(shown) != by_clock and text:
            how = "on" if by_clock else "in minutes from plate in, not on"
            table.fault(line, f", “{_short(text)}”: write every time {how} the clock")
        elif shown:
            hours, minutes, seconds = (int(part or 0) for part in shown.groups())
            found[i] = (24 * days + hours) * 60 + minutes + seconds / 60
            if found[i] < last - 720:  # half a day back is midnight, less is a row out of place
                days += 1
                found[i] += 1440
            last = found[i]
        else:
            found[i] = table.value("reading_time", i)
            if abs(found[i]) > term("reading_time").high:
                table.fault(line, f", “{_short(text)}” is too long a time; look at its unit")
    return found - found[0] if by_clock else found


def _in_order(table: "_Table", minutes: np.ndarray) -> None:
    """Name rows that are not later than the row before, and gaps too long to be filled straight."""
    known = np.flatnonzero(np.isfinite(minutes))
    steps = np.diff(minutes[known])
    usual = np.median(steps[steps > 0]) if (steps > 0).any() else np.inf
    for step, i, k in zip(steps, known[:-1], known[1:], strict=True):
        line, after = table.rows[i][0], table.rows[k][0]
        start, end = (table.typed("reading_time", j) for j in (i, k))
        if step == 0:
            table.fault(after, f" has the same time as line {line}; keep one of them")
        elif step < 0:
            what = f": {end} is not later than {start} in line {line}; put the rows in order"
            table.fault(after, what)
        elif step > max(GAP, USUAL_STEPS * usual):
            fill = f"fill in a row every {GAP:.0f} min with what it most likely was"
            what = f"lines {line} and {after}: nothing from {start} to {end}; {fill}"
            table.faults.append((line, what))


def _celsius(table: "_Table") -> np.ndarray:
    """Return the temperatures in °C, nan where a cell is none or cannot be meant."""
    entry = term("temperature")
    if "temperature" in table.unsaid:
        # asked already; the likelier is taken, so that a number in the other can be named
        numbers = [c for c in table.column("temperature") if _BARE.fullmatch(c)]
        hot = [_converted(f"{cell} °C", "temperature") > entry.high for cell in numbers]
        table.units["temperature"] = "°F" if 2 * sum(hot) > len(hot) else "°C"
    found = np.array([table.value("temperature", i) for i in range(len(table.rows))])
    scale = _scale(table.units["temperature"], "temperature")
    said = next((name for name in _DEGREES if _scale(name, "temperature") == scale), "")
    other = _DEGREES.get(said, "")
    wrong = ~((found >= entry.low - 1e-6) & (found <= entry.high + 1e-6))
    for i in np.flatnonzero(wrong & np.isfinite(found)).tolist():
        typed = table.typed("temperature", i)
        bare = _BARE.fullmatch(table.cell("temperature", i))
        try:
            entry.check(Quantity(float(found[i]), CELSIUS), f"{bare[0]} {said}" if bare else typed)
        except BadInput as fault:
            told = str(fault).rstrip(".")
            if bare and other:
                meant = f"{bare[0]} {other}"
                if entry.low <= _converted(meant, "temperature") <= entry.high:
                    told = f"{told.partition(';')[0]}; if that is {other}, type {meant}"
            table.fault(table.rows[i][0], f", {told}")
    return np.where(wrong, np.nan, found)


# ---- the file


@dataclass
class _Table:
    """Rows of cells by line; where each column stands, its unit, and what is wrong so far."""

    name: str
    rows: list[tuple[int, list[str]]]
    places: dict[str, int]
    units: dict[str, str]
    unsaid: set[str] = field(default_factory=set)
    faults: list[tuple[int, str]] = field(default_factory=list)

    def fault(self, line: int, what: str) -> None:
        """Keep what is wrong with a line; `what` follows its number."""
        self.faults.append((line, f"line {line}{what}"))

    def cell(self, key: str, row: int) -> str:
        cells = self.rows[row][1]
        return cells[self.places[key]] if self.places[key] < len(cells) else ""

    def column(self, key: str) -> list[str]:
        return [self.cell(key, row) for row in range(len(self.rows))]

    def typed(self, key: str, row: int) -> str:
        """Return a cell as a person would type it: a bare number with its column's unit."""
        cell = self.cell(key, row)
        return f"{cell} {self.units[key]}".strip() if _BARE.fullmatch(cell) else cell

    def value(self, key: str, row: int) -> float:
        """Return a cell in its term's own unit; nan, and a fault, if it cannot be read."""
        text = self.typed(key, row)
        found = _converted(text, key)
        if not np.isfinite(found) and not (key in self.unsaid and _BARE.fullmatch(text)):
            what = (
                f"“{_short(text)}” is no {_label(key)}" if text else f"the {_label(key)} is missing"
            )
            self.fault(self.rows[row][0], f", {what}; write a number or take the line out")
        return found

    def close(self) -> None:
        """Raise one sentence of all faults, if there are any."""
        if self.faults:
            told = [what for _, what in sorted(self.faults)]
            more = len(told) - TOLD
            rest = [f"and {more} more fault{'s' * (more > 1)}"] if more > 0 else []
            raise BadInput(f"{self.name}: {'; '.join(told[:TOLD] + rest)}.")


def _table(path: Path, wanted: dict[str, tuple[str, ...]], required: tuple[str, ...]) -> _Table:
    """Return a file's rows and columns; BadInput where it is no table with those required."""
    example = ", ".join(f"{_label(key)} ({_units(key)[0]})" for key in required)
    rows, delimiter = _rows(path)
    headed = bool(rows) and not any(re.match(r"[+-]?[.,]?\d", cell) for cell in rows[0][1])
    first = rows[0] if rows else (1, [])
    header = first[1] if headed else [""] * len(first[1])
    places, units = _columns(header, wanted, required)
    if not set(required) <= set(places) or len(rows) == headed:
        raise BadInput(
            f"{path.name} is no table of {' and '.join(map(_label, required))}; save it as CSV, "
            f"one row a line, the first line such as “{example}”."
        )
    table = _Table(path.name, [], places, units)
    for line, cells in rows[headed:]:
        if len(cells) <= len(header):
            table.rows.append((line, cells))
            continue
        hint = "; with decimal commas put semicolons between" if delimiter == "," else ""
        table.fault(line, f" has {len(cells)} columns, line {first[0]} {len(header)}{hint}")
    for key in places:
        bare = any(map(_BARE.fullmatch, table.column(key)))
        if bare and not units[key] and key != "gauged_on":
            table.unsaid.add(key)
    if table.unsaid:
        asked = (key for key in wanted if key in table.unsaid)
        what = ", ".join(f"the {_label(key)} in {' or '.join(_units(key))}" for key in asked)
        table.faults.append((0, f"is {what}? begin the file with a line such as “{example}”"))
    if not table.rows:
        table.close()
    return table


def _columns(header, wanted, required) -> tuple[dict[str, int], dict[str, str]]:
    """Return where each column stands and its unit, by the words or the unit of the first line."""
    places: dict[str, int] = {}
    said = [" ".join(cell.lower().replace("_", " ").split()) for cell in header]
    by_words = [(key, lambda cell, key=key: any(w in cell for w in wanted[key])) for key in wanted]
    by_unit = [(key, partial(_unit_in, key)) for key in required]
    for key, tells in by_words + by_unit:
        free = (i for i in range(len(said)) if i not in places.values() and tells(said[i]))
        place = next(free, None)
        if key not in places and place is not None:
            places[key] = place
    missing = [key for key in required if key not in places]
    left = [i for i in range(len(said)) if i not in places.values()]
    if len(left) == len(missing):
        places.update(zip(missing, left, strict=True))
    return places, {key: _unit_in(key, said[place]) for key, place in places.items()}


def _unit_in(key: str, header: str) -> str:
    """Return the unit that the words of a column say, nothing where they say none or two."""
    if key == "gauged_on":
        return ""
    found = {}
    for word in re.findall(r"[^\s()\[\]{}/,:;\d]+", header):
        scale = _scale(word, key)
        if scale and not (key == "reading_time" and scale[1] > 60):  # “time of day” is no unit
            found[scale] = word
    if len(found) > 1:  # depth in mm
        found = {scale: word for scale, word in found.items() if word != "in"}
    return next(iter(found.values())) if len(found) == 1 else ""


def _rows(path: Path) -> tuple[list[tuple[int, list[str]]], str]:
    """Return the rows of a file that hold anything, by line, and what stands between columns."""
    # a # begins a remark; the line stays, so that the numbers of the others are right
    lines = ["" if line.lstrip().startswith("#") else line for line in io.StringIO(_text(path))]
    if len(lines) > MOST_LINES:
        raise BadInput(f"{path.name} has more than {MOST_LINES} lines; keep every tenth.")
    delimiter = max("\t;,", key=lambda mark: sum(mark in line for line in lines))
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    rows, line = [], 0
    try:
        for line, cells in enumerate(reader, 1):
            if any("\n" in cell for cell in cells):
                raise csv.Error
            kept = [_decimal(cell.strip(), delimiter) for cell in cells]
            while kept and not kept[-1]:
                kept.pop()
            if kept:
                rows.append((line, kept))
    except csv.Error:
        raise BadInput(
            f"{path.name}: line {line} cannot be read as CSV; look for a quotation mark that is not closed."
        ) from None
    return rows, delimiter


def _decimal(cell: str, delimiter: str) -> str:
    """Return a cell with its decimal comma as a point, where commas stand between no columns."""
    return cell if delimiter == "," or "." in cell else re.sub(r",(?=\d)", ".", cell)


def _text(path: Path) -> str:
    """Return the text of a small file, in UTF-8 or as Windows writes it."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadInput(f"{path.name} is larger than 2 MB; keep every tenth row.")
        content = path.read_bytes()
    except OSError as fault:
        raise BadInput(
            f"The table {path.name} cannot be read ({fault.strerror}); give the path of a CSV file."
        ) from None
    for encoding in ("utf-8-sig", "cp1252"):
        with suppress(UnicodeDecodeError):
            text = content.decode(encoding)
            return text.translate(_ALIKE).replace("\r\n", "\n").replace("\r", "\n")
    raise BadInput(f"{path.name} is no text; save the table as CSV.")


# ---- numbers


def _label(key: str) -> str:
    return key.removeprefix("reading_").replace("_", " ")


def _units(key: str) -> list[str]:
    """Return the units to choose from, as they are typed."""
    return (
        ["min", "h"] if key == "reading_time" else list(dict.fromkeys(KINDS[term(key).kind].words))
    )


@lru_cache(512)
def _scale(words: str, key: str) -> tuple[float, float] | None:
    """Return what nothing and one of a unit are in the term's own unit; None if it is no such unit."""
    of = term(key).unit
    try:
        known = read(f"1 {words}")
        if known.units == ONE or known.dimensionality != of.dimensionality:
            return None
        return tuple(Quantity(np.array([0.0, 1.0]), known.units).to(of).magnitude.tolist())
    except (ArithmeticError, TypeError, ValueError):
        return None


def _converted(text: str, key: str) -> float:
    """Return a typed value in the term's own unit, nan if it cannot be read."""
    if len(text) > LONGEST_CELL:
        return np.nan
    plain = _VALUE.fullmatch(text)
    if plain:
        nothing, one = _scale(plain[2].strip(), key) or (np.nan, np.nan)
        return nothing + (one - nothing) * float(plain[1])
    try:
        found = read(text)
        return float(found.to(term(key).unit).magnitude) if found.units != ONE else np.nan
    except (ArithmeticError, TypeError, ValueError):
        return np.nan


def _short(cell: str) -> str:
    """Return a cell as it can stand in a sentence."""
    shown = "".join(c if c.isprintable() else "·" for c in cell)
    return shown if len(shown) <= LONGEST_CELL else shown[:LONGEST_CELL] + "…"
