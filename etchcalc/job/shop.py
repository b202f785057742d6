"""The shop's folder: commissions, the current one, files saved whole or not at all."""

import os
import re
import tempfile
import unicodedata
from contextlib import suppress
from importlib import resources
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.job.commission import Commission
from etchcalc.job.commission_file import opened, written

DEMO = "rain-gauge-scale"


def shop_folder(said: str | None = None) -> Path:
    """Return the shop's folder: what was said, else ETCHCALC_SHOP, else ~/etchcalc."""
    return Path(said or os.environ.get("ETCHCALC_SHOP") or Path.home() / "etchcalc").expanduser()


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


def folder_name(title: str) -> str:
    """Return a folder name for a title: plain letters, digits and hyphens, never empty."""
    letters = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    name = re.sub(r"[^a-z0-9]+", "-", letters)[:60].strip("-") or "commission"
    # Windows keeps these names for itself, in any folder
    return f"job-{name}" if re.fullmatch(r"con|prn|aux|nul|(com|lpt)\d", name) else name


class Shop:
    """The shop's folder.

    Parameters
    ----------
    root : Path
        Made when something is first written into it.
    """

    def __init__(self, root: Path):
        self.root = root

    @property
    def names(self) -> list[str]:
        """The commissions by folder name."""
        return sorted(path.parent.name for path in self.root.glob("commissions/*/commission.toml"))

    def folder(self, name: str) -> Path:
        """Return the folder of a commission."""
        if folder_name(name) != name:
            raise BadInput(
                f"“{name}” is no name of a commission; use lower-case letters, digits and hyphens."
            )
        return self.root / "commissions" / name

    @property
    def current(self) -> str:
        """The commission that the workbooks open; the demo where there is none."""
        with suppress(OSError, UnicodeDecodeError):
            name = (self.root / "current").read_text(encoding="utf-8").strip()
            if name in self.names:
                return name
        if DEMO not in self.names:
            self.add_demo()
        return DEMO

    def choose(self, name: str) -> None:
        """Make a commission the current one."""
        self.folder(name)
        write_whole(self.root / "current", f"{name}\n".encode())

    def add_demo(self) -> None:
        """Copy the invented demonstration into the shop."""
        for name, content in demo_files().items():
            write_whole(self.folder(DEMO) / name, content)

    def open(self, name: str = "") -> Commission:
        """Return a commission, the current one where none is named."""
        return opened(self.folder(name or self.current) / "commission.toml")

    def keep(self, commission: Commission, name: str) -> None:
        """Write a commission back to its file, its remarks kept."""
        path = self.folder(name) / "commission.toml"
        before = path.read_text(encoding="utf-8") if path.exists() else ""
        write_whole(path, written(commission, before).encode())

    @property
    def cache(self) -> Path:
        """Folder of measures that can be made again."""
        return self.root / ".measured"


def demo_folder() -> Path:
    """Return the folder of the built-in demonstration; the package is always unpacked."""
    return Path(str(resources.files("etchcalc") / "data" / "demo"))


def demo_files() -> dict[str, bytes]:
    """Return the files of the built-in demonstration by name."""
    return {item.name: item.read_bytes() for item in demo_folder().iterdir() if item.is_file()}
