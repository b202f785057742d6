"""The shop's memory: every job found again by client, title, alloy, tray, day or any word.

The folders are the truth. The index of them is a file in the shop's cache, which may be thrown
away at any time; a job is read again when its record or commission has another stamp.
"""

import json
import os
import re
import tomllib
import unicodedata
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import etchcalc
from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import MINUTE
from etchcalc.job import done, keeping, past
from etchcalc.job.files import write_whole
from etchcalc.job.shop import Shop

INDEX = "jobs.json"
_ORDER = "commission.toml"
_SHAPE = 1  # of the index; another is built anew


@dataclass(frozen=True)
class Job:
    """What is remembered of a job.

    Parameters
    ----------
    name : str
        Of its folder.
    title, client, metal, tray : str
        The metal by the names that people call it, too.
    date : str
        The day it was done, else saved, as 2026-02-01; "" where it was not.
    version : int
        Of its record; 0 without one.
    foretold : tuple of float or None
        Minutes in the etchant before any reading: early, middle, late, for the depth reached.
    gauge : float or None
        Minutes after which to lift and gauge first.
    took : float or None
        Minutes that it took, where that was noted.
    fault : str
        A sentence where its record cannot be read.
    text : str
        All its words, folded, for the search.
    """

    name: str
    title: str = ""
    client: str = ""
    metal: str = ""
    tray: str = ""
    date: str = ""
    version: int = 0
    foretold: tuple[float, float, float] | None = None
    gauge: float | None = None
    took: float | None = None
    fault: str = ""
    text: str = ""


def jobs(root: Path) -> list[Job]:
    """Return every job of a shop, the newest first; the index is renewed where it is stale."""
    index = Shop(root).cache / INDEX
    before = _read(index)
    now: dict[str, Any] = {}
    with suppress(FileNotFoundError):
        for entry in os.scandir(root / "commissions"):
            stamp = _stamp(Path(entry.path))
            if stamp:
                old = before.get(entry.name, {})
                same = old.get("stamp") == stamp
                job = old["job"] if same else asdict(_remembered(Path(entry.path)))
                now[entry.name] = {"stamp": stamp, "job": job}
    if now != before:
        kept = {"shape": _SHAPE, "package": etchcalc.__version__, "jobs": now}
        with suppress(BadInput):  # a folder that cannot be written is no fault
            write_whole(index, json.dumps(kept, ensure_ascii=False).encode())
    found = [_job(entry["job"]) for entry in now.values()]
    return sorted(found, key=lambda job: (job.date, job.name), reverse=True)


def find(
    of: Iterable[Job], text: str = "", *, client: str = "", title: str = "", alloy: str = "",
    tray: str = "", since: str = "", until: str = "",
) -> list[Job]:  # fmt: skip
    """Return those jobs in which everything that is asked for is found.

    Parameters
    ----------
    of : iterable of Job
    text : str
        Words, each of which stands somewhere in the job: title, client, notes, readings.
    client, title, alloy, tray : str
        A part of each; capitals and accents do not count.
    since, until : str
        Days, months or years, both included: 2026-02-01, 2026-02 or 2026.

    Raises
    ------
    BadInput
        A day cannot be meant.
    """
    for day in (since, until):
        if day and not re.fullmatch(r"\d{4}(-\d\d(-\d\d)?)?", day):
            raise BadInput(f"“{day}” is not a date; type a year, month or day, such as 2026-02-01.")
    words = folded(text).split()
    parts = [(n, folded(p)) for n, p in
             (("client", client), ("title", title), ("metal", alloy), ("tray", tray)) if p]  # fmt: skip
    return [
        job
        for job in of
        if all(word in job.text for word in words)
        and all(part in folded(getattr(job, name)) for name, part in parts)
        and (not since or job.date[: len(since)] >= since)
        and (not until or "" < job.date[: len(until)] <= until)
    ]


