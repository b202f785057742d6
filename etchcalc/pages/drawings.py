"""Pictures composed as SVG text: plate, groove, depth against time.

Composed text is the fastest picture that a slider can move, sharp on a phone
and in print. Colours are custom properties with fallbacks (`COLOURS`), so that
the same picture follows a dark page and stands in the printed record.
"""

import base64
from collections.abc import Sequence
from html import escape

import numpy as np

from etchcalc.core.units import clock

# name: on white, on dark. Each has one meaning: brass is metal, blue is resist and what can be
# moved, brown is etchant and the order, red only for cautions.
COLOURS = {
    "ink": ("#1f2a30", "#e6eaec"),
    "muted": ("#55636b", "#a3b0b7"),
    "blue": ("#31708e", "#7fbcd9"),
    "brown": ("#8c3f12", "#e0824f"),
    "red": ("#a3202a", "#ff8f8f"),
    "brass": ("#d8b968", "#d9b25c"),
    "edge": ("#8f6d1f", "#8f6d1f"),
    "on": ("#1f2a30", "#1f2a30"),
    "paper": ("#ffffff", "#15191c"),
    "soft": ("#f4f2ec", "#20262a"),
    "rule": ("#d5dbde", "#3a444a"),
    "band": ("#e9dfc6", "#5a4f33"),
}


def colour_of(name: str) -> str:
    """Return a colour of `COLOURS` as a picture names it."""
    return f"var(--e-{name},{COLOURS[name][0]})"


def words_at(
    x: float, y: float, words: str, anchor: str = "start", colour: str = "ink", size: float = 12
) -> str:
    """Return words at a place of a picture."""
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' text-anchor='{anchor}' font-size='{size:g}' "
        f"fill='{colour_of(colour)}'>{escape(words)}</text>"
    )


def composed(
    width: float,
    height: float,
    title: str,
    description: str,
    body: list[str],
    name: str,
    role: str = "img",
) -> str:
    """Return a picture of its parts, with what it is in words.

    What is in a picture of the role ``img`` is not told apart: one with a handle is a ``group``.
    """
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:g} {height:g}' role='{role}' "
        f"class='etch-svg etch-{name}' font-family='system-ui, sans-serif'>"
        f"<title>{escape(title)}</title><desc>{escape(description)}</desc>{''.join(body)}</svg>"
    )


PLATE_LEFT, PLATE_FOOT = 102, 46


def plate(
    width: float, height: float, preview: bytes = b"", words: str = ""
) -> tuple[str, dict[str, tuple[float, float]]]:
    """Return the plate in true proportion, and where its sizes stand.

    Parameters
    ----------
    width, height : float
        Finished size, any one unit.
    preview : bytes
        PNG of the face; it is shown as an image, so nothing in it can run.
    words : str
        Title of the picture.

    Returns
    -------
    str
        SVG.
    dict of str to (float, float)
        Centre of the box on each edge, as shares of the picture's width and height.
    """
    room_w, room_h = 390.0, 230.0
    scale = min(room_w / width, room_h / height)
    w, h = width * scale, height * scale
    x, y = PLATE_LEFT + (room_w - w) / 2, 8.0
    total_w, total_h = PLATE_LEFT + room_w + 8, h + y + PLATE_FOOT
    foot, side = y + h + 22, x - 50
    body = [
        f"<rect x='{x:.1f}' y='{y:.1f}' width='{w:.1f}' height='{h:.1f}' fill='{colour_of('brass')}' stroke='{colour_of('edge')}'/>"
    ]
    if preview:
        data = base64.b64encode(preview).decode()
        body.append(
            f"<image x='{x:.1f}' y='{y:.1f}' width='{w:.1f}' height='{h:.1f}' "
            f"preserveAspectRatio='none' href='data:image/png;base64,{data}'/>"
        )
    body.append(
        f"<path d='M{x:.1f} {foot - 8:.1f}v16M{x + w:.1f} {foot - 8:.1f}v16M{x:.1f} {foot:.1f}h{w:.1f}"
        f"M{side - 8:.1f} {y:.1f}h16M{side - 8:.1f} {y + h:.1f}h16M{side:.1f} {y:.1f}v{h:.1f}' "
        f"stroke='{colour_of('muted')}' fill='none'/>"
    )
    places = {
        "plate_width": ((x + w / 2) / total_w, foot / total_h),
        "plate_height": (side / total_w, (y + h / 2) / total_h),
    }
    return composed(
        total_w,
        total_h,
        words or "The plate",
        "The plate in true proportion, its sizes on its edges.",
        body,
        "plate",
    ), places


