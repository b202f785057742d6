"""The day by the clock as a picture: what the hands do, what waits, when to look into the tray.

Told apart by shape, not by colour: filled and outlined bars, and a sign for each sort of mark.
"""

from collections.abc import Callable, Sequence
from textwrap import wrap

from etchcalc.job.day_sheet import Call
from etchcalc.job.day_sheet import Day as Job
from etchcalc.pages.drawings import axis_step, colour_of, composed, words_at

Mark = tuple[float, str]  # minute; "tilt", "look" or "lift"
Entry = tuple[str, float, float, bool, Sequence[Mark]]  # what, begin, end, hands on, marks

WIDTH, LEFT, RIGHT = 440.0, 10.0, 430.0
_TOP, _LINE, _BAR, _LETTER, _IN = 54.0, 14.0, 12.0, 6.6, 5.0
DAY = 24 * 60
# The words of the picture; a caller may say others.
SAYS = {
    "title": "The day by the clock",
    "hands": "hands busy",
    "waits": "waits, hands free",
    "tilt": "tilt",
    "look": "look",
    "lift": "lift and gauge",
    "opens": "opens",
    "closes": "closes",
}


def entries(job: Job) -> list[Entry]:
    """Return a laid-out day as plain entries, in minutes from midnight before its first begin."""
    first = job.begin.astimezone(job.zone)
    start = first.hour * 60 + first.minute + first.second / 60

    def minute(instant) -> float:
        return start + (instant - job.begin).total_seconds() / 60

    return [
        (e.what, minute(e.begin), minute(e.end), e.hands_on, [(minute(c.at), _sort(c)) for c in e.calls])
        for e in job.entries
    ]  # fmt: skip


def _sort(call: Call) -> str:
    what = call.what.lower()
    return "lift" if "lift" in what else "look" if "look: " in what else "tilt"


def clock(minute: float) -> str:
    """Return what the clock shows, minutes from any midnight, such as "09:30"."""
    whole = round(minute) % DAY
    return f"{whole // 60:02d}:{whole % 60:02d}"


def day(entries: Sequence[Entry], opens: float, closes: float, says: dict[str, str]) -> str:
    """Return the day's bars along the clock, a row for each thing that is done.

    Parameters
    ----------
    entries : sequence of (str, float, float, bool, sequence of (float, str))
        What, begin and end in minutes from the first midnight, whether the hands are busy, marks
        as minute and "tilt", "look" or "lift". What is done more than once shares a row.
    opens, closes : float
        Of the shop, minutes from midnight.
    says : dict of str to str
        As `SAYS`.
    """
    rows = _rows(entries)
    begin = min((e[1] for e in entries), default=opens)
    end = max((e[2] for e in entries), default=closes)
    first, last = _whole_hours(begin, max(end, closes))

    def x(minute: float) -> float:
        return LEFT + (RIGHT - LEFT) * (minute - first) / (last - first)

    bars, foot = [], _TOP
    for parts in rows.values():
        row, foot = _row(x, foot, parts)
        bars += row
    body = [
        *_axis(x, first, last, foot, (opens, closes)),
        *_hours(x, (first, last), opens, closes, foot, says),
        *bars,
    ]
    words, height = _keys(foot + 24, entries, says)
    spans = f"From {clock(begin)} to {clock(end)}." if entries else "Nothing to do."
    return composed(WIDTH, height, says["title"], _told(rows, spans), body + words, "day")


def _rows(entries: Sequence[Entry]) -> dict[str, list[Entry]]:
    """Return the entries by what is done, in the order in which each is begun."""
    rows: dict[str, list[Entry]] = {}
    for entry in sorted(entries, key=lambda e: (e[1], e[2])):
        rows.setdefault(entry[0], []).append(entry)
    return rows


