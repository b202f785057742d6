"""What is noted while the job goes: gauge readings, weighings, grooves, wedges, blemishes; checked."""

from collections.abc import Callable, Sequence

from etchcalc.core.faults import BadInput, listed
from etchcalc.core.vocabulary import term
from etchcalc.job.schema import BLEMISH, GAUGED_ON, READING_KEYS, SECTION, SECTION_KEYS, WEDGE


def reading_faults(reading: dict[str, str], number: int, system: str = "metric") -> list[str]:
    """Return what is wrong with one gauge reading or weighing, each fault naming it."""
    label = f"reading {number}"
    weighed = bool(reading.get("weight_lost", "").strip())
    must = ("reading_time", "weight_lost" if weighed else "reading_depth")
    if weighed and reading["weight_lost"].strip()[0] in "-−":
        return [
            f"{label}: a plate gains no weight in the bath; weigh it dry, with the same paint and resist "
            "as before, and type the grams that are gone"
        ]
    faults, read = _read(reading, must, READING_KEYS, label, system)
    gauged = reading.get("gauged_on", GAUGED_ON[0])
    if gauged not in GAUGED_ON:
        faults.append(f"{label}: gauged on {listed(GAUGED_ON)}, not “{gauged}”")
    deep, film = read.get("reading_depth"), read.get("film_under_gauge")
    if deep is not None and film is not None and deep <= film:
        faults.append(f"{label}: the film alone is as thick as what the gauge read; gauge again")
    return faults


def section_faults(section: dict[str, str], number: int, system: str = "metric") -> list[str]:
    """Return what is wrong with one measured groove, each fault naming it."""
    label = f"section {number}"
    faults, read = _read(section, SECTION, SECTION_KEYS, label, system)
    line, film = read.get("section_line"), read.get("section_film")
    opened = read.get("developed_line")
    if line is not None and opened is not None and line <= opened:
        faults.append(
            f"{label}: the groove is no wider than its line in the resist; measure both again"
        )
    if line is not None and film is not None and line <= film:
        faults.append(
            f"{label}: the groove is no wider than its line on the film; measure both again"
        )
    return faults


def wedge_faults(wedge: dict[str, str], number: int, system: str = "metric") -> list[str]:
    """Return what is wrong with one reading of the step wedge, each fault naming it."""
    return _read(wedge, WEDGE, WEDGE, f"wedge {number}", system)[0]


def blemish_faults(blemish: dict[str, str], number: int, system: str = "metric") -> list[str]:
    """Return what is wrong with one entry of the retouch log, each fault naming it."""
    label = f"blemish {number}"
    faults = [
        f"{label} knows no “{n}”; it knows {listed(BLEMISH)}" for n in blemish if n not in BLEMISH
    ]
    if not blemish.get("blemish", "").strip():
        faults.append(f"{label}: say what it is, such as pinhole, with its place and what was done")
    return faults


# By the part of the file.
CHECKS: dict[str, Callable[..., list[str]]] = {
    "reading": reading_faults,
    "section": section_faults,
    "wedge": wedge_faults,
    "blemish": blemish_faults,
}


def _read(
    said: dict[str, str], must: Sequence[str], known: Sequence[str], label: str, system: str
) -> tuple[list[str], dict]:
    """Return faults and quantities of one measurement."""
    faults = [
        f"{label} knows no “{name}”; it knows {listed(known)}" for name in said if name not in known
    ]
    read = {}
    for name in known:
        text = said.get(name, "").strip()
        if name == "gauged_on" or not (text or name in must):
            continue
        try:
            read[name] = term(name).read(text, system)
        except BadInput as fault:
            faults.append(f"{label}, {fault}")
    return faults, read
