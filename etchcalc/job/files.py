"""The shop's files: read with one sentence where they cannot be, written whole or not at all."""

import os
import re
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from etchcalc.core.faults import BadInput

LOCK = ".lock"
_LEFT_OVER = 60.0  # s; what is being written now is younger
_WAITS = 20.0  # s, for another window that is saving


def text_of(path: Path, what: str) -> str:
    """Return the text of a TOML file; `what` it is begins the sentence where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        reason = getattr(fault, "strerror", None) or "it is not text"
        raise BadInput(
            f"{what} {path.name} cannot be read ({reason}); give the path of a TOML file."
        ) from None


def toml_of(text: str, what: str, example: str) -> dict:
    """Return what a TOML text says; an example line ends the sentence where it cannot be read."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadInput(
            f"{what} cannot be read as TOML: {fault}; write lines such as {example}."
        ) from None


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that a crash leaves the old one or the new one, whole.

    Raises
    ------
    BadInput
        The folder cannot be written; the old file is untouched.
    """
    temporary = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        sweep(path)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            _readable(handle)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).replace(path)
        sync_folder(path.parent)
    except OSError as fault:
        if temporary:
            with suppress(OSError):
                Path(temporary).unlink()
        raise _unsaved(path, fault) from None


def _unsaved(path: Path, fault: OSError) -> BadInput:
    return BadInput(
        f"{path.name} could not be saved in {path.parent} ({fault.strerror}); what was there is "
        "unchanged. Free some space or choose a folder that can be written."
    )


def sweep(path: Path, older: float = _LEFT_OVER) -> None:
    """Take away what killed saves of a file left beside it, if it is older than so many seconds."""
    left = re.compile(rf"\.{re.escape(path.name)}\.[a-z0-9_]{{8}}")  # as mkstemp names them
    with suppress(OSError):
        for entry in os.scandir(path.parent):
            if left.fullmatch(entry.name) and time.time() - entry.stat().st_mtime >= older:
                Path(entry.path).unlink()


@contextmanager
def alone(folder: Path, name: str) -> Iterator[None]:
    """Hold a folder while one file of it, by name, is saved; a second window waits its turn.

    The lock belongs to the process and not to the file ``.lock``, so the system lets go of it
    where the process is killed.

    Raises
    ------
    BadInput
        The folder cannot be written, or another window does not finish.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as fault:
        raise _unsaved(folder / name, fault) from None
    try:
        end = time.monotonic() + _WAITS
        while held := _held(handle):
            if time.monotonic() > end:
                raise _unsaved(folder / name, held)
            time.sleep(0.005)
        yield
    finally:
        os.close(handle)  # lets go of it


def _held(handle: int) -> OSError | None:
    """Try to lock an open file; return what stands in the way."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as fault:
        return fault
    return None


def _readable(handle: int) -> None:
    """Give a temporary file, which only its owner may read, the rights of an ordinary one."""
    with suppress(AttributeError, OSError):  # Windows has no such rights
        mask = os.umask(0)
        os.umask(mask)
        os.fchmod(handle, 0o666 & ~mask)


def sync_folder(folder: Path) -> None:
    """See to it that a folder's names are on the disk."""
    with suppress(OSError, AttributeError):  # Windows cannot open a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
