"""What the process with limits does: it renders, measures, offsets, pictures and writes films.

One question a line comes in, as JSON; lines with the share that is done go out,
and then one with the answer, or with the sentence of what was refused.
"""

import base64
import json
import sys
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from time import monotonic
from typing import Any

from etchcalc.artwork import offset, pictures, read
from etchcalc.artwork.film import Film
from etchcalc.artwork.measure import measure
from etchcalc.artwork.refine import refined
from etchcalc.artwork.source import Asked
from etchcalc.core.faults import BadInput

MEMORY = 2 * 2**30  # bytes of its own that this process may ask for; films in files come on top
_HELD = 2  # films
_HEARD = 1.0  # s after which the same share is told again: it is still at work
Tell = Callable[[float], None]


class Bench:
    """The films that this process holds, and what it can be asked of them."""

    def __init__(self) -> None:
        self._films: OrderedDict[str, tuple[Film, read.Read]] = OrderedDict()

    def answer(self, question: dict[str, Any], tell: Tell) -> dict[str, Any]:
        """Return the answer to one question: its `do` names the method."""
        known: dict[str, Callable[..., dict]] = {
            "measure": self.measure,
            "lost": self.lost,
            "picture": self.picture,
            "write": self.write,
        }
        more = {key: value for key, value in question.items() if key not in ("do", "asked")}
        asked = Asked(**{**question["asked"], "path": Path(question["asked"]["path"])})
        return known[question["do"]](asked, tell, **more)

    def measure(self, asked: Asked, tell: Tell) -> dict[str, Any]:
        """Return the measures of a drawing, how it was read, and a picture of the plate."""
        film, how = self._film(asked, _part(tell, 0.0, 0.5))
        measures = refined(measure(film, _part(tell, 0.5, 1.0)), asked)
        return {
            "measures": asdict(measures),
            "read": asdict(how),
            "preview": _text(pictures.preview(film)),
        }

    def lost(self, asked: Asked, tell: Tell, *, undercuts: list[float], shrink: bool) -> dict:
        """Return what each undercut (mm) loses when the etched parts are shrunk, or grown."""
        film, _ = self._film(asked, _part(tell, 0.0, 0.5))
        found = []
        for i, undercut in enumerate(undercuts):
            radius = offset.pixels(undercut, film)
            told = _part(tell, 0.5 + 0.5 * i / len(undercuts), 0.5 + 0.5 * (i + 1) / len(undercuts))
            found.append(asdict(offset.lost(film, radius, kept=not shrink, progress=told)))
        return {"lost": found}

    def picture(
        self,
        asked: Asked,
        tell: Tell,
        *,
        undercut: float,
        shrink: bool,
        box: list[float] | None,
        across: int,
    ) -> dict:
        """Return a picture of film and plate together: of a box (mm), or of the whole."""
        film, _ = self._film(asked, tell)
        return {"picture": _text(pictures.compared(film, undercut, shrink, box, across))}

    def write(
        self,
        asked: Asked,
        tell: Tell,
        *,
        undercut: float,
        shrink: bool,
        folder: str,
        title: str,
        emulsion_down: bool,
    ) -> dict:
        """Write the film as TIFF and PDF and return its size, mm."""
        from etchcalc.artwork import beside, write

        film, _ = self._film(asked, _part(tell, 0.0, 0.4))
        if shrink:
            film = offset.shrunk(film, offset.pixels(undercut, film), _part(tell, 0.4, 0.5))
        sheet = beside.sheet(film, title=title)
        sense: dict[str, Any] = {"black": asked.black, "mirrored": emulsion_down}
        write.tiff(sheet, Path(folder) / "film.tif", **sense, progress=_part(tell, 0.6, 0.8))
        write.pdf(sheet, Path(folder) / "film.pdf", **sense, progress=_part(tell, 0.8, 1.0))
        return {"width": sheet.width, "height": sheet.height, "resolution": sheet.resolution}

    def _film(self, asked: Asked, tell: Tell) -> tuple[Film, read.Read]:
        """Return the film of a drawing, read again where its file has changed since."""
        seen = None
        with suppress(OSError, ValueError):  # the reader says what is wrong with it
            seen = asked.path.stat()
        key = repr((asked, seen and (seen.st_mtime_ns, seen.st_size)))
        if key not in self._films:
            self._films[key] = read.film(asked, tell)
        self._films.move_to_end(key)
        while len(self._films) > _HELD:
            self._films.popitem(last=False)
        return self._films[key]


def _part(tell: Tell, start: float, end: float) -> Tell:
    """Return a teller for a part of the work."""
    return lambda share: tell(start + share * (end - start))


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _limit_memory() -> None:
    """Let this process ask for no more than `MEMORY` of its own, where the system can say so."""
    try:
        import resource
    except ImportError:  # Windows
        return
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    most = MEMORY if hard == resource.RLIM_INFINITY else min(MEMORY, hard)
    try:
        resource.setrlimit(resource.RLIMIT_DATA, (most, hard))
    except (OSError, ValueError):  # macOS may refuse; the time limit still holds
        return


def main() -> None:
    """Answer questions until there are no more."""
    _limit_memory()
    out = sys.stdout
    sys.stdout = sys.stderr  # what a library prints is no answer

    def say(what: dict[str, Any]) -> None:
        out.write(json.dumps(what) + "\n")
        out.flush()

    bench, last = Bench(), [0.0, 0.0]

    def tell(share: float) -> None:
        if share < last[0] or share - last[0] >= 0.01 or monotonic() - last[1] > _HEARD:
            last[:] = share, monotonic()
            say({"share": round(share, 3)})

    say({"ready": True})
    for line in sys.stdin:
        last[0] = 0.0
        try:
            say(bench.answer(json.loads(line), tell))
        except BadInput as fault:
            say({"refused": str(fault)})


if __name__ == "__main__":
    main()
