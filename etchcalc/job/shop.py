"""The shop's folder: commissions, the current one, files saved whole or not at all."""

import os
import re
import tomllib
import unicodedata
from contextlib import suppress
from functools import lru_cache
from importlib import resources
from pathlib import Path

from etchcalc.core.faults import BadInput, listed
from etchcalc.job import clocks
from etchcalc.job.commission import Commission
from etchcalc.job.commission_file import opened, written
from etchcalc.job.drawing import ENDINGS
from etchcalc.job.files import write_whole

PHOTOGRAPHS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".tif", ".tiff")
DEMO = "rain-gauge-scale"


def shop_folder(said: str | None = None) -> Path:
    """Return the shop's folder: what was said, else ETCHCALC_SHOP, else ~/etchcalc."""
    return Path(said or os.environ.get("ETCHCALC_SHOP") or Path.home() / "etchcalc").expanduser()


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
        # the commission last: another page that opens meanwhile finds all of it or nothing
        files = sorted(demo_files().items(), key=lambda file: file[0] == "commission.toml")
        for name, content in files:
            write_whole(self.folder(DEMO) / name, content)

    def open(self, name: str = "") -> Commission:
        """Return a commission, the current one where none is named."""
        return opened(self.folder(name or self.current) / "commission.toml")

    def title_of(self, name: str) -> str:
        """Return what a commission is called; its folder's name where the file cannot tell."""
        path = self.folder(name) / "commission.toml"
        with suppress(OSError):
            return _title(path, path.stat().st_mtime_ns) or name
        return name

    def begin(self, title: str) -> str:
        """Begin a commission as the current one's shop would make it; return its folder's name.

        Bath, tray, soda, paint and resist are carried on; client, artwork and notes are not.
        """
        name, current = self.free_name(title), self.open()
        self.keep(current.begun(title).changed(zone=zone_of_next(current)), name)
        return name

    def free_name(self, title: str) -> str:
        """Return a folder name for a title that no commission has yet."""
        name = base = folder_name(title)
        number, taken = 2, self.names
        while name in taken:
            name, number = f"{base[:56]}-{number}", number + 1
        return name

    def keep(self, commission: Commission, name: str) -> None:
        """Write a commission back to its file, its remarks kept."""
        path = self.folder(name) / "commission.toml"
        before = path.read_text(encoding="utf-8") if path.exists() else ""
        write_whole(path, written(commission, before).encode())

    def bring(self, name: str, file_name: str, content: bytes) -> str:
        """Put a drawing beside a commission and return the name of its file.

        Raises
        ------
        BadInput
            It is no drawing by its name, or another file of that name lies there.
        """
        path = Path(file_name.replace("\\", "/"))
        if path.suffix.lower() not in ENDINGS:
            raise BadInput(
                f"“{path.name}” is no drawing that is read here; accepted are SVG, PDF, DXF, TIFF and PNG."
            )
        return self._put_beside(name, path.name, content)

    def attach(self, name: str, file_name: str, content: bytes) -> str:
        """Put a photograph beside a commission and return the name of its file, made safe.

        The name goes among the commission's `photographs`, with a comma between.

        Raises
        ------
        BadInput
            It is no photograph by its name, or another file of that name lies there.
        """
        path = Path(file_name.replace("\\", "/"))
        if path.suffix.lower() not in PHOTOGRAPHS:
            raise BadInput(
                f"“{path.name[:60]}” is no photograph by its name; accepted are {listed(PHOTOGRAPHS)}."
            )
        safe = f"photograph-{folder_name(path.stem)}{path.suffix.lower()}"
        return self._put_beside(name, safe, content)

    def _put_beside(self, name: str, file_name: str, content: bytes) -> str:
        target = self.folder(name) / file_name
        if target.exists() and target.read_bytes() != content:
            raise BadInput(
                f"Another {file_name} lies beside the commission already; give yours another name, "
                "or take the old one away."
            )
        write_whole(target, content)
        return file_name

    @property
    def cache(self) -> Path:
        """Folder of measures that can be made again."""
        return self.root / ".measured"


@lru_cache(maxsize=4096)
def _title(path: Path, stamp: int) -> str:
    """Return the title in a commission's file as it stood at a time."""
    with suppress(OSError, ValueError):
        said = tomllib.loads(path.read_text(encoding="utf-8")).get("commission", {})
        return str(said.get("title", "")) if isinstance(said, dict) else ""
    return ""


def zone_of_next(commission: Commission) -> str:
    """Return the time zone of a new job: that of the shop's last, else this computer's.

    That of a demonstration is not the shop's. "" where nobody can tell.
    """
    said = "" if commission.words["invented"] else commission.words["zone"]
    return said or clocks.own_zone()


def demo_folder() -> Path:
    """Return the folder of the built-in demonstration; the package is always unpacked."""
    return Path(str(resources.files("etchcalc") / "data" / "demo"))


def demo_files() -> dict[str, bytes]:
    """Return the files of the built-in demonstration by name."""
    return {item.name: item.read_bytes() for item in demo_folder().iterdir() if item.is_file()}
