"""The commission: what the client ordered and what the shop has, read and checked.

A commission is a TOML file. Quantities are written as people write them
("0.4 mm", "12 thou"); what is not said takes the vocabulary's start value and
is marked so. Every fault of a file is named in one sentence.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from etchcalc.core import tables
from etchcalc.core.faults import BadInput, joined, listed
from etchcalc.core.units import SYSTEMS
from etchcalc.core.vocabulary import term
from etchcalc.job import clocks, prices, tolerances
from etchcalc.job.measured import CHECKS
from etchcalc.job.schema import (
    EATEN,
    FILES,
    MUST,
    OF_ONE_JOB,
    OPTIONAL,
    QUANTITIES,
    ROWS,
    TRAYS,
    WORDS,
)
from etchcalc.job.tolerances import Tolerance


@dataclass(frozen=True)
class Commission:
    """An order as typed and as understood.

    Parameters
    ----------
    typed : dict of str to str
        What was written, by name; only what was said.
    values : dict of str to Quantity
        Every quantity, said or started from.
    metal : str
        Key in alloys.toml.
    words : dict of str to str
        Title, client, units and other words.
    folder : Path or None
        Where the artwork lies.
    readings : tuple of dict
        Gauge readings as typed: ``reading_time``, ``reading_depth``, ``film_under_gauge``,
        ``gauged_on``; or ``reading_time`` and ``weight_lost``.
    sections : tuple of dict
        Grooves measured on a test strip or a section: ``section_film``, ``section_line``,
        ``section_depth``, and where it was measured before etching, ``developed_line``.
    wedges : tuple of dict
        Exposures of a step wedge: ``test_exposure``, ``held_step``.
    blemishes : tuple of dict
        The retouch log: ``blemish``, ``place``, ``mended``.
    tolerances : dict of str to Tolerance
        How far off a quantity may be, by name; only what was said with a ±.
    """

    typed: dict[str, str]
    values: dict[str, Any]
    metal: str
    words: dict[str, str] = field(default_factory=dict)
    folder: Path | None = None
    readings: tuple[dict[str, str], ...] = ()
    sections: tuple[dict[str, str], ...] = ()
    wedges: tuple[dict[str, str], ...] = ()
    blemishes: tuple[dict[str, str], ...] = ()
    tolerances: dict[str, Tolerance] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """What the job is called."""
        return self.words.get("title") or "Untitled commission"

    @property
    def units(self) -> str:
        """The system of units that the page shows."""
        return self.words["units"]

    @property
    def alloy(self) -> dict:
        """The alloy's entry in alloys.toml."""
        return tables.load("alloys.toml")[self.metal]

    @property
    def price_lines(self) -> dict[str, str]:
        """What the commission itself says of prices."""
        return {name: self.words[name] for name in prices.KNOWN if self.words.get(name)}

    @property
    def artwork(self) -> Path | None:
        """The drawing's file, or None."""
        name = self.words.get("file")
        return self.folder / name if name and self.folder else None

    @property
    def files(self) -> dict[str, Path]:
        """The files beside the commission, by what they are."""
        if not self.folder:
            return {}
        return {FILES[k]: self.folder / self.words[k] for k in FILES if self.words.get(k)}

    def status(self, name: str) -> str:
        """Return what a quantity rests on: said by the maker, or the start value's own status."""
        if name == "etch_factor":
            return "measured here"
        return "given" if name in self.typed else term(name).status

    def source(self, name: str) -> str:
        """Return the source key of a quantity that was not said."""
        return term(name).source

    def off(self, name: str, system: str = "") -> str:
        """Return what stands behind a value that was said with a ±, to be shown or to go on with it.

        Parameters
        ----------
        name : str
        system : str
            In whose units; the commission's own where nothing is said.

        Returns
        -------
        str
            Such as ``" ± 2 °C (95 %)"``, with the half width in a unit also where it was typed as
            a share of the value; "" where no ± was said.
        """
        told = self.tolerances.get(name)
        return f" {told.said(system or self.units)}" if told else ""

    def with_one(self, name: str, text: str, system: str = "") -> "Commission":
        """Return the commission with one quantity typed anew; the quick way for a slider."""
        if name == "mixing_temperature":  # a strength said in another measure hangs on it
            return self.changed(mixing_temperature=text)
        mixing = self.values["mixing_temperature"]
        value, off = tolerances.read(name, text, system or self.units, mixing)
        values, told = {**self.values, name: value}, {**self.tolerances}
        told.pop(name, None)
        if off is not None:
            told[name] = off
        faults: list[str] = []
        _together(values, faults)
        if faults:
            raise BadInput(faults[0])
        typed = {**self.typed, name: text.strip()}
        return replace(self, values=values, typed=typed, tolerances=told)

    def changed(self, **typed: str) -> "Commission":
        """Return the commission with quantities or words typed anew, all checked together."""
        said = {**self.typed, **self.words, "metal": self.metal, **typed}
        noted: dict[str, Any] = {name: getattr(self, name) for name in ROWS.values()}
        return replace(understood(said, self.folder), **noted)

    def begun(self, title: str) -> "Commission":
        """Return a new commission for the same shop: nothing of this client, drawing or plate's day."""
        said = {**self.typed, **self.words, "metal": self.metal, "title": title.strip()}
        invented = prices.KNOWN if self.words.get("invented") else ()
        for name in (*OF_ONE_JOB, *invented):
            said.pop(name, None)
        return understood(said)

    def with_row(self, part: str, row: dict[str, str]) -> "Commission":
        """Return the commission with one more of what is noted as the job goes, checked.

        Parameters
        ----------
        part : str
            Of `schema.ROWS`.
        row : dict of str to str
            As typed.
        """
        rows = self.rows(part)
        faults = CHECKS[part](row, len(rows) + 1, self.units)
        if faults:
            raise BadInput(joined(faults))
        return self._with(part, (*rows, row))

    def without_last(self, part: str) -> "Commission":
        """Return the commission with the last of one sort of note taken back."""
        return self._with(part, self.rows(part)[:-1])

    def rows(self, part: str) -> tuple[dict[str, str], ...]:
        """Return the notes of one sort, as typed."""
        return getattr(self, ROWS[part])

    def _with(self, part: str, rows: tuple[dict[str, str], ...]) -> "Commission":
        return replace(self, **{ROWS[part]: rows})  # type: ignore[arg-type]


