"""The log of a bath that serves many commissions: what it dissolved, what was put in, what it is now.

A log is a TOML file, ``baths/NAME.toml`` in the shop's folder. The bath is
walked from the day it was mixed, entry by entry in the order of the dates; of
one day the jobs come first, then what was topped up.
"""

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date as day
from pathlib import Path
from typing import Any

import tomlkit

from etchcalc.core import tables
from etchcalc.core.faults import BadInput, joined, listed
from etchcalc.core.units import LITRE, show
from etchcalc.core.vocabulary import term
from etchcalc.job import bath_state
from etchcalc.job.bath_state import MADE_UP_AT, PER_LITRE, State
from etchcalc.job.commission import metal_key
from etchcalc.job.files import text_of, toml_of, write_whole
from etchcalc.job.shop import folder_name
from etchcalc.job.strengths import read_strength

HEAD = ("name", "mixed", "strength", "volume")
# What each part of a log knows: words, and quantities with the word of the vocabulary that reads them.
PARTS = {
    "job": {"date": "", "commission": "", "metal": "", "metal_removed": "metal_removed"},
    "topped": {"date": "", "taken_out": "replaced_share", "crystals": "added_crystals",
               "water": "added_water"},
    "water": {"date": "", "water": "water_put_back"},
}  # fmt: skip
A_DATE = "type year, month and day, such as 2026-02-01"


@dataclass(frozen=True)
class Entry:
    """One entry of a log as typed: its part (``job``, ``topped`` or ``water``) and what it says."""

    part: str
    said: dict[str, str]

    def value(self, key: str):
        """Return a quantity of the entry; nothing where it was not said."""
        word = term(PARTS[self.part][key])
        return word.read(self.said[key]) if self.said.get(key) else word.quantity(0.0)


@dataclass(frozen=True)
class Bath:
    """A bath and its log, as typed.

    Parameters
    ----------
    name : str
        What is written on the bottle.
    strength : str
        When it was mixed, in any measure that `strengths.read_strength` reads.
    volume : str
    mixed : str
        The day, as 2026-02-01.
    entries : tuple of Entry
        Those of one part in the order of the file.
    """

    name: str
    strength: str
    volume: str
    mixed: str
    entries: tuple[Entry, ...] = ()


def path_of(root: Path, name: str) -> Path:
    """Return the file of a bath's log in the shop's folder."""
    return root / "baths" / f"{folder_name(name)}.toml"


def opened(path: Path) -> Bath:
    """Return the bath of a file; BadInput names every fault in one sentence."""
    text = text_of(path, "The bath's log")
    try:
        return parsed(text)
    except BadInput as fault:
        raise BadInput(f"{path.name}: {fault}") from None


def parsed(text: str) -> Bath:
    """Return the bath that a TOML text holds; BadInput names every fault."""
    document = toml_of(text, "the log", 'volume = "3 L"')
    faults: list[str] = []
    entries = []
    for part, known in PARTS.items():
        rows = document.pop(part, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            faults.append(f"{part} is a part of its own: write [[{part}]] and its lines below it")
            continue
        entries += [
            Entry(part, _said(row, known, f"{part} {number}", faults))
            for number, row in enumerate(rows, 1)
        ]
    head = dict.fromkeys(HEAD, "") | _said(document, (*HEAD, *PARTS), "the log", faults)
    return checked(Bath(**head, entries=tuple(entries)), faults)


def _said(row: dict, known, label: str, faults: list[str]) -> dict[str, str]:
    """Return what a part says as texts, naming what it does not know."""
    said = {}
    for key, value in row.items():
        if key in known and not isinstance(value, dict | list):
            said[key] = str(value).strip()
            continue
        near = difflib.get_close_matches(key, list(known), 1)
        hint = f"did you mean {near[0]}?" if near else f"it knows {listed(tuple(known))}"
        faults.append(f"{label} knows no “{key}”; {hint}")
    return {key: text for key, text in said.items() if text}


def checked(bath: Bath, known_faults: Sequence[str] = ()) -> Bath:
    """Return a bath unchanged if its log can be meant, else raise BadInput that names every fault."""
    faults = list(known_faults)
    if not bath.name:
        faults.append("name is missing; type what is written on the bottle")
    mixed = _day(bath.mixed, "mixed", faults)
    for key, reader in (("strength", _strength), ("volume", _volume)):
        try:
            reader(bath)
        except BadInput as fault:
            faults.append(f"{key}: {_bare(fault)}")
    for label, entry in _numbered(bath):
        on = _day(entry.said.get("date", ""), f"{label}, date", faults)
        if mixed and on and on < mixed:
            faults.append(f"{label}: {on} is before the bath was mixed, on {mixed}; correct one")
        faults += [f"{label}, {fault}" for fault in _entry_faults(entry)]
    seen: dict[str, str] = {}
    for label, entry in _numbered(bath):
        job = entry.said.get("commission")
        if job and seen.setdefault(job, label) != label:
            faults.append(
                f"{label}: “{job}” is {seen[job]} already; write one job with the metal of both"
            )
    if faults:
        raise BadInput(joined(faults))
    state(bath)
    return bath


def _bare(fault: BadInput) -> str:
    """Return a sentence about a quantity without the name that it begins with."""
    return str(fault).partition(": ")[2] or str(fault)


def _day(text: str, label: str, faults: list[str]) -> day | None:
    if not text:
        faults.append(f"{label} is missing; {A_DATE}")
        return None
    try:
        return day.fromisoformat(text if re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII) else "")
    except ValueError:
        faults.append(f"{label}: “{text}” is not a date; {A_DATE}")
        return None


