"""The film for the plate: how wide its lines are drawn, and the files that it is written to."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from etchcalc.artwork.worker import SHARED, Progress
from etchcalc.core.faults import BadInput
from etchcalc.core.units import MM, Quantity
from etchcalc.job.drawing import asked, is_corrected
from etchcalc.job.plan import Plan
from etchcalc.process import undercut

WIDTHS = (0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0)  # mm, finished
FILES = ("film.tif", "film.pdf")


@dataclass(frozen=True)
class Written:
    """The film's files.

    Attributes
    ----------
    paths : tuple of Path
        A TIFF of one bit a pixel, and a PDF; both in true size.
    width, height : float
        Of the sheet: the plate in its middle, and what stands beside it; mm.
    resolution : float
        Pixels a millimetre.
    """

    paths: tuple[Path, ...]
    width: float
    height: float
    resolution: float


def write_film(plan: Plan, folder: Path, progress: Progress | None = None) -> Written:
    """Write the film of a plan into a folder, both files whole or neither.

    A drawing of the finished plate is corrected by the undercut; a film as it is stays so.

    Raises
    ------
    BadInput
        There is no drawing, or it cannot be read, or the folder cannot be written.
    Cancelled
        It was broken off; what stood there still stands.
    """
    question = {
        "do": "write",
        "asked": asked(plan.commission),
        "undercut": float(plan.middle("undercut").to(MM).magnitude),
        "shrink": is_corrected(plan.commission),
        "title": plan.commission.title,
        "emulsion_down": plan.commission.words["emulsion"] == "down",
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=folder, prefix=".film-") as made:
            sheet = SHARED.ask({**question, "folder": made}, progress)
            for name in FILES:
                (Path(made) / name).replace(folder / name)
    except OSError as fault:
        raise BadInput(
            f"The film could not be saved in {folder} ({fault.strerror}); free some space or choose "
            "a folder that can be written."
        ) from None
    return Written(tuple(folder / name for name in FILES), **sheet)


def drawn_widths(plan: Plan, widths: Sequence[float] = WIDTHS) -> list[tuple]:
    """Return finished widths and how wide to draw them on the film at the ordered depth.

    Each with the etch factor of its own width; a width that no film can draw comes with None.
    The narrowest line of the drawing comes first where it is known.
    """
    rows = []
    correction = plan.middle("etch_factor_correction")
    narrowest = plan.middle("narrowest_film_line")
    for width in widths:
        line = Quantity(width, MM)
        if "etch_factor" in plan.commission.typed:
            factor = plan.middle("etch_factor")
        else:
            usual = undercut.usual_etch_factor(line_width=line)
            factor = undercut.etch_factor(
                usual_etch_factor=usual, etch_factor_correction=correction
            )
        side = undercut.undercut(depth=plan.middle("depth"), etch_factor=factor)
        drawn = undercut.film_line(finest_line=line, undercut=side)
        rows.append((line, drawn if drawn >= narrowest else None))
    return rows
