"""The shop's folder as one zip and back; figures and history as CSV for a spreadsheet."""

import csv
import io
import os
import re
import shutil
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath
from typing import Any

from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import VOCABULARY
from etchcalc.job.files import LOCK
from etchcalc.job.memory import Job

_CACHE = ".measured"
BACKUPS = "backups"  # earlier ones are no part of the next
# What is packed already is stored as it is, so that a backup never looks like a bomb.
_STORED = (".tif", ".tiff", ".png", ".jpg", ".jpeg", ".webp", ".heic", ".pdf", ".zip")
_SMALL, _DENSEST, _MOST_FILES = 100_000_000, 100, 200_000  # bytes; times its size; files
_FORMULA = tuple("=+-@\t\r\n＝＋－＠")  # a spreadsheet takes a cell that begins so for a formula


def packed(root: Path, target: Path) -> int:
    """Write the whole shop's folder into one zip, and return how many files it holds.

    Left out are the cache, locks, what a killed save left, and links: they lead elsewhere.

    Raises
    ------
    BadInput
        The zip cannot be written, or a file not read; an older zip of that name still stands.
    """
    temporary = ""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        os.close(handle)
        paths = sorted(p for p in _files(root) if p.resolve() not in (target.resolve(), Path(temporary).resolve()))  # fmt: skip
        with zipfile.ZipFile(temporary, "w", strict_timestamps=False) as file:
            for path in paths:
                how = zipfile.ZIP_STORED if path.suffix.lower() in _STORED else zipfile.ZIP_DEFLATED
                file.write(path, path.relative_to(root).as_posix(), how)
        with zipfile.ZipFile(temporary) as file, Path(temporary).open("rb+") as whole:
            if file.testzip():
                raise OSError(0, "it does not read back")
            os.fsync(whole.fileno())
        Path(temporary).replace(target)
    except OSError as fault:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise BadInput(
            f"The backup {target.name} could not be written ({fault.strerror}); free some space or choose another folder."
        ) from None
    return len(paths)


def unpacked(backup: Path, folder: Path) -> int:
    """Bring a backup back into a new folder, whole or not at all; return how many files it holds.

    Raises
    ------
    BadInput
        The folder holds something already, the zip is damaged, leads elsewhere or is a bomb.
    """
    with _opened(backup) as file:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            differs = _differing(file, folder) if folder.is_dir() else [folder.name]
            many = f"{len(differs)} of its files are missing there or others ({', '.join(differs[:5])}{'…' if len(differs) > 5 else ''})"
            raise BadInput(
                f"{folder} holds something already: {many if differs else 'all files of the backup are there as they are in it'}; "
                "nothing was written. Bring the backup back into a new folder."
            )
        temporary = None
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            temporary = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
            for entry in file.infolist():
                if not entry.is_dir():
                    path = temporary / entry.filename
                    path.parent.mkdir(parents=True, exist_ok=True)
                    with file.open(entry) as source, path.open("xb") as target:
                        shutil.copyfileobj(source, target, 1 << 20)
            temporary.chmod(0o755)
            if folder.exists():
                folder.rmdir()
            temporary.rename(folder)
        except (OSError, zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError, ValueError) as fault:  # fmt: skip
            if temporary is not None:
                shutil.rmtree(temporary, ignore_errors=True)
            raise BadInput(
                f"The backup {backup.name} could not be brought back ({getattr(fault, 'strerror', None) or fault}); nothing was written."
            ) from None
        return sum(not entry.is_dir() for entry in file.infolist())


def differing(backup: Path, folder: Path) -> list[str]:
    """Return the names of the files of a backup that a folder lacks or holds otherwise."""
    with _opened(backup) as file:
        return _differing(file, folder)


def _differing(file: zipfile.ZipFile, folder: Path) -> list[str]:
    found = []
    for entry in file.infolist():
        path = folder / entry.filename
        if entry.is_dir():
            continue
        if not path.is_file() or path.stat().st_size != entry.file_size:
            found.append(entry.filename)
            continue
        with path.open("rb") as there, file.open(entry) as here:
            while (block := here.read(1 << 20)) == there.read(1 << 20) and block:
                pass
            if block:
                found.append(entry.filename)
    return found


