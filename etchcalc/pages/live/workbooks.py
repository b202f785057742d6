"""Working copies of the installed workbooks in the shop's folder.

A working copy is disposable: a page saves its live outputs into it, and the
next opening overwrites it. Only what a maker wrote into the cells is worth
keeping, so a copy whose cells were changed is first set aside under a new name.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from etchcalc.core.faults import BadInput

#: What was copied last time: path in the folder to fingerprint. With it, a copy
#: that only an older version of etchcalc wrote is not mistaken for a changed one.
LEDGER = ".as-installed.json"


def workbooks_folder() -> Path:
    """Return the folder of the installed workbooks.

    Returns
    -------
    Path
        ``workbooks`` inside the package, where a wheel puts it, or else beside
        the package, where it lies in a checkout.

    Raises
    ------
    BadInput
        Neither is there.
    """
    package = _package_folder()
    for folder in (package / "workbooks", package.parent / "workbooks"):
        # Beside an installed package, `workbooks` could be anybody's.
        if any(folder.glob("*.ipynb")):
            return folder
    raise BadInput(
        "The workbooks are missing from this installation of etchcalc: install it again,"
        " or start it from a complete checkout."
    )


def _package_folder() -> Path:
    """Return the folder of the ``etchcalc`` package."""
    return Path(__file__).resolve().parents[2]


def make_working_copies(source: Path, target: Path) -> list[Path]:
    """Copy every workbook, and what lies beside it, from `source` to `target`.

    Parameters
    ----------
    source
        The installed workbooks.
    target
        The folder for the copies; made if need be.

    Returns
    -------
    list of Path
        The new names of the copies that had been changed and were set aside.

    Raises
    ------
    BadInput
        `target` cannot be written.
    """
    try:
        target.mkdir(parents=True, exist_ok=True)
        before = _read_ledger(target)
        now: dict[str, str] = {}
        set_aside = []
        for relative in _files_to_copy(source):
            name, installed, copy = relative.as_posix(), source / relative, target / relative
            now[name] = fingerprint(installed)
            if copy.exists() and fingerprint(copy) not in (now[name], before.get(name)):
                set_aside.append(_set_aside(copy))
            _replace(installed, copy)
        (target / LEDGER).write_text(json.dumps(now, indent=1) + "\n", encoding="utf-8")
    except OSError as error:
        raise BadInput(
            f"The workbooks could not be copied to {target}: {error.strerror or error}."
            " Choose a folder that you may write to with --shop."
        ) from error
    return set_aside


def find_workbook(folder: Path, name: str) -> str:
    """Return the path of the workbook called `name`, relative to `folder`.

    Parameters
    ----------
    folder
        Where the workbooks are.
    name
        The file's name, with or without ``.ipynb``.

    Raises
    ------
    BadInput
        There is none of that name; the sentence lists those that there are.
    """
    wanted = name if name.endswith(".ipynb") else f"{name}.ipynb"
    there = [path.as_posix() for path in _files_to_copy(folder) if path.suffix == ".ipynb"]
    if wanted in there:
        return wanted
    raise BadInput(f"There is no workbook called {name}. There are: {', '.join(there) or 'none'}.")


def fingerprint(path: Path) -> str:
    """Return what stands for a file's contents; of a workbook, its cells without outputs."""
    content = path.read_bytes()
    if path.suffix == ".ipynb":
        try:
            cells = json.loads(content)["cells"]
            written = [[cell["cell_type"], "".join(cell["source"])] for cell in cells]
            content = json.dumps(written).encode()
        except (ValueError, KeyError, TypeError):
            pass  # not a workbook that can be read: its bytes then stand for it
    return hashlib.sha256(content).hexdigest()


def _files_to_copy(folder: Path) -> Iterator[Path]:
    """Yield the files in `folder` and under it, relative to it, leaving hidden ones out."""
    for path in sorted(folder.rglob("*")):
        relative = path.relative_to(folder)
        hidden = any(part.startswith((".", "__pycache__")) for part in relative.parts)
        if path.is_file() and not hidden:
            yield relative


def _read_ledger(target: Path) -> dict[str, str]:
    """Return the fingerprints of the last copying, or none if they cannot be read."""
    try:
        ledger = json.loads((target / LEDGER).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return ledger if isinstance(ledger, dict) else {}


def _set_aside(copy: Path) -> Path:
    """Rename `copy` to a name not yet taken, and return that name."""
    today = datetime.date.today().isoformat()
    number = 1
    while True:
        again = "" if number == 1 else f"-{number}"
        new = copy.with_name(f"{copy.stem}-changed-{today}{again}{copy.suffix}")
        if not new.exists():
            return copy.rename(new)
        number += 1


def _replace(installed: Path, copy: Path) -> None:
    """Put the contents of `installed` in the place of `copy`, whole or not at all."""
    copy.parent.mkdir(parents=True, exist_ok=True)
    half_written = copy.with_name(f".{copy.name}.{os.getpid()}")
    # copyfile, not copy: an installed file may be read-only, its copy must not be.
    shutil.copyfile(installed, half_written)
    half_written.replace(copy)
