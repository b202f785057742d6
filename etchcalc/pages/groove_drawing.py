"""The groove as it grows, cut through: SVG composed as text, in true proportion."""

from collections.abc import Sequence
from typing import Any

from etchcalc.core.units import MM, show
from etchcalc.pages.drawings import colour_of, composed, words_at
from etchcalc.process.groove import Groove

WIDTH, FACE, RESIST = 440, 46, 8
_ROOM_ACROSS, _ROOM_DOWN, _FOOT = 380.0, 190.0, 46
_BARS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)


def growing(
    groove: Groove,
    shown: Sequence[Any],
    land: Any = None,
    system: str = "metric",
) -> str:
    """Return a groove at each of some depths, under the edges of its resist.

    Parameters
    ----------
    groove : Groove
        Worked out with the same depths `shown`; the deepest is drawn as the groove.
    shown : sequence of Quantity
        Its depths, rising.
    land : Quantity, optional
        Resist between this line and the next like it, where one was given.
    system : {"metric", "imperial", "US"}
        Units of the words.
    """
    outlines = [outline.to(MM).magnitude for outline in groove.outlines]
    last = outlines[-1]
    half = groove.film_line.to(MM).magnitude / 2
    wide, deep = last[:, 0].max(), last[:, 1].max()
    scale = min(_ROOM_ACROSS / (2 * wide), _ROOM_DOWN / deep)
    middle, floor = WIDTH / 2, FACE + deep * scale
    height = floor + _FOOT
    edge = half * scale
    resist = min(land.to(MM).magnitude * scale, middle) if land is not None else middle
    body = [
        f"<rect x='0' y='{FACE}' width='{WIDTH}' height='{height - 4 - FACE:.1f}' fill='{colour_of('brass')}'/>"
    ]
    pitch = 0.0 if land is None else scale * (2 * half + land.to(MM).magnitude)
    for i, outline in enumerate(reversed(outlines)):
        for at in (middle, middle - pitch, middle + pitch)[: 3 if pitch else 1]:
            body.append(_section(outline, at, scale, i == 0))
    for left in (middle - edge - resist, middle + edge):
        start, end = max(left, 0.0), min(left + resist, WIDTH)
        body.append(
            f"<rect class='etch-resist' x='{start:.1f}' y='{FACE - RESIST}' width='{end - start:.1f}' "
            f"height='{RESIST}' fill='{colour_of('blue')}'/>"
        )
    lowest = FACE + 2.0
    for depth, outline in zip(shown, outlines, strict=True):
        at = FACE + outline[len(outline) // 2, 1] * scale
        if at - lowest >= 14:  # words over one another say nothing
            body.append(words_at(middle, at - 4, show(depth, "fine", system), "middle", size=11))
            lowest = at
    says = _says(groove, land, system)
    body.append(
        words_at(middle, FACE - 27, f"film {show(groove.film_line, 'fine', system)}", "middle")
    )
    body.append(
        f"<path d='M{middle - edge:.1f} {FACE - 11}v-9M{middle + edge:.1f} {FACE - 11}v-9"
        f"M{middle - edge:.1f} {FACE - 16}H{middle + edge:.1f}' stroke='{colour_of('ink')}' fill='none'/>"
    )
    body.append(words_at(6, FACE - 13, "resist", colour="muted"))
    body.append(words_at(8, height - 28, says, colour="on"))
    body.append(words_at(8, height - 11, "worked out, not measured", colour="on"))
    body += _bar(height - 12, scale)
    title = f"The groove as it grows, cut through: {says}"
    description = (
        "Same scale across and down; worked out, not measured. Each line is the metal's edge at "
        f"one depth: {', '.join(show(depth, 'fine', system) for depth in shown)}."
    )
    return composed(WIDTH, height, title, description, body, "growing")


def _says(groove: Groove, land: Any, system: str) -> str:
    """Return depth, undercut and etch factor in words."""
    deep, under = (show(q[-1], "fine", system) for q in (groove.depth, groove.undercut))
    if land is not None and groove.undercut[-1] >= 0.999 * land / 2:
        return f"{deep} deep: it has met the next line under the resist"
    return (
        f"{deep} deep, {under} under each edge: etch factor {groove.etch_factor[-1].magnitude:.2f}"
    )


def _section(outline, middle: float, scale: float, deepest: bool) -> str:
    """Return the metal's edge at one depth; the deepest is open."""
    corners = [f"{middle + x * scale:.1f} {FACE + y * scale:.1f}" for x, y in outline]
    met = outline[0, 0] == outline[1, 0]  # what closes it there is no metal
    edge = "L".join(corners[1:-1] if met else corners)
    filled = colour_of("paper") if deepest else "none"
    colour, width = ("edge", 1.5) if deepest else ("brown", 0.9)
    return (
        f"<path class='etch-outline' d='M{'L'.join(corners)}' fill='{filled}' stroke='{filled}'/>"
        f"<path d='M{edge}' fill='none' stroke='{colour_of(colour)}' stroke-width='{width}'/>"
    )


def _bar(y: float, scale: float) -> list[str]:
    """Return a bar of a round length."""
    length = next((b for b in _BARS if b * scale >= 40), _BARS[-1])
    long, right = length * scale, WIDTH - 12
    return [
        f"<path d='M{right - long:.1f} {y:.1f}h{long:.1f}' stroke='{colour_of('on')}' stroke-width='3'/>",
        words_at(right - long - 4, y + 4, f"{length:g} mm", "end", "on", 11),
    ]
