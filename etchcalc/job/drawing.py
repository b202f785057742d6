"""The maker's drawing as the plan needs it: read, measured and offset in a process of its own."""

import base64
import hashlib
import json
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import etchcalc
from etchcalc.artwork.worker import SHARED, Progress
from etchcalc.core.faults import BadInput
from etchcalc.core.units import MM, ONE, Quantity, unit
from etchcalc.job.commission import Commission
from etchcalc.job.files import write_whole

_MM2 = unit("mm^2")
_PER_MM = unit("dot/mm")
_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
ENDINGS = (".svg", ".pdf", ".dxf", ".tif", ".tiff", ".png")  # of the files that are read
Place = tuple[float, float]


@dataclass(frozen=True)
class Drawing:
    """What was measured on the maker's drawing.

    Parameters
    ----------
    open_area, open_fraction : Quantity
        Of one plate's face.
    narrowest_line, narrowest_land : Quantity or None
        None where there is none.
    width_bound : Quantity or None
        How near to the truth the two widths are.
    found : dict
        All measures as `artwork.measure.FilmMeasures` names them, mm and mm².
    read : dict
        How the file was read: `kind`, `width`, `height` (mm), `notes`.
    digest : str
        SHA-256 of the file.
    preview : bytes
        PNG of the face: etched parts dark, the rest clear.
    """

    open_area: Any
    open_fraction: Any
    narrowest_line: Any
    narrowest_land: Any
    width_bound: Any = None
    found: Any = None
    read: Any = None
    digest: str = ""
    preview: bytes = b""

    @property
    def hairs(self) -> tuple[Place, ...]:
        """Places, mm from the top left, of lines or lands too thin to be measured."""
        places = [(self.found or {}).get(name) for name in ("hairline_place", "hairland_place")]
        return tuple((place[0], place[1]) for place in places if place is not None)


def asked(commission: Commission) -> dict[str, Any]:
    """Return how the commission's drawing is to be read, as `artwork.source.Asked` names it."""

    def number(name: str, of) -> float | None:
        said = name in commission.typed
        return float(commission.values[name].to(of).magnitude) if said else None

    words = commission.words
    if commission.artwork is None:
        raise BadInput(
            "The commission has no drawing: choose its file, or write file = under [artwork]."
        )
    return {
        "path": str(commission.artwork.absolute()),
        "width": float(commission.values["plate_width"].to(MM).magnitude),
        "height": float(commission.values["plate_height"].to(MM).magnitude),
        "resolution": number("film_resolution", _PER_MM),
        "black": words["black"],
        "mirrored": words["mirrored"] == "yes",
        "placed": words["placed"],
        "unit": _UNITS.get(words["drawing_unit"]),
        "thin_line": number("thin_line", MM),
        "scanned": number("scan_resolution", _PER_MM),
    }


def measured(
    commission: Commission, cache: Path | None = None, progress: Progress | None = None
) -> Drawing | None:
    """Return the commission's drawing, measured; None where it has no drawing.

    Parameters
    ----------
    commission : Commission
    cache : Path, optional
        Folder in which the measures of a drawing are kept for next time.
    progress : callable, optional
        Told now and then what share is done.

    Raises
    ------
    BadInput
        The drawing cannot be read, or is not of the plate's size.
    """
    if commission.artwork is None:
        return None
    question = {"do": "measure", "asked": asked(commission)}
    answer, digest = _answered(question, cache, progress)
    found = answer["measures"]

    def length(value):
        return None if value is None else Quantity(value, MM)

    return Drawing(
        Quantity(found["open_area"], _MM2),
        Quantity(found["open_fraction"], ONE),
        length(found["narrowest_line"]),
        length(found["narrowest_land"]),
        length(found["width_bound"]),
        found,
        answer["read"],
        digest,
        base64.b64decode(answer["preview"]),
    )


def is_corrected(commission: Commission) -> bool:
    """Tell whether the drawing shows the finished plate, so that its film is to be corrected."""
    return commission.words["shows"] == "finished plate"


def lost(
    commission: Commission,
    drawing: Drawing,
    undercuts: list[float],
    progress: Progress | None = None,
) -> list[dict[str, Any]]:
    """Return what undercuts (mm per edge) lose, as `artwork.offset.Changes` names it.

    Where the undercut is less than half the narrowest line (of a film that is corrected) or
    land (of one used as it is), nothing is lost, and nothing need be rendered for it.
    """
    shrink = is_corrected(commission)
    narrowest = drawing.narrowest_line if shrink else drawing.narrowest_land
    least = (
        np.inf if narrowest is None else float((narrowest - drawing.width_bound).to(MM).magnitude)
    )
    if not drawing.hairs and 2 * max(undercuts) < least - 2 * drawing.found["pixel"]:
        return [{"counts": {}, "listed": []} for _ in undercuts]
    question = {"do": "lost", "undercuts": undercuts, "shrink": shrink}
    return SHARED.ask({**question, "asked": asked(commission)}, progress)["lost"]


def pictured(
    commission: Commission, undercut: float, box: list[float] | None = None, across: int = 900
) -> bytes:
    """Return a PNG of film and plate together at an undercut, mm: of a box in mm, or the whole."""
    question = {"do": "picture", "asked": asked(commission), "undercut": undercut,
                "shrink": is_corrected(commission), "box": box, "across": across}  # fmt: skip
    return base64.b64decode(SHARED.ask(question)["picture"])


def _answered(
    question: dict[str, Any], cache: Path | None, progress: Progress | None
) -> tuple[dict[str, Any], str]:
    """Return an answer from the cache or the worker, and the digest of the drawing's file."""
    digest = _digest(Path(question["asked"]["path"]))
    kept = None if cache is None else cache / f"{_key(question, digest)}.json"
    if kept is not None:
        with suppress(OSError, ValueError):
            found = json.loads(kept.read_text("utf-8"))
            if isinstance(found, dict) and found.get("digest") == digest:
                return found, digest
    answer = {**SHARED.ask(question, progress), "digest": digest}
    if kept is not None:
        with suppress(BadInput):  # a folder that cannot be written is no fault
            write_whole(kept, json.dumps(answer).encode())
    return answer, digest


def _digest(path: Path) -> str:
    """Return the SHA-256 of a file; a missing one is said here, before a process is started."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as fault:
        raise BadInput(
            f"The drawing {path.name} cannot be opened ({fault.strerror}): give the path of a "
            "drawing that is there."
        ) from fault


def _key(question: dict[str, Any], digest: str) -> str:
    """Return the name under which an answer is kept: all that it depends on."""
    what = {**question, "asked": {**question["asked"], "path": ""}}
    text = json.dumps([what, digest, etchcalc.__version__], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
