"""An icon on the desktop, so that on the second day no terminal is needed."""

import re
import shlex
import sys
from pathlib import Path

from etchcalc.job.files import write_whole

ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64"><path fill="#d8b968" d="M4 14h56v46H4z"/>'
    '<path fill="#fff" d="M20 14h24c0 22-6 28-12 28s-12-6-12-28z"/>'
    '<path fill="#31708e" d="M4 6h20v8H4zM40 6h20v8H40z"/></svg>'
)


def left(shop: str | None = None, *, system: str = sys.platform, home: Path | None = None) -> Path:
    """Leave an icon on the desktop that opens the workbooks, and return its file.

    Parameters
    ----------
    shop : str, optional
        The shop's folder that it opens; else the usual one.
    system : str
        As `sys.platform` names it.
    home : Path, optional
        The user's own folder.

    Raises
    ------
    BadInput
        The desktop cannot be written.
    """
    home = home or Path.home()
    command = [sys.executable, "-m", "etchcalc.pages.cli", "open"]
    command += ["--shop", str(Path(shop).expanduser().resolve())] if shop else []
    desktop = _desktop(home, system)
    if system == "win32":
        text = "@echo off\r\n" + " ".join(f'"{part}"' for part in command) + "\r\n"
        return _written(desktop / "etchcalc.bat", text)
    if system == "darwin":
        return _written(
            desktop / "etchcalc.command", f"#!/bin/sh\nexec {shlex.join(command)}\n", True
        )
    icon = home / ".local/share/icons/etchcalc.svg"
    write_whole(icon, ICON.encode())
    entry = (
        "[Desktop Entry]\nType=Application\nVersion=1.5\nName=etchcalc\nComment=Calculation workbook of the "
        f"etching workshop\nExec={_quoted(command)}\nIcon={icon}\nTerminal=true\nCategories=Science;\n"
    )
    _written(home / ".local/share/applications/etchcalc.desktop", entry)
    return _written(desktop / "etchcalc.desktop", entry, True)


def _desktop(home: Path, system: str) -> Path:
    """Return the folder of the desktop; it has another name in other languages."""
    said = home / ".config/user-dirs.dirs"
    if system not in ("win32", "darwin") and said.is_file():
        found = re.search(r'^XDG_DESKTOP_DIR="([^"]+)"', said.read_text("utf-8", "replace"), re.M)
        if found:
            return Path(found[1].replace("$HOME", str(home)))
    return home / "Desktop"


def _quoted(command: list[str]) -> str:
    """Return a command as the Desktop Entry Specification quotes it."""
    return " ".join(
        '"' + re.sub(r'(["`$\\])', r"\\\1", part).replace("%", "%%") + '"' for part in command
    )


def _written(path: Path, text: str, runs: bool = False) -> Path:
    write_whole(path, text.encode())
    if runs:
        path.chmod(path.stat().st_mode | 0o111)
    return path
