"""A drawing rendered and measured in a process of its own, with limits.

A stranger's file may crash a renderer, hang it or eat all memory: then a child
process ends, the caller gets one sentence, and the workbook's kernel lives. What
renders and measures is imported in the child only, so the kernel stays small.
"""

import base64
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import etchcalc
from etchcalc.artwork.film import RESOLUTION, FilmMeasures
from etchcalc.core.faults import BadInput

MEMORY = 2 * 2**30  # bytes of address space a child may ask for
_SIMPLER = "simplify the drawing (fewer nodes and copies) and save it again as plain SVG"
_COMMAND = (sys.executable, "-P", "-m", "etchcalc.artwork.worker")


@dataclass(frozen=True)
class Drawing:
    """A drawing as measured, with a picture of it.

    Attributes
    ----------
    measures : FilmMeasures
        Areas in mm², lengths in mm.
    preview : bytes
        A PNG at most 900 pixels wide: ink where the metal is etched, else clear.
    digest : str
        SHA-256 of the drawing's file, in hexadecimal.
    """

    measures: FilmMeasures
    preview: bytes
    digest: str


def measure_drawing(
    path: Path | str,
    *,
    width: float,
    height: float,
    black: str = "etched",
    resolution: float = RESOLUTION,
    cache: Path | str | None = None,
    timeout: float = 60.0,
) -> Drawing:
    """Return a drawing's measures and preview, worked out in a child process.

    Parameters
    ----------
    path : path
        An SVG drawing in solid black and white, sized in mm.
    width, height : float
        The plate's size in millimetres.
    black : {"etched", "kept"}
        What the drawing's black stands for.
    resolution : float
        Pixels per millimetre.
    cache : path, optional
        Folder in which results are kept and looked for; made when missing.
    timeout : float
        Seconds after which the child is ended.

    Raises
    ------
    BadInput
        For anything a drawing can do wrong, a crash or a hang of the renderer too.
    """
    if black not in ("etched", "kept"):
        raise ValueError(f"black is 'etched' or 'kept', not {black!r}")
    path = Path(path)
    digest = _digest(path)
    request = {
        "path": str(path.absolute()),
        "width": float(width),
        "height": float(height),
        "black": black,
        "resolution": float(resolution),
    }
    kept = None if cache is None else Path(cache) / f"{_key(request, digest)}.json"
    result = _kept(kept)
    if result is None:
        answer = _asked(request, path.name, timeout)
        result = _drawing(answer, digest)
        if kept is not None:
            _keep(kept, answer)
    return Drawing(result.measures, result.preview, digest)


def _digest(path: Path) -> str:
    """Return the SHA-256 of a file; a missing one is said here, before a child is started."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as fault:
        raise BadInput(
            f"The drawing {path.name} cannot be opened ({fault.strerror}): give the path of an "
            "SVG file that is there."
        ) from fault


def _key(request: dict[str, Any], digest: str) -> str:
    """Return the name under which a result is kept: all that it depends on."""
    what = {**request, "path": "", "digest": digest, "version": etchcalc.__version__}
    return hashlib.sha256(json.dumps(what, sort_keys=True).encode()).hexdigest()[:32]


def _asked(request: dict[str, Any], name: str, timeout: float) -> dict[str, Any]:
    """Return a child's answer to a request, or raise what went wrong as one sentence."""
    package = str(Path(etchcalc.__file__).parent.parent)
    seen = [package, *filter(None, [os.environ.get("PYTHONPATH")])]
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(seen),
        "PYTHONIOENCODING": "utf-8",
        "OPENBLAS_NUM_THREADS": "1",  # each thread reserves address space
    }
    try:
        child = subprocess.run(
            _COMMAND,
            input=json.dumps(request),
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            timeout=timeout,
            env=environment,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except subprocess.TimeoutExpired:
        raise BadInput(
            f"The drawing {name} was not measured within {timeout:g} s: {_SIMPLER}."
        ) from None
    try:
        answer = json.loads(child.stdout)
    except ValueError:
        answer = None
    if child.returncode != 0 or not isinstance(answer, dict):
        raise BadInput(
            f"The drawing {name} made the renderer break off (exit {child.returncode}): {_SIMPLER}."
        )
    if "refused" in answer:
        raise BadInput(answer["refused"])
    return answer


def _drawing(answer: dict[str, Any], digest: str) -> Drawing:
    """Return a drawing from what a child or the cache said."""
    measures: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value
        for key, value in answer["measures"].items()
    }
    return Drawing(FilmMeasures(**measures), base64.b64decode(answer["preview"]), digest)


def _kept(path: Path | None) -> Drawing | None:
    """Return a kept result, None where there is none or it cannot be read."""
    if path is None:
        return None
    try:
        return _drawing(json.loads(path.read_text("utf-8")), "")
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _keep(path: Path, answer: dict[str, Any]) -> None:
    """Keep a result, whole or not at all; a folder that cannot be written is no fault."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", dir=path.parent, suffix=".part", delete=False, encoding="utf-8"
        ) as file:
            json.dump(answer, file)
        try:
            Path(file.name).replace(path)
        finally:
            Path(file.name).unlink(missing_ok=True)
    except OSError:
        return


def _limit_memory() -> None:
    """Let this process ask for no more than `MEMORY`, where the system can say so."""
    try:
        import resource
    except ImportError:  # Windows
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    most = MEMORY if hard == resource.RLIM_INFINITY else min(MEMORY, hard)
    try:
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))
    except (OSError, ValueError):  # macOS may refuse; the timeout still holds
        return


def _answer(request: dict[str, Any]) -> dict[str, Any]:
    """Render and measure, in the child."""
    from etchcalc.artwork.measure import measure
    from etchcalc.artwork.preview import preview
    from etchcalc.artwork.read import read_svg

    size = {key: request[key] for key in ("width", "height", "resolution")}
    try:
        film = read_svg(request["path"], **size)
    except BadInput as fault:
        return {"refused": str(fault)}
    return {
        "measures": asdict(measure(film, black=request["black"])),
        "preview": base64.b64encode(preview(film, black=request["black"])).decode(),
    }


def main() -> None:
    """Answer one request: JSON on standard input, JSON on standard output."""
    _limit_memory()
    request = json.loads(sys.stdin.buffer.read())
    sys.stdout.write(json.dumps(_answer(request)))


if __name__ == "__main__":
    main()