GROOVE_WIDTH, GROOVE_HEIGHT, FACE = 440, 214, 50
_SCALES = (40, 60, 80, 100, 130, 170, 220, 300, 400, 550, 800, 1200, 1800, 2600)


def groove_scale(line: float, depth: float, room: float = 130) -> int:
    """Return the scale of the groove's picture, one of a few, so that it does not creep."""
    fits = [s for s in _SCALES if line * s <= 300 and depth * s <= room]
    return fits[-1] if fits else _SCALES[0]


def pulled_scale(ordered: float, line: float, depth: float, deepest: float) -> int:
    """Return the scale of a groove that can be pulled: one for all depths that its line can take.

    Were it another from depth to depth, the floor would leave the pointer that has it.

    Parameters
    ----------
    ordered, line, depth, deepest : float
        Width ordered and as it becomes, depth as it is and the deepest that it can be pulled to,
        in mm.
    """
    width = round(ordered, 6)  # it is summed from what changes with the depth
    scale = groove_scale(width, min(deepest, 1.5 * width), 250)
    # out of all proportion to its line, or typed
    return scale if line * scale <= 420 and depth * scale <= 250 else groove_scale(line, depth)


# units high and wide: on a phone, where the picture is 340 to 370 px wide, 44 px or more high
HANDLE_HEIGHT, HANDLE_WIDTH = 58, 120


def _handle(floor: float, scale: float, depth: float, reach: tuple[float, float], says: str) -> str:
    """Return the handle at the groove's floor, by which a live page lets it be pulled."""
    middle = GROOVE_WIDTH / 2
    return (
        f"<g class='etch-drag' role='slider' tabindex='0' aria-label='Depth' aria-valuenow='{depth:.4g}' "
        f"aria-valuemin='{min(depth, reach[0]):.4g}' aria-valuemax='{max(depth, reach[1]):.4g}' "
        f"aria-valuetext='{escape(says)}' data-mm-per-unit='{1 / scale:.4g}'>"
        f"<rect x='{middle - HANDLE_WIDTH / 2:g}' y='{floor - HANDLE_HEIGHT / 2:.1f}' width='{HANDLE_WIDTH}' "
        f"height='{HANDLE_HEIGHT}' rx='6' fill='transparent'/>"
        f"<rect x='{middle - 22:g}' y='{floor - 4:.1f}' width='44' height='8' rx='4' fill='{colour_of('blue')}'/></g>"
    )


