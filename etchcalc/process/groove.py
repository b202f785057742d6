"""The shape of a groove: how deep, how far under the resist, worked out as it etches.

Etchant diffuses from the well-mixed bath through the boundary layer and the groove
to the metal, not through the resist, and reacts there; the front moves by what
reaches it. Only the shape is taken from this; the time stays with the rates, and
both clocks are told. What moves the front is compiled by numba and imported where
it is worked, which is a process of its own (`python -m etchcalc.process.groove`).
"""

import json
import sys
from dataclasses import dataclass
from typing import Any

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import MINUTE, MM, ONE, Quantity, unit
from etchcalc.process.rates import _renewal

COARSE, FINE = 16, 60  # cells in the depth: for a slider; 5 µm in 0.3 mm
STATUS, SOURCE = "worked out", "groove_front"
_SPEED, _SPREAD = unit("mm/min"), unit("mm^2/min")


@dataclass(frozen=True)
class Groove:
    """A line's cross-section as it grows.

    Attributes
    ----------
    depth : Quantity, array
        In the middle of the line; the last is the depth that was asked for.
    undercut : Quantity, array
        At one edge, where the groove is widest.
    bulge : Quantity, array
        How much deeper than in the middle it is near its edges.
    own_time, rate_time : Quantity, array
        The clock of this simulation; that of the rates, with the same resistances
        one behind the other, which is the one to go by.
    film_line : Quantity
        The opening of the resist.
    outlines : tuple of Quantity, arrays of shape (n, 2)
        The cross-section at each depth that was to be shown: from edge to edge, x from
        the middle of the line, y down from the face. Where it has met the next line
        under the resist it ends half way to it, and the undercut grows no more.
    mass_error : Quantity
        Etchant that the bath gave, less what is held in the groove and what the metal
        removed takes, over what the bath gave.
    """

    depth: Any
    undercut: Any
    bulge: Any
    own_time: Any
    rate_time: Any
    film_line: Any
    outlines: tuple[Any, ...]
    mass_error: Any

    @property
    def etch_factor(self) -> Any:
        """Depth over undercut, as the groove grows."""
        return self.depth / self.undercut


def turning_share(*, recess_number):
    """Return the share of the depth by which the boundary layer follows the front.

    Liquor that turns over carries as much as one so many times thinner at rest would:
    nothing to a recess number of 20, two thirds at 40, near 1 far beyond.
    """
    return Quantity(1 - 1 / _renewal(recess_number.to(ONE).magnitude), ONE)


def numbers(
    *,
    film_line,
    depth,
    transport_velocity,
    reaction_velocity,
    ferric_diffusivity,
    ferric_concentration,
    ferric_demand,
    turning,
    land=None,
    shown=(),
    cells=COARSE,
) -> dict[str, Any]:
    """Return the bare numbers (mm, minutes) of a groove that is to be worked out.

    Parameters
    ----------
    film_line, depth : Quantity
        The opening of the resist; the depth to reach in the middle.
    transport_velocity, reaction_velocity, ferric_diffusivity : Quantity
        Of the rates; the boundary layer is as thick as diffusivity over transport velocity.
    ferric_concentration, ferric_demand : Quantity
        Of the bath; ferric ions that a volume of the metal takes.
    turning : Quantity
        0 where the liquor in the groove lies still, 1 where the bath follows the front:
        `turning_share`.
    land : Quantity, optional
        Resist between this line and the next like it; nothing near it when not said.
    shown : sequence of Quantity
        Depths at which the outline is kept, rising.
    cells : int
        In the depth, 8 to 200; more across a line that is narrow for its depth.

    Raises
    ------
    BadInput
        Where a width, depth or speed is not above nothing, or a number lies outside its range.
    """
    said = {
        "half": film_line.to(MM).magnitude / 2,
        "depth": depth.to(MM).magnitude,
        "transport": transport_velocity.to(_SPEED).magnitude,
        "reaction": reaction_velocity.to(_SPEED).magnitude,
        "diffusivity": ferric_diffusivity.to(_SPREAD).magnitude,
        "demand": (ferric_demand / ferric_concentration).to(ONE).magnitude,
        "land": np.inf if land is None else land.to(MM).magnitude,
    }
    share = turning.to(ONE).magnitude
    right = all(value > 0 for value in said.values())  # which what is no number is not
    if not (right and 0 <= share <= 1 and 8 <= cells <= 200):
        raise BadInput(
            "The groove cannot be worked out: give widths, depth, speeds and strengths above "
            "nothing, a turning share from 0 to 1 and 8 to 200 cells."
        )
    plain = {name: float(value) for name, value in {**said, "turning": share}.items()}
    return {**plain, "shown": [float(d.to(MM).magnitude) for d in shown], "cells": int(cells)}


