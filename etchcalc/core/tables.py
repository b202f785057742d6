"""Values from data files: each carries its unit, status, source and condition.

`data/sources.toml` names every source once; `data/constants.toml` holds single
values; the other files hold tables of one topic. A value that names an unknown
source, or a status that is not one of `STATUSES`, fails when it is loaded.
"""

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from etchcalc.core.units import Quantity, show_in_full, unit

# From the firmest to the weakest, with the plain word under a figure.
STATUSES = {
    "given": "what you said",
    "drawing": "your own drawing",
    "measured here": "your own plates",
    "published": "from a table",
    "data sheet": "from a data sheet",
    "worked out": "worked out from tables",
    "common practice": "usual practice",
    "assumed": "a guess",
}
_RANK = {status: rank for rank, status in enumerate(STATUSES)}


@dataclass(frozen=True)
class Source:
    """Where a value or a formula comes from.

    Parameters
    ----------
    key : str
        Its name in sources.toml.
    citation : str
        What is read where.
    seen : str
        ``read``, ``library`` or ``memory``: how the value reached this project.
    """

    key: str
    citation: str
    seen: str


@dataclass(frozen=True)
class Value:
    """A number as the project knows it: quantity, status, source, condition."""

    name: str
    quantity: object
    status: str
    source: str
    condition: str = ""

    @property
    def said(self) -> str:
        """The value with its condition and where it comes from, as it stands under a sum."""
        held = f", at {self.condition}" if self.condition else ""
        where = source(self.source).citation
        return f"{self.name.replace('_', ' ')} {show_in_full(self.quantity)}{held}: {where}"


def weakest(statuses) -> str:
    """Return the status that a result of several values rests on."""
    found = set(statuses)
    ranked = max(found, key=_RANK.__getitem__, default="given")
    # a sum over tables is no longer the table itself
    return "worked out" if ranked in ("published", "data sheet") else ranked


@cache
def load(name: str) -> dict:
    """Return a TOML file of the package's data folder."""
    return tomllib.loads(text(name))


def text(name: str) -> str:
    """Return the text of a file in the package's data folder."""
    return (resources.files("etchcalc") / "data" / name).read_text(encoding="utf-8")


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a CSV table of the package's data folder; lines with # are remarks."""
    lines = [line for line in text(name).splitlines() if line and not line.startswith("#")]
    return tuple(csv.DictReader(lines))


@cache
def source(key: str) -> Source:
    """Return a source by its key; raise KeyError for one that sources.toml does not name."""
    entry = load("sources.toml").get(key)
    if entry is None:
        raise KeyError(f"no source is named {key!r} in data/sources.toml")
    if entry["seen"] not in ("read", "library", "memory", "practice", "own"):
        raise KeyError(f"source {key!r} has no such way of being seen: {entry['seen']!r}")
    return Source(key, entry["citation"], entry["seen"])


def checked(status: str, key: str) -> None:
    """Raise KeyError where a status or a source key is not known."""
    if status not in STATUSES:
        raise KeyError(f"no status is named {status!r}; known are {', '.join(STATUSES)}")
    source(key)


@cache
def constants() -> dict[str, Value]:
    """Return every single value of data/constants.toml, checked, by name."""
    found = {}
    for name, entry in load("constants.toml").items():
        checked(entry["status"], entry["source"])
        quantity = Quantity(float(entry["value"]), unit(entry["unit"]))
        found[name] = Value(
            name, quantity, entry["status"], entry["source"], entry.get("condition", "")
        )
    return found


def constant(name: str):
    """Return the quantity of one constant.

    The same object each time, so that a working can tell from the code of a
    formula which constants it used.
    """
    return constants()[name].quantity


def constant_of(quantity) -> Value | None:
    """Return the constant that this very object is, or None."""
    return next((v for v in constants().values() if v.quantity is quantity), None)
