"""Where plates, spacers and heater lie in the tray, to be drawn to scale.

Seen from above, x runs along the tray's length and y along its width, from the
corner furthest from the heater; heights are above the tray's floor.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from etchcalc.core.units import MM, Quantity, first, show
from etchcalc.core.vocabulary import term
from etchcalc.process import tray

if TYPE_CHECKING:  # what a plan is worked from may ask `places` how many plates the tray holds
    from etchcalc.job.plan import Plan

_HAIR = 1e-6  # mm
_HEATER = ("heater_length", "heater_width")


@dataclass(frozen=True)
class Box:
    """A rectangle seen from above: its corner nearest to where x and y begin, its sides, in mm."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True)
class Layout:
    """The tray as loaded; lengths in mm.

    Parameters
    ----------
    length, width, depth : float
        Inside of the tray.
    level : float
        Of the etchant.
    lies : str
        "face down", "on edge" or "face up".
    plates : tuple of Box
        Those of the first load.
    faces : tuple of Box
        Their finished faces, inside the waste margin; none of plates on edge.
    fits, count : int
        How many the tray holds at once, and how many are ordered.
    tall : float
        How high a plate stands: its thickness, on edge its shorter side.
    spacers : tuple of Box
        Those under all plates of the load.
    spacer_height : float
        Nothing where the plates stand on none.
    heater : Box or None
    heater_cover : float
        Depth of etchant that keeps the heater covered.
    tilt : float
        How far one end may be lifted; nothing or less where the tray is too full.
    slosh_margin : float
        Wall left above the etchant at the low end.
    sentences : tuple of str
        How many fit, which way round, what the spacers stand under.
    """

    length: float
    width: float
    depth: float
    level: float
    lies: str
    plates: tuple[Box, ...]
    faces: tuple[Box, ...]
    fits: int
    count: int
    tall: float
    spacers: tuple[Box, ...]
    spacer_height: float
    heater: Box | None
    heater_cover: float
    tilt: float
    slosh_margin: float
    sentences: tuple[str, ...]

    @property
    def batches(self) -> int:
        """How many loads the order takes; none where no plate fits."""
        return -(-self.count // self.fits) if self.fits else 0

    @property
    def face(self) -> float:
        """How high above the floor the etched face lies; on edge its upper end."""
        return self.spacer_height if self.lies == "face down" else self.tall


def places(values: dict, blank: tuple, lies: str) -> list[Box]:
    """Return where the tray takes blanks, the heater's place and all gaps kept free.

    Parameters
    ----------
    values : dict
        Tray, gap and heater by name.
    blank : tuple of Quantity
        Width and height of the blank.
    lies : str
        On edge a plate stands on its longer side, and takes its thickness of the floor.
    """
    sides = (max(blank), first(values["plate_thickness"])) if lies == "on edge" else blank
    heater = [first(values.get(name, term(name).quantity(0.0))) for name in _HEATER]
    length, width, gap = (
        first(values[name]) for name in ("tray_length", "tray_width", "plate_gap")
    )
    around = length, width, *sides, gap, *heater
    return list(_laid(*(float(side.to(MM).magnitude) for side in around)))


@lru_cache(maxsize=64)  # a slider's move asks again for the tray that it did not change
def _laid(*around: float) -> tuple[Box, ...]:
    laid = tray.places_in_tray(*(Quantity(side, MM) for side in around))
    return tuple(Box(*(float(side.magnitude) for side in place)) for place in laid)


def layout(plan: "Plan") -> Layout:
    """Return the tray of a plan as loaded.

    Plates lie from the corner furthest from the heater, all turned the way that holds more.
    Spacers stand in the middle of the waste margin, those of three two under the longer side and
    one under the middle of the other; more than the margin has room for stand under the face.
    """
    lies, values = plan.commission.words["plate_lies"], plan.book.values
    blank = plan.blank_size
    all_places, count = places(values, blank, lies), int(plan.number("plate_count"))
    plates = tuple(all_places[:count])
    margin, down = plan.number("waste_margin"), lies == "face down"
    faces = () if lies == "on edge" else tuple(_face(plate, margin) for plate in plates)
    under = [_spacers(plan, plate) for plate in plates] if down else []
    return Layout(
        **{side: plan.number(f"tray_{side}") for side in ("length", "width", "depth")},
        level=plan.number("etchant_level"),
        lies=lies,
        plates=plates,
        faces=faces,
        fits=len(all_places),
        count=count,
        tall=_mm(min(blank)) if lies == "on edge" else plan.number("plate_thickness"),
        spacers=tuple(spacer for of_one in under for spacer in of_one),
        spacer_height=plan.number("spacer_height") if down else 0.0,
        heater=_heater(plan),
        heater_cover=plan.number("heater_cover"),
        tilt=plan.number("greatest_tilt"),
        slosh_margin=plan.number("slosh_margin"),
        sentences=tuple(_sentences(plan, all_places, under[0] if under else [])),
    )


def _mm(quantity) -> float:
    return float(quantity.to(MM).magnitude)


def _shown(plan: "Plan", mm: float, toward: int = 0) -> str:
    return show(Quantity(mm, MM), "size", plan.commission.units, fixed=False, toward=toward)


def _face(plate: Box, margin: float) -> Box:
    return Box(plate.x + margin, plate.y + margin, plate.w - 2 * margin, plate.h - 2 * margin)


def _heater(plan: "Plan") -> Box | None:
    """Return the heater in the corner furthest from the plates'; at most as large as the tray."""
    if any(name not in plan.book.values for name in _HEATER):
        return None
    inside = plan.number("tray_length"), plan.number("tray_width")
    w, h = (min(plan.number(name), side) for name, side in zip(_HEATER, inside, strict=True))
    return Box(inside[0] - w, inside[1] - h, w, h) if w and h else None


# ---- spacers


def _rows(count: int, w: float, h: float) -> tuple[int, int]:
    """Return how many spacers stand along each side: the rows that come nearest together."""
    grids = [(n, count // n) for n in range(2, count // 2 + 1) if count % n == 0]
    return min(grids, key=lambda grid: max(w / (grid[0] - 1), h / (grid[1] - 1)), default=(2, 2))


def _foot(plan: "Plan") -> float:
    """Return the side of a square foot, mm."""
    return _mm(plan.middle("spacer_foot") ** 0.5)


def _spacers(plan: "Plan", plate: Box) -> list[Box]:
    """Return the spacers under a plate; feet too wide to stand side by side as wide as they may be."""
    count, margin = round(plan.number("spacer_count")), plan.number("waste_margin")
    rows = _rows(count, plate.w, plate.h)
    foot = min(_foot(plan), plate.w / rows[0], plate.h / rows[1])
    x, y = (
        _along(side, many, foot, margin)
        for side, many in zip((plate.w, plate.h), rows, strict=True)
    )
    spots = [(across, along) for along in y for across in x]
    if count == 3:
        spots = [(x[0], y[0]), (x[1], y[0]), ((x[0] + x[1]) / 2, y[1])]
        if plate.h > plate.w:
            spots = [(x[0], y[0]), (x[0], y[1]), (x[1], (y[0] + y[1]) / 2)]
    return [Box(plate.x + a, plate.y + b, foot, foot) for a, b in spots]


def _along(side: float, many: int, foot: float, margin: float) -> list[float]:
    """Return where feet begin along a side: the outer ones in the middle of the margin."""
    inset = max(min(margin, side - (many - 1) * foot) - foot, 0.0) / 2
    step = (side - 2 * inset - foot) / (many - 1)
    return [inset + i * step for i in range(many)]


def _overlap(one: Box, other: Box) -> bool:
    apart = (
        one.x - other.x - other.w, other.x - one.x - one.w,
        one.y - other.y - other.h, other.y - one.y - one.h,
    )  # fmt: skip
    return max(apart) < -_HAIR


# ---- what is to be known


def _sentences(plan: "Plan", places: list[Box], spacers: list[Box]) -> list[str]:
    found = [_load(plan, len(places)), *_heater_too_large(plan)]
    if not places:
        return found
    found += _way_round(plan, places[0])
    if plan.commission.words["plate_lies"] == "on edge":
        return found + _too_tall(plan)
    return found + _where_spacers(plan, places[0], spacers)


def _load(plan: "Plan", fits: int) -> str:
    count = int(plan.number("plate_count"))
    if fits == 0:
        beside = " beside the heater" if _heater(plan) else ""
        return f"No plate fits this tray{beside}: use a larger tray, or leave less waste margin."
    if fits >= count:
        return f"All {count} plates go in at once." if count > 1 else "One plate, one load."
    loads = [str(min(fits, count - done)) for done in range(0, count, fits)]
    after = f": {', then '.join(loads)}" if len(loads) <= 6 else f" of up to {fits}"
    return f"The tray holds {fits} of {count} plates at once: {len(loads)} batches{after}."


def _heater_too_large(plan: "Plan") -> list[str]:
    for name, side in zip(_HEATER, ("tray_length", "tray_width"), strict=True):
        if name in plan.book.values and plan.middle(name) > plan.middle(side):
            has = _shown(plan, plan.number(side))
            return [
                f"The heater, {_shown(plan, plan.number(name))}, is longer than the tray, {has}."
            ]
    return []


def _way_round(plan: "Plan", laid: Box) -> list[str]:
    if abs(laid.w - laid.h) < _HAIR:
        return []
    way = "along the tray" if laid.w > laid.h else "across the tray"
    if plan.commission.words["plate_lies"] == "on edge":
        return [f"Stand them on their long edge, {way}."]
    return [f"Lay them with the long side {way}."]


def _too_tall(plan: "Plan") -> list[str]:
    tall, level = _mm(min(plan.blank_size)), plan.number("etchant_level")
    if tall <= level:
        return []
    room = plan.number("tray_depth") - plan.number("slosh_margin")
    way = (
        "lay it flat, or use a deeper tray"
        if tall > room
        else "pour as deep as that, or lay it flat"
    )
    said = _shown(plan, tall, toward=1), _shown(plan, level, toward=-1)
    return [f"On edge the blank stands {said[0]} high in {said[1]} of etchant: {way}."]


def _where_spacers(plan: "Plan", plate: Box, spacers: list[Box]) -> list[str]:
    if not spacers:
        return []
    margin, foot = plan.number("waste_margin"), _foot(plan)
    face = _face(plate, margin)
    under = sum(_overlap(spacer, face) for spacer in spacers)
    if foot > spacers[0].w + _HAIR:
        most = _shown(plan, spacers[0].w, toward=-1)
        return [
            f"Feet {_shown(plan, foot)} wide do not stand side by side under the blank: use feet of "
            f"{most} at most; so they are drawn."
        ]
    if foot > margin + _HAIR:
        said = _shown(plan, foot, toward=1), _shown(plan, margin)
        return [
            f"No room for spacers off the artwork: a foot is {said[0]} wide, the waste margin {said[1]}. "
            f"Leave {said[0]} of margin, use smaller feet, or stand them where nothing is etched."
        ]
    if under:
        return [
            f"{under} of {len(spacers)} spacers stand under the face: put them where nothing is etched."
        ]
    return [f"All {len(spacers)} spacers of each plate stand under its waste margin."]