def forecasts(of: Iterable[Job]) -> list[dict[str, Any]]:
    """Return rows for a picture of how good past forecasts were, the oldest first.

    Each has `name`, `title`, `date`, minutes `early`, `middle`, `late`, `gauge` and `took`,
    `share` (what it took over the middle) and `within` (inside the range foretold).
    """
    rows = []
    for job in sorted(of, key=lambda job: (job.date, job.name)):
        if job.foretold and job.took:
            early, middle, late = job.foretold
            rows.append(
                {"name": job.name, "title": job.title, "date": job.date, "early": early,
                 "middle": middle, "late": late, "gauge": job.gauge, "took": job.took,
                 "share": job.took / middle, "within": early <= job.took <= late}
            )  # fmt: skip
    return rows


def folded(text: str) -> str:
    """Return a text without capitals and accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in plain if not unicodedata.combining(c))


def _job(said: dict[str, Any]) -> Job:
    """Return a job as JSON holds it: a tuple comes back as a list."""
    return Job(**{**said, "foretold": tuple(said["foretold"]) if said["foretold"] else None})


def _read(index: Path) -> dict[str, Any]:
    with suppress(OSError, ValueError, KeyError, TypeError, RecursionError):
        kept = json.loads(index.read_bytes())
        if (kept["shape"], kept["package"]) == (_SHAPE, etchcalc.__version__):
            for entry in kept["jobs"].values():
                _job(entry["job"])
            return kept["jobs"]
    return {}


def _stamp(folder: Path) -> list[int]:
    """Return what tells whether a job was changed; nothing where there is no job."""
    found = []
    for name in (keeping.RECORD, _ORDER):
        try:
            seen = (folder / name).stat()
            found += [seen.st_mtime_ns, seen.st_size]
        except OSError:
            found += [0, 0]
    return found if any(found) else []


def _remembered(folder: Path) -> Job:
    """Return a job as its folder tells it: the record, else the commission alone."""
    texts: list[str] = [folder.name]
    said: dict[str, Any] = {"title": folder.name}
    with suppress(OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        order = tomllib.loads((folder / _ORDER).read_text(encoding="utf-8"))
        texts += _texts(order)
        said |= {k: str(v) for k, v in order.get("commission", {}).items() if k in ("title", "client")}  # fmt: skip
        said["metal"] = _metal(str(order.get("plate", {}).get("metal", "")))
        said["tray"] = str(order.get("tray", {}).get("tray_material", ""))
    if (folder / keeping.RECORD).exists():
        try:
            record = past.opened(folder / keeping.RECORD)
            texts += _texts([record["words"], record["noted"], record["saved"]])
            said |= _of_record(record)
        except BadInput as fault:
            said["fault"] = str(fault)
        except (KeyError, TypeError, ValueError, AttributeError):
            said["fault"] = f"The record of {folder.name} is damaged; look among its earlier ones."
    texts += [said["title"], said.get("client", ""), said.get("metal", ""), said.get("tray", "")]
    return Job(folder.name, **said, text=folded("\n".join(dict.fromkeys(texts))))


def _of_record(record: dict) -> dict[str, Any]:
    words, known = record["words"], record["understood"]
    size = " × ".join(f"{known[n]['value']:g}" for n in ("tray_length", "tray_width"))
    did = done.as_done(record)
    time = did.row("done_time")
    return {
        "title": record["title"],
        "client": words.get("client", ""),
        "metal": _metal(record["metal"]["key"]),
        "tray": f"{words.get('tray_material', '')} {size} mm",
        "date": words.get("done_on") or record["saved"],
        "version": record["version"],
        "foretold": did.forecast,
        "gauge": record["results"].get("gauge_time", {}).get("value"),
        "took": float(time.actual.to(MINUTE).magnitude) if time else None,
    }


def _metal(said: str) -> str:
    """Return a metal by all its names, or as it was said where it is not known."""
    for key, alloy in tables.load("alloys.toml").items():
        names = [key, alloy["name"], *alloy["known_as"]]
        if said.lower() in (n.lower() for n in names):
            return ", ".join(dict.fromkeys(names))
    return said


def _texts(said: Any) -> list[str]:
    """Return every text within a document."""
    if isinstance(said, dict):
        return [text for value in said.values() for text in _texts(value)]
    if isinstance(said, list):
        return [text for value in said for text in _texts(value)]
    return [str(said)]