def _files(root: Path) -> Iterator[Path]:
    for folder, names, files in os.walk(root):
        left = (_CACHE, BACKUPS) if Path(folder) == root else (_CACHE,)
        names[:] = [n for n in names if n not in left and not (Path(folder) / n).is_symlink()]
        for name in files:
            path = Path(folder) / name
            if name != LOCK and not path.is_symlink() and path.is_file() and not _left(path):
                yield path


def _left(path: Path) -> bool:
    """Tell whether a killed save left it: ``.record.json.`` and eight letters beside record.json."""
    found = re.fullmatch(r"\.(.+)\.[a-z0-9_]{8}", path.name)
    return bool(found) and path.with_name(str(found and found[1])).exists()


def _opened(backup: Path) -> zipfile.ZipFile:
    """Return a zip whose names and sizes can be meant; nothing of it is unpacked yet."""
    try:
        file = zipfile.ZipFile(backup)
    except (OSError, zipfile.BadZipFile, ValueError, NotImplementedError) as fault:
        reason = getattr(fault, "strerror", None) or "it is no zip, or a damaged one"
        raise BadInput(f"The backup {backup.name} cannot be read ({reason}); give the path of a zip that was made here.") from None  # fmt: skip
    if wrong := _fault(file, backup.stat().st_size):
        file.close()
        raise BadInput(f"The backup {backup.name} is refused: {wrong}; nothing was written. Give the path of a zip that was made here.")  # fmt: skip
    return file


def _fault(file: zipfile.ZipFile, size: int) -> str:
    """Return what is wrong with a zip as a clause; "" where nothing is."""
    entries, seen = file.infolist(), set()
    for entry in entries:
        name, kind = entry.filename, stat.S_IFMT(entry.external_attr >> 16)
        shown = f"“{name[:60]}”"
        parts = PurePosixPath(name).parts
        if not parts or ".." in parts or name.startswith("/") or any(c in name for c in "\\:\0"):
            return f"its file {shown} leads out of the folder"
        if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
            return f"{shown} is a link or no ordinary file"
        if entry.flag_bits & 1:
            return f"{shown} is locked with a password"
        key = "/".join(parts).casefold()
        if key in seen and not entry.is_dir():
            return f"it holds {shown} twice"
        seen.add(key)
    total = sum(entry.file_size for entry in entries)
    if len(entries) > _MOST_FILES or total > max(_SMALL, _DENSEST * size):
        return f"it would swell from {_bytes(size)} to {_bytes(total)} in {len(entries)} files"
    free = shutil.disk_usage(Path(file.filename or ".").resolve().parent).free
    return f"its {_bytes(total)} find no room on the disk" if total > free else ""


def _bytes(count: int) -> str:
    return f"{count / 1e6:.3g} MB"


def safe(cell: Any) -> Any:
    """Return a cell that no spreadsheet takes for a formula: an apostrophe before such a text."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell


def figures_csv(record: dict) -> bytes:
    """Return the figures of a record as CSV: UTF-8 with its mark at the head, as spreadsheets want it."""
    head = ("figure", "meaning", "value", "unit", "low", "high", "rests on")
    rows = []
    for name, entry in record["results"].items():
        word = VOCABULARY.get(name)
        what = (word.words, word.meaning) if word else (name, "")
        rows.append((*what, *(entry[k] for k in ("value", "unit", "low", "high", "basis"))))
    return _csv([("title", record["title"]), ("saved", record["saved"]), (), head, *rows])


def history_csv(jobs: Iterable[Job]) -> bytes:
    """Return the shop's jobs as CSV; times in minutes."""
    head = ("job", "title", "client", "metal", "tray", "date", "version", "gauge after, min", "foretold early, min",
            "foretold, min", "foretold late, min", "took, min", "fault")  # fmt: skip
    rows = [
        (j.name, j.title, j.client, j.metal, j.tray, j.date, j.version, j.gauge,
         *(j.foretold or (None, None, None)), j.took, j.fault)
        for j in jobs
    ]  # fmt: skip
    return _csv([head, *rows])


def _csv(rows: Iterable[Iterable[Any]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    for row in rows:
        writer.writerow([safe(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")