def groove(
    *,
    film: float,
    undercut: float,
    depth: float,
    says: dict[str, str],
    wanted: float | None = None,
    reach: tuple[float, float] | None = None,
) -> str:
    """Return the cross-section of the finest line, the same scale across and down.

    Parameters
    ----------
    film, undercut, depth : float
        Film opening, undercut at one edge and depth, in mm.
    says : dict of str to str
        Texts ``film``, ``line``, ``depth``, ``undercut`` with their units.
    wanted : float, optional
        The ordered width in mm where the line becomes wider than that.
    reach : (float, float), optional
        The depths in mm between which a handle at the floor lets it be pulled; without, no handle.
    """
    line = film + 2 * undercut
    ordered = line if wanted is None else wanted
    scale = (
        pulled_scale(ordered, max(line, ordered), depth, reach[1])
        if reach
        else groove_scale(max(line, ordered), depth)
    )
    middle, base = GROOVE_WIDTH / 2, max(GROOVE_HEIGHT - 4, round(FACE + depth * scale) + 30)
    f, u, d = film * scale / 2, undercut * scale, depth * scale
    out, floor = f + u, FACE + d
    # a quarter of an ellipse on each side: kappa of the circle's cubic
    k = 0.5523
    wall = (
        f"M{middle - out:.1f} {FACE}C{middle - out:.1f} {FACE + k * d:.1f} {middle - f - (1 - k) * u:.1f} {floor:.1f} "
        f"{middle - f:.1f} {floor:.1f}H{middle + f:.1f}C{middle + f + (1 - k) * u:.1f} {floor:.1f} "
        f"{middle + out:.1f} {FACE + k * d:.1f} {middle + out:.1f} {FACE}Z"
    )
    inside = out > 62 and d > 34  # else the words would meet the walls or the grip
    body = [
        f"<rect x='0' y='{FACE}' width='{GROOVE_WIDTH}' height='{base - FACE}' fill='{colour_of('brass')}'/>",
        f"<path class='etch-wall' d='{wall}' fill='{colour_of('paper')}' stroke='{colour_of('edge')}'/>",
        f"<rect x='0' y='{FACE - 10}' width='{middle - f:.1f}' height='10' fill='{colour_of('blue')}'/>",
        f"<rect x='{middle + f:.1f}' y='{FACE - 10}' width='{GROOVE_WIDTH - middle - f:.1f}' height='10' fill='{colour_of('blue')}'/>",
        f"<path d='M{middle - f:.1f} {FACE - 13}v-9M{middle + f:.1f} {FACE - 13}v-9M{middle - f:.1f} {FACE - 18}H{middle + f:.1f}' "
        f"stroke='{colour_of('ink')}' fill='none'/>",
        words_at(middle, FACE - 27, says["film"], "middle"),
        words_at(6, FACE - 15, "resist", colour="muted"),
        words_at(6, base - 6, "metal", colour="on"),
    ]
    across = FACE + min(0.36 * d, 40)
    if inside:
        body.append(
            f"<path d='M{middle - out + 2:.1f} {FACE + 5}H{middle + out - 2:.1f}' stroke='{colour_of('ink')}'/>"
        )
        body.append(words_at(middle, max(across, FACE + 19), says["line"], "middle"))
    else:
        body.append(words_at(middle, min(floor + 22, base - 8), says["line"], "middle", "on"))
    right = GROOVE_WIDTH - 92
    deep = f"M{right - 5} {FACE}h10M{right - 5} {floor:.1f}h10M{right} {FACE}V{floor:.1f}"
    # on the metal's colour, be the groove as wide as to come under them
    beside = [
        f"<path d='{deep}' stroke-width='5' fill='none'/>",
        f"<path d='{deep}' stroke='{colour_of('on')}' stroke-width='1' fill='none'/>",
        words_at(right + 10, (FACE + floor) / 2 + 4, says["depth"], colour="on"),
    ]
    if wanted is not None:
        half = wanted * scale / 2
        body.append(
            f"<path class='etch-wanted' d='M{middle - half:.1f} {FACE - 10}V{floor:.1f}M{middle + half:.1f} {FACE - 10}V{floor:.1f}' "
            f"stroke='{colour_of('brown')}' stroke-dasharray='5 3' fill='none'/>"
        )
        beside.append(words_at(8, FACE + 18, says["wanted"], colour="on"))
    body.append(
        f"<g stroke='{colour_of('brass')}' stroke-width='4' paint-order='stroke' "
        f"stroke-linejoin='round'>{''.join(beside)}</g>"
    )
    bar = 0.1 * scale if scale >= 200 else 0.5 * scale
    body.append(
        f"<path d='M{GROOVE_WIDTH - 12 - bar:.1f} {base - 8}h{bar:.1f}' stroke='{colour_of('on')}' stroke-width='3'/>"
    )
    body.append(
        words_at(
            GROOVE_WIDTH - 16 - bar,
            base - 4,
            "0.1 mm" if scale >= 200 else "0.5 mm",
            "end",
            "on",
            11,
        )
    )
    if reach:
        body.append(_handle(floor, scale, depth, reach, says["depth"]))
    title = f"The finest line, cut through: {says['depth']} deep, {says['line']}"
    return composed(
        GROOVE_WIDTH,
        base + 4,
        title,
        f"Same scale across and down. {says['undercut']} on each side.",
        body,
        "groove",
        "group" if reach else "img",
    )


FAN_WIDTH, FAN_HEIGHT = 440, 214
_STEPS = (5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440, 2880, 5760, 14400)


def axis_step(most: float, count: int = 5) -> int:
    """Return the step in minutes of a time axis that ends at `most` minutes."""
    return next((step for step in _STEPS if most / step <= count), _STEPS[-1])