def _entry_faults(entry: Entry) -> list[str]:
    faults: list[str] = []
    for key, word in PARTS[entry.part].items():
        text = entry.said.get(key, "")
        if key == "metal":
            metal_key(text, faults)
        elif not text and key == "commission":
            faults.append("commission is missing; type the name of its folder")
        elif word and (text or entry.part != "topped"):
            try:
                term(word).read(text)
            except BadInput as fault:
                faults.append(f"{key}: {_bare(fault)}")
    if entry.part == "topped" and not set(entry.said) - {"date"}:
        faults.append("nothing is said; type taken_out, crystals or water")
    return faults


def _strength(bath: Bath):
    return read_strength(bath.strength, MADE_UP_AT).to(PER_LITRE)


def _volume(bath: Bath):
    volume = term("bath_volume").read(bath.volume).to(LITRE)
    if not volume.magnitude > 0:
        raise BadInput(f"volume: {bath.volume} is no bath; type a volume, such as 3 L.")
    return volume


def _numbered(bath: Bath) -> list[tuple[str, Entry]]:
    """Return the entries, each with what it is called: ``job 2``."""
    counts = dict.fromkeys(PARTS, 0)
    found = []
    for entry in bath.entries:
        counts[entry.part] += 1
        found.append((f"{entry.part} {counts[entry.part]}", entry))
    return found


def state(bath: Bath, without: str = "") -> State:
    """Return what the bath is after all its log.

    Parameters
    ----------
    bath : Bath
    without : str
        A commission whose own entry is left out, so that a plan of it does not count it twice.

    Raises
    ------
    BadInput
        More metal is said than the ferric can dissolve, or more was put in than makes a bath.
    """
    now = _mixed(bath)
    for _, after in _walked(bath, without):
        now = after
    return now


def _mixed(bath: Bath) -> State:
    return bath_state.new(_strength(bath), _volume(bath))


def _walked(bath: Bath, without: str = "") -> Iterator[tuple[Entry, State]]:
    """Yield each entry by date, with what the bath is after it."""
    now = _mixed(bath)
    parts = list(PARTS)  # of one day: jobs, then topping up
    in_time = sorted(_numbered(bath), key=lambda e: (e[1].said["date"], parts.index(e[1].part)))
    for label, entry in in_time:
        if without and entry.said.get("commission") == without:
            continue
        try:
            now = _after(now, entry)
        except BadInput as fault:
            raise BadInput(f"{label}: {fault}") from None
        yield entry, now


def _after(now: State, entry: Entry) -> State:
    if entry.part == "job":
        metal = metal_key(entry.said["metal"], [])
        return bath_state.after_job(now, metal, entry.value("metal_removed"))
    if entry.part == "topped":
        return bath_state.after_topping(
            now, *(entry.value(key) for key in ("taken_out", "crystals", "water"))
        )
    return now  # water alone goes and comes: the ferric and the metal stay


