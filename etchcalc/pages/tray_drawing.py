"""The tray as loaded, from above and from the side, composed as SVG to one scale."""

from collections.abc import Iterable

from etchcalc.core.units import MM, Quantity, show
from etchcalc.job.tray_layout import Box, Layout
from etchcalc.pages.drawings import colour_of, composed, words_at

WIDTH, LEFT = 440.0, 78.0
_ROOM_ALONG, _ROOM_ACROSS, _ROOM_UP = WIDTH - LEFT - 14, 330.0, 240.0
_TOP, _ROW = 24.0, 20.0
_NAMED = 15.0  # px: a plate narrower than this has no room for its number


def says(layout: Layout, units: str) -> dict[str, str]:
    """Return the words of both pictures, in a system of units."""

    def shown(mm: float, toward: int = 0) -> str:
        return show(Quantity(mm, MM), "size", units, fixed=False, toward=toward)

    edge = layout.lies == "on edge"
    found = {side: shown(getattr(layout, side)) for side in ("length", "width", "depth")}
    load = len(layout.plates)
    found["load"] = {0: "no plate fits", 1: "one plate"}.get(load, f"{load} plates at once")
    found["level"] = f"etchant {shown(layout.level)} deep"
    found["plate"] = (
        f"plate on edge, {shown(layout.tall)} high"
        if edge
        else f"plate, its face {shown(layout.face)} above the floor"
    )
    found["face"] = "finished face, inside the waste margin"
    found["spacer"] = f"spacer, {shown(layout.spacer_height)} high"
    found["heater"] = f"heater, covered from {shown(layout.heater_cover)} of etchant"
    found["tilt"] = (
        f"tilted: lift the left end by {shown(layout.tilt, -1)} at most"
        if layout.tilt > 0
        else "too full to be tilted"
    )
    return found


def scale(layout: Layout) -> float:
    """Return the pixels to a millimetre of both pictures, so that they stand one under the other."""
    highest = max(layout.depth, layout.level, layout.spacer_height + layout.tall)
    return min(_ROOM_ALONG / layout.length, _ROOM_ACROSS / layout.width, _ROOM_UP / highest)


def above(layout: Layout, says: dict[str, str]) -> str:
    """Return the tray seen from above, in true proportion.

    Parameters
    ----------
    layout : Layout
    says : dict of str to str
        As `says` gives them: ``length``, ``width``, ``load``, ``plate``, ``face``, ``spacer``,
        ``heater``.
    """
    px, left = scale(layout), _left(layout)

    def laid(box: Box) -> tuple[float, float, float, float]:
        return left + box.x * px, 8 + box.y * px, box.w * px, box.h * px

    tray = Box(0, 0, layout.length, layout.width)
    body = [
        _rect("tray", laid(tray), "paper", "ink", "stroke-width='2'"),
        _rect("bath", laid(tray), "brown", "", "opacity='.14'"),
    ]
    if layout.heater:
        body += _heater(laid(layout.heater))
    body += [_rect("plate", laid(plate), "brass", "edge") for plate in layout.plates]
    body += [_rect("face", laid(face), "", "on", "stroke-dasharray='5 3'") for face in layout.faces]
    body += [_rect("spacer", laid(foot), "on", "on", "fill-opacity='.35'") for foot in layout.spacers]  # fmt: skip
    for number, (x, y, w, h) in enumerate(map(laid, layout.plates), 1):
        if min(w, h) >= _NAMED:
            body.append(words_at(x + w / 2, y + h / 2 + 4, str(number), "middle", "on"))
    foot = 8 + layout.width * px
    body += _sizes(left, 8, layout.length * px, layout.width * px, says["length"], says["width"])
    keys = [(_sample("brass", "edge"), says["load"])] if layout.plates else [("", says["load"])]
    if layout.faces:
        keys.append((_on_brass(_sample("", "on", "stroke-dasharray='5 3'")), says["face"]))
    keys += _other_keys(
        layout, says, _on_brass(_rect("key", (14, -9, 10, 10), "on", "on", "fill-opacity='.35'"))
    )
    words, height = _keys(keys, foot + 40)
    return composed(
        WIDTH, height, f"The tray from above: {says['load']}", " ".join(layout.sentences), body + words, "tray-above"
    )  # fmt: skip


def side(layout: Layout, says: dict[str, str]) -> str:
    """Return the tray seen from its long side, in true proportion, to the scale of `above`.

    Parameters
    ----------
    layout : Layout
    says : dict of str to str
        As `says` gives them: ``length``, ``depth``, ``level``, ``plate``, ``spacer``, ``heater``,
        ``tilt``.
    """
    px, left = scale(layout), _left(layout)
    highest = max(layout.depth, layout.level, layout.spacer_height + layout.tall)
    floor = _TOP + highest * px
    right, rim, level = left + layout.length * px, floor - layout.depth * px, floor - layout.level * px  # fmt: skip

    def standing(box: Box, under: float, height: float) -> tuple[float, float, float, float]:
        return left + box.x * px, floor - (under + height) * px, box.w * px, height * px

    body = [
        _rect("bath", (left, level, right - left, floor - level), "brown", "", "fill-opacity='.14'")
    ]
    if layout.heater:
        body += _heater(standing(layout.heater, 0, layout.heater_cover))
    # the wall's line lies outside, so that it hides nothing of what lies on the floor
    wall = f"M{left - 1:.2f} {rim:.2f}V{floor + 1:.2f}H{right + 1:.2f}V{rim:.2f}"
    seen = {
        name: sorted({standing(box, *heights) for box in boxes})
        for name, boxes, heights in (
            ("spacer", layout.spacers, (0, layout.spacer_height)),
            ("plate", layout.plates, (layout.spacer_height, layout.tall)),
        )
    }
    body += [_rect("spacer", at, "muted", "") for at in seen["spacer"]]
    outline = "on" if layout.lies == "on edge" else ""
    body += [_rect("plate", at, "edge", outline, "stroke-width='.5'") for at in seen["plate"]]
    body += [
        f"<path class='etch-level' d='M{left:.2f} {level:.2f}H{right:.2f}' stroke='{colour_of('brown')}' stroke-width='1.5'/>",
        f"<path class='etch-wall' d='{wall}' fill='none' stroke='{colour_of('ink')}' stroke-width='2'/>",
    ]
    keys = [
        (_line("brown", "stroke-width='1.5'"), says["level"]),
        (_sample("edge", ""), says["plate"] if layout.plates else says["load"]),
        *_other_keys(layout, says, _rect("key", (14, -9, 10, 10), "muted", "")),
    ]
    if layout.tilt > 0:
        body += _tilted(layout, left, floor, px)
        keys.append((_line("ink", "stroke-dasharray='6 4'"), says["tilt"]))
    else:
        keys.append(("", says["tilt"]))
    body += _sizes(left, rim, right - left, floor - rim, says["length"], says["depth"])
    words, height = _keys(keys, floor + 40)
    title = f"The tray from the side: {says['level']}, {says['plate']}"
    about = f"{says['tilt']}. Plates behind one another are seen as one."
    return composed(WIDTH, height, title, about, body + words, "tray-side")