def fan(
    *,
    depths,
    early,
    middle,
    late,
    ordered: float,
    gauge: float,
    says: dict[str, str],
    ticks: list[tuple[float, str]],
    points: Sequence[tuple[float, float]] = (),
    before: Sequence = (),
) -> str:
    """Return depth against time with its range.

    Parameters
    ----------
    depths : array of shape (n,)
        In mm, rising from near 0 to beyond what is ordered.
    early, middle, late : arrays of shape (n,)
        Minutes to those depths: 5 %, middle and 95 % of the ways.
    ordered : float
        Depth in mm.
    gauge : float
        Minutes at which to lift and gauge.
    says : dict of str to str
        Texts ``ordered`` and ``gauge``.
    ticks : list of (float, str)
        Depth axis: mm and what stands there.
    points : list of (float, float)
        Gauge readings: minutes and depth in mm.
    before : sequence of arrays of shape (n,)
        Minutes to those depths at the ends of the range before any reading.
    """
    depths, early, middle, late = (
        np.asarray(a, dtype=float) for a in (depths, early, middle, late)
    )
    left, right, top, base = 50.0, FAN_WIDTH - 14.0, 14.0, FAN_HEIGHT - 28.0
    at = [float(np.interp(ordered, depths, line)) for line in (early, middle, late)]
    most = max(at[2] * 1.06, gauge * 1.1)
    high = float(depths[-1])

    def x(minutes):
        return left + (right - left) * np.minimum(minutes, most) / most

    def y(depth):
        return base - (base - top) * np.minimum(depth, high) / high

    def line(minutes):
        # a line that leaves the picture at the right ends where it leaves
        grid = np.interp(np.minimum(minutes, most), minutes, depths)
        return [(left, base), *zip(x(minutes), y(grid), strict=True)]

    def path(points) -> str:
        return "L".join(f"{px:.1f} {py:.1f}" for px, py in points)

    order, start, end = float(y(ordered)), float(x(at[0])), float(x(at[2]))
    at_gauge = float(x(gauge))
    band = path([*line(early), (right, float(y(high))), *reversed(line(late))])
    body = [
        f"<path d='M{left} {float(y(d)):.1f}H{right}' stroke='{colour_of('rule')}'/>"
        for d, _ in ticks
    ]
    body += [words_at(left - 6, float(y(d)) + 4, t, "end", "muted") for d, t in ticks]
    step = axis_step(most)
    for minute in range(0, int(most) + 1, step):
        body.append(
            words_at(float(x(minute)), base + 18, axis_words(minute, step), "middle", "muted")
        )
    body += [
        f"<path class='etch-band' d='M{band}Z' fill='{colour_of('blue')}' opacity='.18'/>",
        f"<path class='etch-middle' d='M{path(line(middle))}' fill='none' stroke='{colour_of('blue')}' stroke-width='2'/>",
        f"<path d='M{left} {order:.1f}H{right}' stroke='{colour_of('brown')}' stroke-dasharray='5 3'/>",
        f"<path class='etch-done' d='M{start:.1f} {order:.1f}H{end:.1f}' stroke='{colour_of('brown')}' stroke-width='5' opacity='.6'/>",
        f"<path class='etch-gauge' d='M{at_gauge:.1f} {base:.1f}V{order + 4:.1f}' stroke='{colour_of('ink')}'/>"
        f"<path d='M{at_gauge - 5:.1f} {order + 11:.1f}l5 -8l5 8z' fill='{colour_of('ink')}'/>",
        *(
            f"<path class='etch-before' d='M{path(line(np.asarray(end, dtype=float)))}' fill='none' "
            f"stroke='{colour_of('muted')}' stroke-dasharray='2 4'/>"
            for end in before
        ),
        *(
            f"<circle class='etch-reading' cx='{float(x(t)):.1f}' cy='{float(y(d)):.1f}' r='4' fill='{colour_of('ink')}'/>"
            for t, d in points
        ),
    ]
    near_end = at_gauge + 7 + 7.2 * len(says["gauge"]) > FAN_WIDTH
    words = [
        words_at(left + 4, order - 6, says["ordered"]),
        words_at(end - 2, order + 16, "done", "end", "brown"),
        words_at(
            at_gauge + (-7 if near_end else 7),
            base - 8,
            says["gauge"],
            "end" if near_end else "start",
        ),
    ]
    # a rim in the ground's colour: no line strikes the words through
    body.append(
        f"<g stroke='{colour_of('paper')}' stroke-width='3' paint-order='stroke' "
        f"stroke-opacity='.8' stroke-linejoin='round'>{''.join(words)}</g>"
    )
    title = f"Depth against time: {says['gauge']}, {says['ordered']}"
    text = f"Done between {clock(at[0])} and {clock(at[2])}, at about {clock(at[1])}; nine jobs in ten lie in the band."
    if len(before):
        text += " Dotted: the range before any reading."
    return composed(FAN_WIDTH, FAN_HEIGHT, title, text, body, "fan")


def axis_words(minute: int, step: int) -> str:
    """Return what stands at a tick of a time axis whose ticks are `step` minutes apart."""
    if minute == 0:
        return "0"
    return f"{minute // 60} h" if step % 60 == 0 else f"{minute} min"


def with_words(picture: str, words: list[tuple[tuple[float, float], str]]) -> str:
    """Return a picture with texts at shares of its width and height, on a plain ground."""
    box = picture.split("viewBox='0 0 ")[1].split("'")[0].split()
    width, height = float(box[0]), float(box[1])
    marks = []
    for (x, y), text in words:
        half = 3.6 * len(text) + 4
        marks.append(
            f"<rect x='{x * width - half:.1f}' y='{y * height - 9:.1f}' width='{2 * half:.1f}' height='18' "
            f"fill='{colour_of('paper')}'/>"
        )
        marks.append(words_at(x * width, y * height + 4, text, "middle"))
    return picture.replace("</svg>", "".join(marks) + "</svg>")