def with_job(bath: Bath, *, commission: str, date: str, metal: str, metal_removed) -> Bath:
    """Return the bath with a commission's job entered, in the place of its old entry if there is one.

    Parameters
    ----------
    bath : Bath
    commission, date, metal : str
        Name of its folder; the day as 2026-02-01; a name of the metal.
    metal_removed : Quantity

    Raises
    ------
    BadInput
        The log cannot be meant so.
    """
    job = Entry(
        "job",
        {
            "date": date,
            "commission": commission,
            "metal": metal,
            "metal_removed": show(metal_removed, "mass", count=4),
        },
    )
    old = [entry.said.get("commission") == commission for entry in bath.entries]
    entries = [job if own else entry for own, entry in zip(old, bath.entries, strict=True)]
    return checked(replace(bath, entries=(*entries, *(() if any(old) else (job,)))))


def with_topping(bath: Bath, *, date: str, said: dict[str, str]) -> Bath:
    """Return the bath with what was taken out of it and put in entered.

    Parameters
    ----------
    bath : Bath
    date : str
        The day as 2026-02-01.
    said : dict of str to str
        ``taken_out``, ``crystals``, ``water`` as typed; what is empty was not done.

    Raises
    ------
    BadInput
        Nothing is said, or it cannot be meant.
    """
    entry = Entry("topped", {"date": date, **{key: text for key, text in said.items() if text}})
    return checked(replace(bath, entries=(*bath.entries, entry)))


def written(bath: Bath, before: str = "") -> str:
    """Return the TOML text of a bath, keeping remarks and order of the text before."""
    # each entry on its own, so that a log written in order of time stays in that order
    head, *blocks = re.split(r"(?m)^(?=[ \t]*\[\[)", before)
    top = tomlkit.parse(head)
    _set(top, {key: getattr(bath, key) for key in HEAD})
    text = tomlkit.dumps(top)
    to_come = {part: [e for e in bath.entries if e.part == part] for part in PARTS}
    for block in blocks:
        entry = tomlkit.parse(block)
        part = next(iter(entry))
        if to_come[part]:
            _set(entry[part][0], to_come[part].pop(0).said)
            text = _on_a_line(text) + tomlkit.dumps(entry)
    for entries in to_come.values():
        for new in entries:
            row = tomlkit.table()
            _set(row, new.said)
            text = f"{_on_a_line(text)}\n[[{new.part}]]\n{row.as_string()}"
    return text


def _on_a_line(text: str) -> str:
    return text if not text or text.endswith("\n") else text + "\n"


def _set(table: Any, said: dict[str, str]) -> None:
    """Make a part say that and no more, touching only what differs."""
    for key in [key for key in table if key not in said]:
        del table[key]
    for key, text in said.items():
        if str(table.get(key)) != text:
            table[key] = text


def keep(bath: Bath, path: Path) -> None:
    """Write a bath back to its file, its remarks kept.

    Raises
    ------
    BadInput
        The log cannot be meant, or the file is broken or another bath's; it is untouched.
    """
    checked(bath)
    before = ""
    if path.exists():
        other = opened(path).name
        if other != bath.name:
            raise BadInput(
                f"{path.name} is the log of the bath “{other}”; give “{bath.name}” another name."
            )
        before = path.read_text(encoding="utf-8")
    write_whole(path, written(bath, before).encode())


def said(bath: Bath, system: str = "metric") -> list[str]:
    """Return the log as sentences in the order of time, each with how far the bath was spent after it."""
    lines = [f"{bath.mixed}: made up, {bath.volume} of {bath.strength}."]
    for entry, now in _walked(bath):
        spent = f"{show(now.bath_spent_share, 'share', count=2)} of the ferric is spent"
        lines.append(f"{entry.said['date']}: {_told(entry, now, system)}; {spent}.")
    return lines


def _told(entry: Entry, now: State, system: str) -> str:
    typed = entry.said
    if entry.part == "job":
        name = tables.load("alloys.toml")[metal_key(typed["metal"], [])]["name"]
        return f"{typed['commission']} dissolved {typed['metal_removed']} of {name}"
    if entry.part == "water":
        return f"{typed['water']} of water put in for what had evaporated"
    acts = [
        f"{typed[key]} {act}"
        for key, act in (
            ("taken_out", "taken out"),
            ("crystals", "of crystals put in"),
            ("water", "of water put in"),
        )
        if key in typed
    ]
    volume, strength = (
        show(q, kind, system) for q, kind in ((now.volume, "volume"), (now.strength, "strength"))
    )
    return f"{', '.join(acts)}; it is {volume} of {strength} as if fresh"
