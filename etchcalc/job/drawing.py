"""The maker's drawing as the plan needs it: measured, in quantities."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from etchcalc.artwork.worker import measure_drawing
from etchcalc.core.units import MM, Quantity, unit
from etchcalc.job.commission import Commission

_MM2 = unit("mm^2")


@dataclass(frozen=True)
class Drawing:
    """What was measured on the maker's drawing.

    Parameters
    ----------
    open_area, open_fraction : Quantity
        Of one plate's face.
    narrowest_line, narrowest_land : Quantity or None
        None where there is none.
    pixel : Quantity or None
        Side of a pixel of the film: the bound of the lengths.
    hairs : tuple of (float, float)
        Places, in mm from the top left, of lines or lands too thin to be measured.
    digest : str
        SHA-256 of the file.
    preview : bytes
        PNG of the face: etched parts dark, the rest clear.
    """

    open_area: Any
    open_fraction: Any
    narrowest_line: Any
    narrowest_land: Any
    pixel: Any = None
    hairs: tuple[tuple[float, float], ...] = ()
    digest: str = ""
    preview: bytes = b""


def measured(commission: Commission, cache: Path | None = None) -> Drawing | None:
    """Return the commission's drawing, measured; None where it has no drawing.

    Parameters
    ----------
    commission : Commission
    cache : Path, optional
        Folder in which the measures of a drawing are kept for next time.

    Raises
    ------
    BadInput
        The drawing cannot be read, or is not of the plate's size.
    """
    if commission.artwork is None:
        return None
    width, height = (
        float(commission.values[name].to(MM).magnitude) for name in ("plate_width", "plate_height")
    )
    found = measure_drawing(
        commission.artwork, width=width, height=height, black=commission.words["black"], cache=cache
    )
    m = found.measures

    def length(value):
        return None if value is None else Quantity(value, MM)

    return Drawing(
        Quantity(m.open_area, _MM2),
        Quantity(m.open_fraction, unit("dimensionless")),
        length(m.narrowest_line),
        length(m.narrowest_land),
        length(m.pixel),
        tuple(place for place in (m.hairline_place, m.hairland_place) if place is not None),
        found.digest,
        found.preview,
    )
