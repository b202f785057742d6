"""Hostile and broken files of every kind that is read, made anew for each run.

``tests/artwork/test_hostile.py`` and ``tests/benchmarks/hostile.py`` ask the
worker for each of them.
"""

import os
import re
import select
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import hostile_bitmap
import hostile_dxf
import hostile_pdf
import hostile_svg
from hostile_case import HEIGHT, WIDTH, Bait, Case

from etchcalc.artwork.worker import Worker
from etchcalc.core.faults import BadInput

SILENCE = 20.0  # seconds
# Those that take seconds, and are left to the benchmark.
SLOW = frozenset(
    [
        "nodes.svg",
        "dots.svg",
        "elements.svg",
        "nodes.pdf",
        "large.pdf",
        "clips.pdf",
        "forms-of-forms.pdf",
        "large.dxf",
        "blocks-of-blocks.dxf",
        "lines.dxf",
        "objects.dxf",
    ]
)
_RESOLUTION = 300 / 25.4


def cases(bait: Bait) -> Iterator[Case]:
    """Yield every file."""
    for kind in (hostile_svg, hostile_pdf, hostile_dxf, hostile_bitmap):
        yield from kind.files(bait)


def lay_out(folder: Path, url: str) -> Bait:
    """Put a drawing of each kind that must never be opened into a folder, all black."""
    black_svg = hostile_svg.svg('<rect width="60" height="40"/>')
    black = {
        "svg": black_svg,
        "css": b"* { fill: #000 }",
        "dtd": b'<!ENTITY a "a">',
        "pdf": hostile_pdf.pdf(b"0 0 999 999 re f"),
        "dxf": hostile_dxf.dxf(),
        "png": hostile_bitmap.png(data=hostile_bitmap.lines(bytes(90 * 480))),
        "tif": hostile_bitmap.tiff(b"\xff" * 90 * 480),
        "shx": b"AutoCAD-86 shapes V1.0\r\n\x1a",
        "ttf": b"\0\1\0\0" + bytes(99),
    }
    for ending, data in black.items():
        (folder / f"bait.{ending}").write_bytes(data)
    return Bait(folder, url)


@contextmanager
def waiting() -> Iterator[tuple[socket.socket, str]]:
    """Give a server that nobody may ask, and its address."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server, f"http://127.0.0.1:{server.getsockname()[1]}/"


def was_asked(server: socket.socket) -> bool:
    """Return whether anything came to a server since."""
    asked = False
    while select.select([server], [], [], 0)[0]:
        server.accept()[0].close()
        asked = True
    return asked


class Outcome:
    """How the reading of a file ended.

    Attributes
    ----------
    said : str
        The sentence, empty where it was read.
    area : float or None
        What is etched, mm², where it was read.
    seconds : float
        How long it took.
    """

    def __init__(self, worker: Worker, path: str | Path, asked: dict[str, Any] | None = None):
        question = {"path": str(path), "width": WIDTH, "height": HEIGHT, "resolution": _RESOLUTION}
        self.said, self.area, self.answer = "", None, {}
        begun = time.perf_counter()
        try:
            self.answer = worker.ask(
                {"do": "measure", "asked": question | (asked or {})}, silence=SILENCE
            )
            self.area = self.answer["measures"]["open_area"]
        except BadInput as fault:
            self.said = str(fault)
        self.seconds = time.perf_counter() - begun

    @property
    def crashed(self) -> bool:
        """Whether the process ended, or was ended because it hung."""
        return "made the renderer break off" in self.said or "was not finished" in self.said

    def wrong(self, ends: str | float, data: bytes = b"") -> str:
        """Return what is wrong with it, empty where it is as it must be; data may be quoted."""
        if isinstance(ends, float) or (self.area is not None and ends == ""):
            if self.area is None:
                return f"refused: {self.said}"
            # half a pixel along the 60 mm of the bar's edges is 2.5 mm²
            return "" if ends == "" or abs(self.area - ends) < 3 else f"{self.area:.1f} mm² etched"
        if self.area is not None:
            return f"read: {self.area:.1f} mm² etched"
        if not re.search(ends, self.said):
            return f"another sentence: {self.said}"
        return ill_said(self.said, data)


def ill_said(sentence: str, data: bytes) -> str:
    """Return what is wrong with a sentence for a maker, empty where nothing is."""
    if not sentence.isprintable():
        return f"not one line of letters: {sentence!r}"
    if len(sentence) > 600:
        return f"{len(sentence)} letters long"
    inside = (r"Traceback|Error\b|Exception|0x[0-9a-f]{6}|<[a-z]+ object|None|site-packages|\.py\b"
              r"|/(tmp|home|root|usr|etc|work|proc)/")  # fmt: skip
    found = re.search(inside, sentence)
    if found and found[0].encode() not in data:
        return f"speaks of the program's inside ({found[0]}): {sentence}"
    advice = (
        r"\b(save|give|type|take|make|copy|export|simplify|write|ungroup|draw|set|unpack|trace|purge"
        r"|convert|rename|turn|expand|explode|bind|audit|release|check|hatch)\b"
    )
    return "" if re.search(advice, sentence, re.I) else f"does not say what to do: {sentence}"


def peak_mib(worker: Worker) -> float:
    """Return the most memory that a worker's process has taken, 0 where it has ended."""
    with suppress(OSError, AttributeError, IndexError):
        status = Path(f"/proc/{worker._child.pid}/status").read_text()
        return int(re.findall(r"VmHWM:\s+(\d+)", status)[0]) / 1024
    return 0.0


def places(folder: Path) -> Iterator[tuple[Path, str]]:
    """Yield paths that are no files to be read, or have odd names, and what is said of them."""
    sound = hostile_svg.svg(hostile_svg.BAR)
    other = "is a folder or a device"
    (folder / "folder.svg").mkdir()
    yield folder / "folder.svg", other
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.svg")
        yield folder / "pipe.svg", other
        (folder / "to-pipe.png").symlink_to(folder / "pipe.svg")
        yield folder / "to-pipe.png", other
    for device in ("zero", "null", "random", "tty", "stdin"):
        (folder / f"{device}.tif").symlink_to(f"/dev/{device}")
        yield folder / f"{device}.tif", f"{other}|cannot be opened|is empty"
    with socket.socket(socket.AF_UNIX) as own:
        own.bind(str(folder / "socket.svg"))
    yield folder / "socket.svg", other
    (folder / "nowhere.svg").symlink_to(folder / "gone.svg")
    yield folder / "nowhere.svg", "cannot be opened"
    (folder / "ring.svg").symlink_to(folder / "ring.svg")
    yield folder / "ring.svg", "cannot be opened"
    (folder / "secret.txt").write_text("the door's number is 4711\n")
    (folder / "to-secret.svg").symlink_to(folder / "secret.txt")
    yield folder / "to-secret.svg", "none of the kinds"
    yield folder / "gone.svg", "cannot be opened"
    yield folder / "nought\0.svg", "rename it"
    if os.geteuid():
        (folder / "locked.svg").write_bytes(sound)
        (folder / "locked.svg").chmod(0)
        yield folder / "locked.svg", "cannot be opened"
    for name in (
        "two\nlines.svg",
        "\u202egvs.exe",
        "\x1b[31mred.svg",
        "\udcff.svg",
    ):
        (folder / name).write_bytes(b"nothing that is read")
        yield folder / name, "rename it"
