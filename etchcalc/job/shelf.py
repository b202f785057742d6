"""What the shop holds, what a job takes of it, and what is to be bought.

``shelf.toml`` in the shop's folder is one flat list, an ``[[item]]`` each.
"""

import difflib
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date as day
from pathlib import Path
from typing import Any

import tomlkit

from etchcalc.core.faults import BadInput, joined, listed
from etchcalc.core.units import KINDS, LITRE, read, show
from etchcalc.core.vocabulary import term
from etchcalc.job.baths import A_DATE
from etchcalc.job.commission import metal_key
from etchcalc.job.files import text_of, toml_of, write_whole
from etchcalc.job.plan import Plan

NAME = "shelf.toml"
# What a shelf holds by kind, and the figures of a plan that a job takes of it.
TAKEN = {
    "crystals": ("etchant_crystals",),
    "soda": ("developer_soda", "stripper_soda"),
    "paint": ("paint_to_mix",),
    "fill paint": ("fill_to_mix",),
    "lacquer": ("lacquer_paint",),
    "thinners": ("thinners_needed",),
    "resist": ("resist_area",),
    "metal": ("metal_bought",),
}
_AMOUNTS, _DAYS = ("amount", "package"), ("opened", "best_before")


@dataclass(frozen=True)
class Item:
    """One thing on the shelf, as typed.

    Parameters
    ----------
    name : str
        What is written on it; of metal, the alloy as people call it.
    kind : str
        Of `TAKEN`.
    amount, package : str
        What is left, and how much one package holds when it is bought: "1.8 kg", "2.5 kg".
    opened, best_before : str
        Days, as 2026-02-01.
    thickness : str
        Of metal.
    """

    name: str
    kind: str
    amount: str
    package: str = ""
    opened: str = ""
    best_before: str = ""
    thickness: str = ""


@dataclass(frozen=True)
class Purchase:
    """What is missing of one kind.

    Parameters
    ----------
    kind : str
    needed, held, missing : Quantity
    packages : int or None
        How many to buy; None where no item of the kind tells the size of a package.
    text : str
        A sentence.
    """

    kind: str
    needed: Any
    held: Any
    missing: Any
    packages: int | None
    text: str


def opened(path: Path) -> tuple[Item, ...]:
    """Return the shelf of a file, empty where there is no file; BadInput names every fault."""
    if not path.exists():
        return ()
    document = toml_of(text_of(path, "The shelf"), "The shelf", 'amount = "1.8 kg"')
    rows = document.pop("item", [])
    faults = [f"“{key}” is not known here; write [[item]]" for key in document]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise BadInput(f"{path.name}: write [[item]] and its lines below it.")
    items = [_item(row, f"item {n}", faults) for n, row in enumerate(rows, 1)]
    if faults:
        raise BadInput(f"{path.name}: {joined(faults)}")
    return tuple(item for item in items if item)


def keep(path: Path, items: Sequence[Item]) -> None:
    """Write the shelf, whole or not at all; the remarks of items that stay are kept.

    Raises
    ------
    BadInput
        An item cannot be meant, or the folder cannot be written; the file is untouched.
    """
    faults: list[str] = []
    said = [{k: v for k, v in asdict(item).items() if v} for item in items]
    for number, row in enumerate(said, 1):
        _item(row, f"item {number}", faults)
    if faults:
        raise BadInput(joined(faults))
    document: Any = tomlkit.parse(path.read_text(encoding="utf-8") if path.exists() else "")
    old, rows = list(document.pop("item", [])), tomlkit.aot()
    for item in said:
        same = [r for r in old if (r.get("name"), r.get("kind")) == (item["name"], item["kind"])]
        row = same[0] if same else tomlkit.table()
        old = [r for r in old if r is not row]
        for key in [key for key in row if key not in item]:
            del row[key]
        for key, value in item.items():
            if row.get(key) != value:
                row[key] = value
        rows.append(row)
    if said:
        document.append("item", rows)
    write_whole(path, tomlkit.dumps(document).encode())


