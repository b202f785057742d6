"""The record kept for ever: every version whole, whatever happens while it is saved.

``record.json`` is the truth, ``record.html`` its page; the page's last line names the SHA-256
of the record that it was made from. One save at a time (`files.alone`) goes in this order:

1. What is in front now is copied to ``earlier/record-0007.json``.
2. The new page is written beside, as ``.record.html.next``.
3. ``record.json`` is replaced: from here on the new version holds.
4. The page beside takes the place of ``record.html``.

Killed before 3, the old record and its page are there; killed between 3 and 4, the page that
belongs lies beside and is put in its place when the folder is next looked at (`settled`).
"""

import hashlib
import json
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from etchcalc.core.faults import BadInput
from etchcalc.job import files
from etchcalc.job.schema import FILES

RECORD, PAGE, NEXT, EARLIER = "record.json", "record.html", ".record.html.next", "earlier"
PHOTOGRAPHS = "photographs"  # a word of a commission: names of files, with commas between
_MARK = "\n<!-- record.json SHA-256 {} -->\n"


@dataclass(frozen=True)
class Kept:
    """What was kept.

    Parameters
    ----------
    page : Path
        record.html.
    version : int
        From 1; to be given as `seen` with the next save of the same window.
    told : str
        One sentence where another window had saved meanwhile, else "".
    """

    page: Path
    version: int
    told: str = ""


def text(record: dict) -> str:
    """Return record.json: plain, indented, the same bytes for the same record."""
    return json.dumps(record, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def keep(folder: Path, record: dict, page: str, seen: int | None = None) -> Kept:
    """Keep a record and its page as the next version; every version before it stays.

    Parameters
    ----------
    folder : Path
        Of the commission.
    record : dict
        As `etchcalc.job.record.record` gives it; it gets its `version` and the digests of the
        `files` that it names.
    page : str
        The page made from it.
    seen : int, optional
        The version that the window had opened or saved last; 0 where there was none.

    Raises
    ------
    BadInput
        The folder cannot be written, or a file that the record names is not there; the record
        that was there still is.
    """
    with files.alone(folder, RECORD):
        front = _bytes(folder / RECORD)
        _settle(folder, front)
        before, said = _version(front), files_of(record)
        rest = {k: v for k, v in record.items() if k not in ("schema", "version", "files")}
        whole = {"schema": record.get("schema"), "version": before, **rest}
        whole["files"] = {name: digest(_beside(folder, name)) for name in said}
        aside = None
        if front != text(whole).encode():  # the same saved again is no new version
            aside = _set_aside(folder, before, front) if front else None
            whole["version"] = max([before, *versions(folder)]) + 1
        _put_in_front(folder, text(whole).encode(), page)
    told = ""
    if seen is not None and seen != before and aside is not None:
        told = (
            f"Another window saved version {before} of this record since you opened it: yours is version "
            f"{whole['version']} and in front, the other lies whole in {EARLIER}/{aside.name}."
        )
    return Kept(folder / PAGE, whole["version"], told)


def version(folder: Path) -> int:
    """Return the version of a folder's record; 0 where there is none, or one without a version."""
    return _version(_bytes(folder / RECORD))


def versions(folder: Path) -> dict[int, Path]:
    """Return every version that a folder holds, and where."""
    found: dict[int, Path] = {}
    for path in sorted(
        (folder / EARLIER).glob("record-*.json"), key=lambda p: (len(p.name), p.name)
    ):
        if number := re.match(r"record-(\d+)", path.name):
            found.setdefault(int(number[1]), path)
    if (folder / RECORD).exists():
        found[version(folder)] = folder / RECORD
    return found


def settled(folder: Path) -> bool:
    """Finish what a killed save left undone, and tell whether the page belongs to the record."""
    if (folder / NEXT).exists():
        with suppress(BadInput, OSError), files.alone(folder, RECORD):
            _settle(folder, _bytes(folder / RECORD))
    return _belongs(_bytes(folder / RECORD), _bytes(folder / PAGE))


def files_of(record: dict) -> list[str]:
    """Return the names of the files beside a record: drawing, log, photographs."""
    words = record.get("words", {})
    photographs = [name.strip() for name in words.get(PHOTOGRAPHS, "").split(",")]
    return list(dict.fromkeys(n for n in (*(words.get(k) for k in FILES), *photographs) if n))


def digest(path: Path) -> str:
    """Return the SHA-256 of a file; BadInput where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as fault:
        raise BadInput(f"{path.name} cannot be read ({fault.strerror}).") from None


def altered(folder: Path, record: dict) -> list[str]:
    """Return a sentence for each file that is no longer what it was when the record was saved."""
    found = []
    for name, then in record["files"].items():
        try:
            if digest(_beside(folder, name)) != then:
                found.append(f"{name} is another file now than when the record was saved.")
        except BadInput:
            found.append(f"{name} is no longer beside the record.")
    return found


def _beside(folder: Path, name: str) -> Path:
    """Return a named file of the folder; a drawing from elsewhere lies there by its last name."""
    for path in (folder / name, folder / Path(name).name):
        if path.is_file() and path.resolve().is_relative_to(folder.resolve()):
            return path
    raise BadInput(
        f"{RECORD} could not be saved: there is no file “{name}” beside the commission; copy it there, or leave its name out."
    )


def _put_in_front(folder: Path, content: bytes, page: str) -> None:
    sha = hashlib.sha256(content).hexdigest()
    try:
        files.write_whole(folder / NEXT, (page + _MARK.format(sha)).encode())
        files.write_whole(folder / RECORD, content)
    except BaseException as fault:
        with suppress(OSError):
            (folder / NEXT).unlink()
        if isinstance(fault, BadInput):  # it may be the page that did not find room
            raise BadInput(str(fault).replace(f"{NEXT} could", f"{RECORD} could")) from None
        raise
    try:
        (folder / NEXT).replace(folder / PAGE)
        files.sync_folder(folder)
    except OSError as fault:
        raise BadInput(
            f"The record is saved, but its page {PAGE} cannot be replaced ({fault.strerror}); close "
            "the page where it is open and save again."
        ) from None


def _settle(folder: Path, front: bytes) -> None:
    waiting = folder / NEXT
    with suppress(OSError):
        if _belongs(front, _bytes(waiting)):
            waiting.replace(folder / PAGE)
        else:
            waiting.unlink(missing_ok=True)
    for name in (RECORD, PAGE, NEXT):
        files.sweep(folder / name, older=0)
    with suppress(OSError):
        for path in (folder / EARLIER).glob(".record-*.json.????????"):
            path.unlink()


def _set_aside(folder: Path, number: int, content: bytes) -> Path:
    """Copy what is in front among the earlier ones, beside any other of that number."""
    for again in range(1, 10_000):
        path = folder / EARLIER / f"record-{number:04d}{f'-{again}' if again > 1 else ''}.json"
        if not path.exists():
            files.write_whole(path, content)
        elif path.read_bytes() != content:
            continue
        return path
    raise BadInput(f"{RECORD} could not be saved: clear the folder {EARLIER}.")


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return b""
    except OSError as fault:
        raise BadInput(f"{path.name} cannot be read ({fault.strerror}).") from None


def _version(content: bytes) -> int:
    """Return the version within a record's bytes; 0 where it has none or cannot be read."""
    with suppress(ValueError, AttributeError, RecursionError):
        said: Any = json.loads(content).get("version", 0)
        return said if isinstance(said, int) and said > 0 else 0
    return 0


def _belongs(record: bytes, page: bytes) -> bool:
    return page.endswith(_MARK.format(hashlib.sha256(record).hexdigest()).encode())