def _left(layout: Layout) -> float:
    return LEFT + (_ROOM_ALONG - layout.length * scale(layout)) / 2


def _rect(name: str, at: Iterable[float], fill: str, stroke: str, more: str = "") -> str:
    x, y, w, h = at
    return (
        f"<rect class='etch-{name}' x='{x:.2f}' y='{y:.2f}' width='{w:.2f}' height='{h:.2f}' "
        f"fill='{colour_of(fill) if fill else 'none'}' stroke='{colour_of(stroke) if stroke else 'none'}' {more}/>"
    )


def _heater(at: tuple[float, float, float, float], name: str = "heater") -> list[str]:
    """Return a box with a zigzag in it, along its longer side."""
    x, y, w, h = at
    turns = max(round(max(w, h) / 10), 2)
    steps = [(i / turns, 0.2 + 0.6 * (i % 2)) for i in range(turns + 1)]
    points = [(x + w * a, y + h * b) if w >= h else (x + w * b, y + h * a) for a, b in steps]
    path = "L".join(f"{px:.2f} {py:.2f}" for px, py in points)
    return [
        _rect(name, at, "soft", "ink"),
        f"<path d='M{path}' fill='none' stroke='{colour_of('muted')}'/>",
    ]


def _tilted(layout: Layout, left: float, floor: float, px: float) -> list[str]:
    """Return the surface when the left end is lifted as far as may be, drawn in the tray as it lies.

    It turns about its middle, up to the slosh margin at the right; where it would pass the floor
    it ends there.
    """
    rise = layout.depth - layout.slosh_margin - layout.level
    low, right = layout.level + rise, left + layout.length * px
    bare = max(rise - layout.level, 0) / (2 * rise)  # share of the floor laid bare
    start, height = left + bare * (right - left), max(layout.level - rise, 0)
    tip = floor - layout.depth * px - 18
    return [
        f"<path class='etch-tilt' d='M{start:.2f} {floor - height * px:.2f}L{right:.2f} {floor - low * px:.2f}' "
        f"stroke='{colour_of('ink')}' stroke-dasharray='6 4' fill='none'/>",
        f"<path d='M{left:.2f} {tip + 14:.2f}V{tip:.2f}m-4 5l4 -6l4 6' stroke='{colour_of('ink')}' fill='none'/>",
    ]


def _sizes(x: float, y: float, w: float, h: float, along: str, up: str) -> list[str]:
    """Return the two sizes of a rectangle, below it and at its left."""
    foot, side = y + h + 14, x - 10
    line = (
        f"M{x:.2f} {foot - 4:.2f}v8M{x + w:.2f} {foot - 4:.2f}v8M{x:.2f} {foot:.2f}h{w:.2f}"
        f"M{side - 4:.2f} {y:.2f}h8M{side - 4:.2f} {y + h:.2f}h8M{side:.2f} {y:.2f}v{h:.2f}"
    )
    return [
        f"<path class='etch-sizes' d='{line}' stroke='{colour_of('muted')}' fill='none'/>",
        words_at(x + w / 2, foot + 15, along, "middle"),
        words_at(side - 6, y + h / 2 + 4, up, "end"),
    ]


# ---- what is what


def _sample(fill: str, stroke: str, more: str = "") -> str:
    return _rect("key", (8, -9, 22, 10), fill, stroke, more)


def _line(colour: str, more: str) -> str:
    return f"<path d='M8 -4H30' stroke='{colour_of(colour)}' {more}/>"


def _on_brass(sample: str) -> str:
    return _rect("key", (5, -12, 28, 16), "brass", "") + sample


def _other_keys(layout: Layout, says: dict[str, str], spacer: str) -> list[tuple[str, str]]:
    found = []
    if layout.spacers:
        found.append((spacer, says["spacer"]))
    if layout.heater:
        found.append(("".join(_heater((8, -9, 22, 10), "key")), says["heater"]))
    return found


def _keys(keys: list[tuple[str, str]], top: float) -> tuple[list[str], float]:
    """Return samples with their words, a row each, and where the picture ends."""
    body = []
    for i, (sample, words) in enumerate(keys):
        y = top + 8 + i * _ROW
        body.append(f"<g transform='translate(0 {y:.1f})'>{sample}</g>")
        body.append(words_at(38, y, words))
    return body, round(top + len(keys) * _ROW)
