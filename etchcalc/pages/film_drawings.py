"""The film's pictures, composed as SVG: the plate with its marks, a close look, the shares by width."""

import base64
from collections.abc import Sequence
from html import escape

from etchcalc.pages.drawings import colour_of, composed, words_at

Mark = tuple[float, float, str, str]  # across and down in mm, label, colour
# Room in the picture's own units: round the plate, beside it where labels stand, for one label.
EDGE, LABEL_ROOM, LABEL_WIDTH = 16.0, 46.0, 40.0


def marked_plate(
    width: float, height: float, picture: bytes, marks: Sequence[Mark], title: str
) -> str:
    """Return the plate in true proportion with places marked on it.

    Parameters
    ----------
    width, height : float
        Finished size, mm.
    picture : bytes
        PNG of film and plate; it is shown as an image, so nothing in it can run.
    marks : sequence of (float, float, str, str)
        Across, down (mm from the top left), label, colour name.
    title : str
    """
    room_w, room_h = 900.0, 460.0
    scale = min(room_w / width, room_h / height)
    w, h = width * scale, height * scale
    top = LABEL_ROOM if any(down < height / 2 for _, down, *_ in marks) else EDGE
    foot = LABEL_ROOM if any(down >= height / 2 for _, down, *_ in marks) else EDGE
    body = [
        f"<rect x='{EDGE}' y='{top}' width='{w:.1f}' height='{h:.1f}' fill='{colour_of('brass')}' stroke='{colour_of('edge')}'/>",
        _image(EDGE, top, w, h, picture),
    ]
    # In the margin, not beside its place: there it would cover the letters that it speaks of.
    for upper, level in ((True, top / 2), (False, top + h + foot / 2)):
        row = sorted(mark for mark in marks if (mark[1] < height / 2) == upper)
        at = [EDGE + across * scale for across, *_ in row]
        for (across, down, label, colour), x in zip(row, _apart(at, w + EDGE), strict=True):
            ring = EDGE + across * scale, top + down * scale
            body.append(_mark(ring, (x, level), label, colour))
    says = "The plate in true proportion: ink is open on the film, brown what the undercut adds, red what is lost."
    return composed(w + 2 * EDGE, top + h + foot, title, says, body, "marked")


def _apart(wanted: Sequence[float], end: float) -> list[float]:
    """Return places along a row, as near as can be to those wanted, in order, none over another."""
    places: list[float] = []
    for place in wanted:
        places.append(max(place, places[-1] + LABEL_WIDTH if places else place))
    for i, place in reversed(list(enumerate(places))):
        places[i] = min(place, places[i + 1] - LABEL_WIDTH if i + 1 < len(places) else end)
    return places


def _mark(ring: tuple[float, float], at: tuple[float, float], label: str, colour: str) -> str:
    """Return a ring round a place, its label in the margin, and a line from one to the other."""
    (x, y), (across, level) = ring, at
    gap = 14 if level > y else -14
    near_label = level - 1.3 * gap
    line = f"M{x:.1f} {y + gap:.1f}L{across:.1f} {near_label:.1f}"
    drawn = "".join(
        f"<g fill='none' stroke='{colour_of(ink)}' stroke-width='{wide}'>"
        f"<circle cx='{x:.1f}' cy='{y:.1f}' r='14'/><path d='{line}'/></g>"
        for ink, wide in (("paper", 7), (colour, 3.5))
    )
    return drawn + words_at(across, level + 9, label, "middle", colour, 26)


def close_up(
    box: tuple[float, float, float, float], picture: bytes, bar: float, says: str, title: str
) -> str:
    """Return a part of the plate, large, with a bar of a stated length.

    Parameters
    ----------
    box : (float, float, float, float)
        Left, top, right, bottom, mm.
    picture : bytes
        PNG of the part.
    bar : float
        Length of the bar, mm; `says` stands beside it.
    says, title : str
    """
    left, top, right, bottom = box
    scale = 440 / (right - left)
    w, h = 440.0, (bottom - top) * scale
    body = [
        f"<rect width='{w:g}' height='{h:.1f}' fill='{colour_of('brass')}'/>",
        _image(0, 0, w, h, picture, crisp=True),
        f"<path d='M8 {h + 14:.1f}v8h{bar * scale:.1f}v-8' fill='none' stroke='{colour_of('ink')}'/>",
        words_at(bar * scale + 16, h + 24, says),
    ]
    return composed(
        w, h + 32, title, "A part of the plate: film, undercut, and what is lost.", body, "close"
    )


def share_bars(shares: Sequence[tuple[str, float]], title: str) -> str:
    """Return the share of the open area by line width, a bar each with its words."""
    row, body = 22, []
    for i, (words, share) in enumerate(shares):
        y = 6 + i * row
        body += [
            words_at(118, y + 13, words, "end", "muted"),
            f"<rect x='126' y='{y}' width='{max(230 * share, 1):.1f}' height='16' fill='{colour_of('ink')}'/>",
            words_at(126 + max(230 * share, 1) + 6, y + 13, f"{share:.0%}".replace("%", " %")),
        ]
    return composed(
        440, 12 + row * len(shares), title, "A bar for each band of width.", body, "shares"
    )


def _image(x: float, y: float, w: float, h: float, picture: bytes, crisp: bool = False) -> str:
    if not picture:
        return ""
    data = base64.b64encode(picture).decode()
    style = " style='image-rendering:pixelated'" if crisp else ""
    return (
        f"<image x='{x:g}' y='{y:g}' width='{w:.1f}' height='{h:.1f}' preserveAspectRatio='none'{style} "
        f"href='data:image/png;base64,{escape(data)}'/>"
    )