def understood(
    said: dict[str, str], folder: Path | None = None, known_faults: Sequence[str] = ()
) -> Commission:
    """Return the commission that flat names and texts mean.

    Raises
    ------
    BadInput
        One sentence that names every fault.
    """
    faults = list(known_faults)
    values, typed, told = {}, {}, {}
    asked = said.get("units", "")
    system = asked if asked in SYSTEMS else SYSTEMS[0]
    mixing = _mixing_temperature(said, system)
    for name in QUANTITIES:
        text = said.get(name)
        if text is None or str(text).strip() == "":
            if name in MUST:
                faults.append(f"{term(name).words} is missing; {term(name).accepted(system)}.")
            elif name not in OPTIONAL:
                values[name] = term(name).quantity(float(term(name).start or 0))
            continue
        try:
            values[name], off = tolerances.read(name, text, system, mixing)
            if off is not None:
                told[name] = off
            typed[name] = str(text).strip()
        except BadInput as fault:
            faults.append(str(fault))
    words = _words(said, faults)
    _prices(words, faults)
    _clocks(words, faults)
    metal = metal_key(said.get("metal"), faults)
    _together(values, faults)
    if words.get("bath_is") == "found on the shelf" and "hydrometer_reading" not in values:
        faults.append(
            "hydrometer reading: a bath found on the shelf needs one; type what the hydrometer shows, such as 27 °Bé."
        )
    for key, what in FILES.items():
        if folder is not None and words.get(key):
            _inside(folder, key, what, words[key], faults)
    if faults:
        raise BadInput(joined(faults))
    return Commission(typed, values, metal, words, folder, tolerances=told)


