"""The commission's file: TOML read with every fault named, written back with its remarks kept."""

import difflib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import tomlkit

from etchcalc.core.faults import listed
from etchcalc.core.term import Term
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job.commission import Commission, understood
from etchcalc.job.files import text_of, toml_of
from etchcalc.job.measured import CHECKS
from etchcalc.job.schema import MUST, OPTIONAL, PARTS, ROWS, SECTIONS, TRAYS, WORDS


def parsed(text: str, folder: Path | None = None) -> Commission:
    """Return the commission that a TOML text holds; BadInput names every fault."""
    document = toml_of(text, "The commission", 'depth = "0.2 mm"')
    said: dict[str, str] = {}
    faults: list[str] = []
    noted: dict[str, Any] = {
        name: _rows(document, part, CHECKS[part], faults) for part, name in ROWS.items()
    }
    for section, entries in document.items():
        known = (*SECTIONS.get(section, ()), *WORDS.get(section, {}))
        if not isinstance(entries, dict) or not known:
            faults.append(f"“{section}” is no part of a commission; its parts are {listed(PARTS)}.")
            continue
        for name, value in entries.items():
            if name in known and not isinstance(value, dict | list):
                said[name] = str(value)
            else:
                near = difflib.get_close_matches(name, known, 1)
                hint = f"did you mean {near[0]}?" if near else f"it knows {listed(known)}."
                faults.append(f"[{section}] knows no “{name}”; {hint}")
    return replace(understood(said, folder, faults), **noted)


def _rows(
    document: dict, part: str, check: Callable, faults: list[str]
) -> tuple[dict[str, str], ...]:
    """Take the rows of a part that may stand more than once out of a document, checked."""
    rows = document.pop(part, [])
    rows = rows if isinstance(rows, list) else [rows]
    if not all(isinstance(row, dict) for row in rows):
        faults.append(f"a {part} is a part of its own: write [[{part}]] and its lines below it.")
        return ()
    typed = tuple({key: str(value) for key, value in row.items()} for row in rows)
    for number, row in enumerate(typed, 1):
        faults += check(row, number)
    return typed


def opened(path: Path) -> Commission:
    """Return the commission of a file; BadInput where it is missing or faulty."""
    return parsed(text_of(path, "The commission"), path.parent)


def written(commission: Commission, before: str = "") -> str:
    """Return the TOML text of a commission, keeping the remarks of the text before."""
    document = tomlkit.parse(before)
    flat = {**commission.typed, **commission.words}
    for section in PARTS:
        names = [*WORDS.get(section, {}), *SECTIONS.get(section, ())]
        for name in names:
            value = commission.metal if name == "metal" else flat.get(name)
            if not value:
                document.get(section, {}).pop(name, None)
                continue
            part = document.setdefault(section, tomlkit.table())
            if str(part.get(name)) != value:
                part[name] = value
    for part in ROWS:
        document.pop(part, None)
        if commission.rows(part):
            rows = tomlkit.aot()
            for row in commission.rows(part):
                rows.append(tomlkit.item(dict(row)))
            document.append(part, rows)
    return tomlkit.dumps(document)


def blank(zone: str = "") -> str:
    """Return a commented commission to fill in.

    Parameters
    ----------
    zone : str, optional
        The time zone that it says.
    """
    lines = ["# A commission for etchcalc. Write quantities with their units: \"0.4 mm\", \"12 thou\", \"17.6 oz/L\".",
             "# What stands after # is taken when nothing is said.", ""]  # fmt: skip
    for section in PARTS:
        lines.append(f"[{section}]")
        for name, choices in WORDS.get(section, {}).items():
            lines.append(_blank_word(name, choices, zone if name == "zone" else ""))
        for name in SECTIONS.get(section, ()):
            lines.append(_blank_quantity(term(name)))
        lines.append("")
    return "\n".join(lines)


def _blank_word(name: str, choices, said: str = "") -> str:
    examples = {"metal": "CuZn37", "title": "Name of the job", "file": "drawing.svg",
                "tray_material": TRAYS[0], "invented": "no"}  # fmt: skip
    text = said or (choices[0] if choices else examples.get(name, ""))
    sign = "" if said or name in ("title", *MUST) else "# "
    remark = f"  # {listed(choices)}" if choices else ""
    return f'{sign}{name} = "{text}"{remark}'


def _blank_quantity(entry: Term) -> str:
    sign = "" if entry.name in MUST else "# "
    start = show(entry.quantity(float(entry.start or 0)), entry.kind, fixed=False)
    if entry.name in OPTIONAL:
        start = ""
    return f'{sign}{entry.name} = "{start}"  # {entry.meaning}'