def _whole_hours(begin: float, end: float) -> tuple[float, float]:
    """Return the whole hours round a time: at least one."""
    first = begin // 60 * 60
    return first, max(-(-end // 60) * 60, first + 60)


def _told(rows: dict[str, list[Entry]], spans: str) -> str:
    """Return the picture in words."""
    parts = [f"{what}: {_times(found)}" for what, found in rows.items()]
    return " ".join([spans, *(f"{part}." for part in parts)])


def _times(parts: list[Entry]) -> str:
    """Return from when to when; of what is done more than once, how often too."""
    begin, end = parts[0][1], parts[-1][2]
    later = f"day {int(begin // DAY) + 1}, " if begin >= DAY else ""
    often = f"{len(parts)} times, " if parts[1:] else ""
    return f"{later}{often}{clock(begin)}–{clock(end)}"


def _lines(what: str, times: str) -> list[str]:
    """Return what is done in lines: the first leaves room for the times beside it."""
    across = int((RIGHT - LEFT - _IN) / _LETTER)
    return wrap(what, across, initial_indent=" " * (len(times) + 2)) or [""]


def _row(x: Callable[[float], float], top: float, parts: list[Entry]) -> tuple[list[str], float]:
    """Return one row, its words over its bars, and where it ends."""
    times = _times(parts)
    lines = _lines(parts[0][0], times)
    words = [words_at(LEFT + _IN, top + i * _LINE, line.strip()) for i, line in enumerate(lines, 1)]
    words.append(words_at(RIGHT, top + _LINE, times, "end", "muted"))
    # a rim in the ground's colour: the lines of the clock do not strike the words through
    rim = f"stroke='{colour_of('paper')}' stroke-width='4' paint-order='stroke'"
    body = [f"<g {rim} stroke-linejoin='round'>{''.join(words)}</g>"]
    bar = top + len(lines) * _LINE + 5
    for _, begin, end, hands, marks in parts:
        body.append(_bar(x(begin), bar, x(end) - x(begin), hands))
        body += [_mark(sort, x(minute), bar) for minute, sort in marks]
    return body, bar + _BAR + 7


def _bar(x: float, y: float, w: float, hands: bool) -> str:
    """Return a bar: filled where the hands are busy, else outlined and hatched."""
    name = "hands" if hands else "waits"
    rect = (
        f"<rect class='etch-{name}' x='{x:.2f}' y='{y:.1f}' width='{w:.2f}' height='{_BAR:g}' "
        f"fill='{colour_of('ink' if hands else 'paper')}' stroke='{colour_of('ink')}' stroke-width='1'/>"
    )
    if hands or w < _BAR:
        return rect
    strokes = "".join(
        f"M{x + i * 8 + 2:.2f} {y + _BAR:.1f}l6 -{_BAR:g}" for i in range(int((w - 8) / 8) + 1)
    )
    return rect + f"<path d='{strokes}' stroke='{colour_of('muted')}' fill='none'/>"


def _mark(sort: str, x: float, y: float) -> str:
    """Return the sign of a mark on its bar: a tick, a ring, a triangle that points up."""
    ink, paper = colour_of("ink"), colour_of("paper")
    middle = y + _BAR / 2
    if sort == "look":
        return f"<circle class='etch-look' cx='{x:.2f}' cy='{middle:.1f}' r='4' fill='{paper}' stroke='{ink}' stroke-width='1.5'/>"
    if sort == "lift":
        return (
            f"<path class='etch-lift' d='M{x:.2f} {y - 1:.1f}l6 {_BAR + 2:g}h-12z' fill='{paper}' "
            f"stroke='{ink}' stroke-width='1.5'/>"
        )
    return f"<path class='etch-tilt' d='M{x:.2f} {y + 1:.1f}v{_BAR - 2:g}' stroke='{ink}' stroke-width='1.5'/>"


# ---- the clock


def _axis(
    x: Callable[[float], float], first: float, last: float, foot: float, struck: tuple[float, float]
) -> list[str]:
    """Return the hours: lines from top to foot, and what the clock shows at both ends of them.

    At the top it is left out where the line of one of the minutes `struck` would go through it.
    """
    step = axis_step(last - first, 7)
    ticks = [m for m in range(int(first), int(last) + 1) if m % step == 0]
    body = []
    for minute in ticks:
        at, words = x(minute), f"day {minute // DAY + 1}" if step >= DAY else clock(minute)
        body.append(f"<path d='M{at:.2f} {_TOP - 4:.1f}V{foot:.1f}' stroke='{colour_of('rule')}'/>")
        anchor = "start" if at < LEFT + 14 else "end" if at > RIGHT - 14 else "middle"
        lines = [x(when + day * DAY) for when in struck for day in range(int(last) // DAY + 1)]
        free = all(abs(line - at) > 18 for line in lines)
        ends = (_TOP - 8, foot + 13) if free else (foot + 13,)
        body += [words_at(at, y, words, anchor, "muted", 11) for y in ends]
    return body


def _hours(
    x: Callable[[float], float],
    span: tuple[float, float],
    opens: float,
    closes: float,
    foot: float,
    says: dict[str, str],
) -> list[str]:
    """Return opening and closing time of every day that the picture shows, as lines with words."""
    body = []
    for name, minute, row in (("opens", opens, 26), ("closes", closes, 12)):
        days = [minute + i * DAY for i in range(int(span[1]) // DAY + 1)]
        shown = [x(when) for when in days if span[0] <= when <= span[1]]
        dash = "2 3" if name == "opens" else "7 3"
        line = "".join(f"M{at:.2f} {row - 10}V{foot:.1f}" for at in shown)
        if not shown:
            continue
        late = shown[0] > WIDTH / 2
        words = f"{says[name]} {clock(minute)}"
        body += [
            f"<path class='etch-{name}' d='{line}' stroke='{colour_of('brown')}' stroke-width='2' stroke-dasharray='{dash}'/>",
            words_at(shown[0] + (-5 if late else 5), row, words, "end" if late else "start", "brown"),
        ]  # fmt: skip
    return body


# ---- what is what


def _keys(top: float, entries: Sequence[Entry], says: dict[str, str]) -> tuple[list[str], float]:
    """Return what bars and marks mean, and where the picture ends."""
    seen = {sort for entry in entries for _, sort in entry[4]}
    keys = [
        ("hands", _bar(0, 0, 22, True)),
        ("waits", _bar(0, 0, 22, False)),
        *((sort, _mark(sort, 11, 0)) for sort in ("tilt", "look", "lift") if sort in seen),
    ]
    body, x, y = [], LEFT, top
    for name, sample in keys:
        wide = 28 + len(says[name]) * _LETTER + 18
        if x + wide > RIGHT and x > LEFT:
            x, y = LEFT, y + 20
        body.append(f"<g class='etch-key' transform='translate({x:.1f} {y:.1f})'>{sample}</g>")
        body.append(words_at(x + 28, y + 10, says[name]))
        x += wide
    return body, round(y + 22)