def _item(row: dict[str, Any], label: str, faults: list[str]) -> Item | None:
    """Return an item; None where the faults grew."""
    before, known = len(faults), tuple(Item.__dataclass_fields__)
    for key in row:
        if key not in known:
            near = difflib.get_close_matches(key, known, 1)
            hint = f"did you mean {near[0]}?" if near else f"it knows {listed(known)}"
            faults.append(f"{label} knows no “{key}”; {hint}")
    said = {key: str(value).strip() for key, value in row.items() if key in known}
    faults += [f"{label}: {key} is missing; type it below [[item]]" for key in ("name", "kind", "amount") if not said.get(key)]  # fmt: skip
    kind = said.get("kind", "")
    if kind and kind not in TAKEN:
        faults.append(f"{label}, kind: “{kind}” is not known; type {listed(tuple(TAKEN))}")
    for key in _DAYS:
        if said.get(key) and not _is_day(said[key]):
            faults.append(f"{label}, {key}: “{said[key]}” is not a date; {A_DATE}")
    try:
        for key in _AMOUNTS:
            if kind in TAKEN and said.get(key):
                amount(kind, said[key], key)
        if said.get("thickness"):
            term("plate_thickness").read(said["thickness"])
    except BadInput as fault:
        faults.append(f"{label}, {fault}")
    metal_key(said.get("name"), faults) if kind == "metal" else None
    return Item(**said) if len(faults) == before else None


def _is_day(text: str) -> bool:
    try:
        return day.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def amount(kind: str, text: str, label: str = "amount"):
    """Return an amount of one kind as a quantity; BadInput says what is accepted."""
    wanted = term(TAKEN[kind][0])
    example = {"mass": "2.5 kg", "area": "1.5 m²"}.get(wanted.kind, "750 mL")
    accepted = f"type {KINDS[wanted.kind].name}, such as {example}"
    try:
        quantity = read(text)
    except BadInput as fault:
        raise BadInput(f"{label}: {fault}; {accepted}.") from None
    if quantity.dimensionality != wanted.unit.dimensionality or not 0 <= quantity.magnitude < 1e9:
        raise BadInput(f"{label}: “{text}” cannot be meant; {accepted}.")
    if label == "package" and not quantity.magnitude > 0:
        raise BadInput(f"package: “{text}” holds nothing; {accepted}, or leave it out.")
    return quantity


def takes(plan: Plan) -> dict[str, Any]:
    """Return what a job takes of the shelf: quantities by kind, only those that it takes."""
    found = {}
    for kind, names in TAKEN.items():
        if kind == "crystals" and plan.commission.words["bath_is"] != "new":
            continue
        parts = [plan.middle(name) for name in names if name in plan.figures(*names)]
        if parts and (total := sum(parts[1:], parts[0])).magnitude > 0:
            found[kind] = total
    return found


def to_buy(plan: Plan, shelf: Sequence[Item], today: str) -> list[Purchase]:
    """Return what is missing for a job, in whole packages of the size on the shelf's own items.

    Parameters
    ----------
    plan : Plan
    shelf : sequence of Item
    today : str
        As 2026-02-01; what is past its best before that day does not count.
    """
    found = []
    for kind, needed in takes(plan).items():
        items = [item for item in shelf if item.kind == kind and _fits(item, plan)]
        stale = [i for i in items if i.best_before and i.best_before < today]
        held = sum((amount(kind, i.amount) for i in items if i not in stale), 0 * needed)
        missing = needed - held
        if missing.magnitude <= 1e-9 * needed.magnitude:
            continue
        sizes = [i.package for i in items if i.package]
        count = None
        if sizes:
            share = float((missing / amount(kind, sizes[0])).to("").magnitude)
            count = math.ceil(share - 1e-9)
        how = term(TAKEN[kind][0]).kind
        said = {n: show(q, how, plan.commission.units, fixed=False) for n, q in (("needed", needed), ("held", held), ("missing", missing))}  # fmt: skip
        text = f"{kind}: the job takes {said['needed']}, {said['held']} are there, {said['missing']} are missing"
        text += f": buy {count} of {sizes[0]}" if count else ""
        if stale:
            text += f"; {', '.join(i.name for i in stale)} is past its best before"
        found.append(Purchase(kind, needed, held, missing, count, f"{text}."))
    return found


def _fits(item: Item, plan: Plan) -> bool:
    """Tell whether an item is what the job takes: of metal, the same alloy as thick."""
    if item.kind != "metal":
        return True
    thick = term("plate_thickness").read(item.thickness or plan.commission.typed.get("plate_thickness") or show(plan.middle("plate_thickness"), "fine"))  # fmt: skip
    apart = abs((thick - plan.middle("plate_thickness")).to("mm").magnitude)
    return metal_key(item.name, []) == plan.commission.metal and apart < 0.02


def makes(crystals, strength):
    """Return the volume of etchant that a mass of crystals makes at a strength."""
    return (crystals / strength).to(LITRE)
