"""The shop's files: read with one sentence where they cannot be, written whole or not at all."""

import os
import tempfile
import tomllib
from contextlib import suppress
from pathlib import Path

from etchcalc.core.faults import BadInput


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
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            _readable(handle)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).replace(path)
        _sync_folder(path.parent)
    except OSError as fault:
        if temporary:
            with suppress(OSError):
                Path(temporary).unlink()
        raise BadInput(
            f"{path.name} could not be saved in {path.parent} ({fault.strerror}); what was there is "
            "unchanged. Free some space or choose a folder that can be written."
        ) from None


def _readable(handle: int) -> None:
    """Give a temporary file, which only its owner may read, the rights of an ordinary one."""
    with suppress(AttributeError, OSError):  # Windows has no such rights
        mask = os.umask(0)
        os.umask(mask)
        os.fchmod(handle, 0o666 & ~mask)


def _sync_folder(folder: Path) -> None:
    with suppress(OSError, AttributeError):  # Windows cannot open a folder
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