def _grid(half, depth, layer, land, cells):
    """Return edges of columns and rows, rows above the face, and where the metal ends sideways.

    Even in the metal, a whole number of cells in half the line; wider with the distance
    above the face and beyond the metal that can be reached.
    """
    cell = half / max(round(half * cells / depth), 3)
    end = half + (1.5 * depth if np.isinf(land) else land / 2)
    columns = cell * np.arange(int(np.ceil(end / cell - 1e-9)) + 1)
    ratio = float(np.clip(1 + 2 * cell / min(half, depth, layer), 1.1, 1.4))
    sizes = cell * ratio ** np.arange(1, 200)
    if np.isinf(land):
        beyond = columns[-1] + np.cumsum(sizes)
        columns = np.append(columns, beyond[: np.searchsorted(beyond, end + 3 * layer) + 1])
        end = cell * np.ceil(end / cell - 1e-9)
    rows = sizes[: max(int(np.searchsorted(np.cumsum(sizes), layer)) + 1, 2)] / ratio
    heights = np.cumsum(rows * layer / rows.sum())[::-1]
    down = np.append(-heights, cell * np.arange(int(1.5 * depth / cell) + 3))
    return (columns, down, len(rows)), float(end)


def worked(said: dict[str, Any]) -> dict[str, Any]:
    """Return how a groove grows, as bare numbers; slow where the compiled code is not kept yet."""
    from etchcalc.process import groove_front

    depth, layer = said["depth"], said["diffusivity"] / said["transport"]
    half = min(said["half"], 4 * (depth + layer))  # farther in, a wide line is flat
    grid, end = _grid(half, depth, layer, said["land"], said["cells"])
    told, outlines, lengths, account = groove_front.etched(
        grid, half, end, depth, layer, said["diffusivity"] / said["reaction"], said["demand"],
        said["turning"], np.array(said["shown"], dtype=float),
    )  # fmt: skip
    time, deep, deepest, undercut = told.T
    if not deep[-1] >= depth:
        raise BadInput("The groove was not worked out to its depth: ask for a lesser depth.")
    at = np.append(deep[deep < depth], depth)
    kept = [outlines[i, :n] + [said["half"] - half, 0.0] for i, n in enumerate(lengths) if n]
    return {
        "depth": at.tolist(),
        "undercut": np.interp(at, deep, undercut).tolist(),
        "bulge": np.interp(at, deep, deepest - deep).tolist(),
        "time": (np.interp(at, deep, time) / said["diffusivity"]).tolist(),
        "outlines": [_both_sides(k).tolist() for k in kept],
        "mass_error": float((account[0] - account[1] - account[2]) / account[0]),
    }


def _both_sides(front):
    """Return the whole cross-section of a front from the middle to its edge, closed at the face."""
    if front[-1, 1] > 0:  # it has met the next line
        front = np.vstack([front, [front[-1, 0], 0.0]])
    return np.vstack([front[::-1] * [-1, 1], front])


def told(said: dict[str, Any], found: dict[str, Any]) -> Groove:
    """Return the groove of its bare numbers."""
    depth = np.array(found["depth"])
    outside = 1 / said["reaction"] + 1 / said["transport"]
    inside = (1 - said["turning"]) * depth / (2 * said["diffusivity"])
    return Groove(
        depth=Quantity(depth, MM),
        undercut=Quantity(np.array(found["undercut"]), MM),
        bulge=Quantity(np.array(found["bulge"]), MM),
        own_time=Quantity(np.array(found["time"]), MINUTE),
        rate_time=Quantity(said["demand"] * depth * (outside + inside), MINUTE),
        film_line=Quantity(2 * said["half"], MM),
        outlines=tuple(Quantity(np.array(outline), MM) for outline in found["outlines"]),
        mass_error=Quantity(found["mass_error"], ONE),
    )


def groove(**quantities) -> Groove:
    """Return a groove worked out in this very process; inputs are those of `numbers`."""
    said = numbers(**quantities)
    return told(said, worked(said))


def main() -> None:
    """Answer questions, one a line as JSON, until there are no more."""
    for line in sys.stdin:
        try:
            found = worked(json.loads(line))
        except BadInput as fault:
            found = {"refused": str(fault)}
        print(json.dumps(found), flush=True)


if __name__ == "__main__":
    main()