def _words(said: dict, faults: list[str]) -> dict[str, str]:
    words = {}
    for entries in WORDS.values():
        for name, choices in entries.items():
            if name == "metal":
                continue
            text = str(said.get(name) or "").strip()
            if choices and not text:
                text = choices[0]
            if choices and text not in choices:
                faults.append(f"{name}: “{text}” is not an answer here; type {listed(choices)}.")
            words[name] = text
    words["tray_material"] = words.get("tray_material") or TRAYS[0]
    material = words["tray_material"].lower()
    if material not in (tray.lower() for tray in TRAYS) and any(
        re.search(rf"\b{metal}", material) for metal in EATEN
    ):
        faults.append(
            f"tray material: {words['tray_material']} is refused for safety, since ferric chloride eats "
            f"metal; type {listed(TRAYS)}."
        )
    return words


def _prices(words: dict[str, str], faults: list[str]) -> None:
    try:
        prices.understood({name: words[name] for name in prices.KNOWN if words[name]})
    except BadInput as fault:
        faults.append(str(fault))


def _clocks(words: dict[str, str], faults: list[str]) -> None:
    """Name what cannot be meant of the day: its zone, its beginning, the hours of the shop."""
    try:
        zone = words["zone"] or clocks.USUAL_ZONE
        clocks.read_zone(zone)
        if words["starts"]:
            clocks.read_start(words["starts"], zone)
        for name in ("opens", "closes"):
            if words[name]:
                clocks.read_clock(words[name], name)
    except BadInput as fault:
        faults.append(str(fault))


def _mixing_temperature(said: dict[str, str], system: str):
    """Return the temperature of mixing, or its start value where it is faulty: that is told apart."""
    entry = term("mixing_temperature")
    try:
        return tolerances.read(entry.name, said["mixing_temperature"], system)[0]
    except (BadInput, KeyError):
        return entry.quantity(float(entry.start or 0))


def metal_key(text, faults: list[str]) -> str:
    """Return the key in alloys.toml of a metal as people name it; "" and a fault where none is."""
    alloys = tables.load("alloys.toml")
    wanted = str(text or "").strip().lower()
    for key, alloy in alloys.items():
        tables.checked(alloy["status"], alloy["source"])
        if wanted and wanted in (
            key.lower(),
            alloy["name"].lower(),
            *(n.lower() for n in alloy["known_as"]),
        ):
            return key
    names = listed([alloy["known_as"][0] for alloy in alloys.values()])
    what = f"“{text}” is not a metal that is known here" if wanted else "is missing"
    faults.append(f"metal: {what}; type {names}.")
    return ""


def _together(values: dict, faults: list[str]) -> None:
    """Name what cannot be meant of several quantities at once."""
    depth, thickness = values.get("depth"), values.get("plate_thickness")
    if depth is not None and thickness is not None and depth >= thickness:
        faults.append("depth: it goes through the plate; type less than the plate's thickness.")
    second = values.get("second_depth")
    if (second is None) != (values.get("second_line") is None):
        faults.append("second depth: type the second line and its depth, both, or leave both out.")
    if second is not None and depth is not None and second <= depth:
        faults.append("second depth: it is not the deeper one; type more than the depth.")
    if second is not None and thickness is not None and second >= thickness:
        faults.append(
            "second depth: it goes through the plate; type less than the plate's thickness."
        )
    if ("wanted_dose" in values) != ("irradiance" in values):
        faults.append("irradiance: type the wanted dose and the light, both, or leave both out.")
    for name in ("plate_count", "coats", "coated_faces", "lacquer_coats"):
        count = values.get(name)
        if count is not None and count.magnitude % 1:
            faults.append(
                f"{term(name).words}: {count.magnitude:g} cannot be meant; type a whole number."
            )


def _inside(folder: Path, key: str, what: str, name: str, faults: list[str]) -> None:
    path = (folder / name).resolve()
    if not path.is_relative_to(folder.resolve()):
        faults.append(
            f"{key}: “{name}” lies outside the commission's folder; copy the {what} beside the commission."
        )
    elif not path.is_file():
        faults.append(
            f"{key}: there is no {what} “{name}” beside the commission; copy it there or leave {key} out."
        )
