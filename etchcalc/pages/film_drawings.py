"""The film's pictures, composed as SVG: the plate with its marks, a close look, the shares by width."""

import base64
from collections.abc import Sequence
from html import escape

from etchcalc.pages.drawings import colour_of, composed, words_at

Mark = tuple[float, float, str, str]  # across and down in mm, label, colour


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
    room_w, room_h, edge = 900.0, 460.0, 16.0
    scale = min(room_w / width, room_h / height)
    w, h = width * scale, height * scale
    body = [
        f"<rect x='{edge}' y='{edge}' width='{w:.1f}' height='{h:.1f}' fill='{colour_of('brass')}' stroke='{colour_of('edge')}'/>",
        _image(edge, edge, w, h, picture),
    ]
    for across, down, label, colour in marks:
        x, y = edge + across * scale, edge + down * scale
        side = -1 if x > edge + w - 60 else 1
        body.append(
            f"<circle cx='{x:.1f}' cy='{y:.1f}' r='14' fill='none' stroke='{colour_of('paper')}' stroke-width='6'/>"
            f"<circle cx='{x:.1f}' cy='{y:.1f}' r='14' fill='none' stroke='{colour_of(colour)}' stroke-width='3'/>"
            f"<rect x='{x + (17 if side > 0 else -49):.1f}' y='{y - 15:.1f}' width='32' height='30' rx='4' fill='{colour_of('paper')}'/>"
        )
        body.append(words_at(x + side * 33, y + 9, label, "middle", colour, 26))
    says = "The plate in true proportion: ink is open on the film, brown what the undercut adds, red what is lost."
    return composed(w + 2 * edge, h + 2 * edge, title, says, body, "marked")


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
