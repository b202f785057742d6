"""Plots by matplotlib, as SVG text: the only importer of matplotlib.

They follow a moment after the composed pictures, since drawing one takes
longer than a slider may wait. Colours become the page's own, so that a plot
follows a dark page.
"""

import io
import warnings
from typing import Any

import matplotlib
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from etchcalc.core.units import CELSIUS, KINDS, SYSTEMS, Quantity, show
from etchcalc.core.vocabulary import term
from etchcalc.job.plan import Plan
from etchcalc.job.rate_map import rate_map
from etchcalc.job.what_if import against
from etchcalc.pages.drawings import COLOURS, axis_step, axis_words

# a fixed salt and no date: the same figure is the same file
_STYLE: Any = {
    "svg.hashsalt": "etchcalc",
    "svg.fonttype": "none",
    "font.family": "sans-serif",
    "font.size": 9,
    "axes.spines.top": False,
    "axes.spines.right": False,
}
_INK, _MUTED, _BLUE, _BROWN = (COLOURS[name][0] for name in ("ink", "muted", "blue", "brown"))
_WIDE = 4.6  # inches: about as wide as a phone, so that the words keep their size there
COLDEST, HOTTEST = 15.0, 60.0
_MOST_JOBS, _LONGEST = 12, 28  # of a plot of jobs; letters of a title
_CURVES: Any = {20.0: ":", 30.0: "-.", 40.0: "--", 50.0: (0, (9, 2))}


def time_against_temperature(plan: Plan) -> str:
    """Return the plot of etching time against the bath's temperature, with its range.

    Parameters
    ----------
    plan : Plan
        Its own temperature is marked; the rest stays as it is.

    Returns
    -------
    str
        SVG.
    """
    celsius = np.linspace(COLDEST, HOTTEST, 10)
    low, middle, high = against(plan, "temperature", celsius, "etch_time")
    degrees = KINDS["temperature"].unit(plan.commission.units)
    shown = plan.middle("temperature").to(degrees).magnitude
    x = Quantity(celsius, CELSIUS).to(degrees).magnitude
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDE, 2.9), layout="constrained")
        axes = figure.add_subplot()
        axes.fill_between(x, low, high, color=_BLUE, alpha=0.18, linewidth=0)
        axes.plot(x, middle, color=_BLUE, linewidth=2)
        axes.axvline(shown, color=_BROWN, linestyle="--", linewidth=1)
        axes.plot([shown], [plan.number("etch_time")], "o", color=_INK, markersize=5)
        own = show(plan.middle("temperature"), "temperature", plan.commission.units)
        _beside(axes, f"this job, {own}", (shown, plan.number("etch_time")), (6, 5), _BROWN)
        axes.set_title("shaded: nine jobs in ten", loc="right", fontsize=9, color=_MUTED)
        axes.set_xlabel(
            f"bath temperature, {'°F' if plan.commission.units == 'US' else '°C'}", color=_INK
        )
        axes.set_ylabel("time to the ordered depth", color=_INK)
        axes.set_ylim(0, float(high.max()) * 1.02)
        step = axis_step(float(high.max()), 6)
        axes.set_yticks(np.arange(0, float(high.max()) * 1.02, step))
        axes.yaxis.set_major_formatter(lambda minutes, _: axis_words(round(minutes), step))
        axes.tick_params(colors=_MUTED)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(_MUTED)
        title = "If the bath is colder or warmer: time to the ordered depth, nine jobs in ten in the band"
        return _text_of(figure, title)


def rate_against_strength(plan: Plan) -> str:
    """Return the plot of the rate of a fresh bath against its strength, at some temperatures.

    Parameters
    ----------
    plan : Plan
        Its own temperature has its curve, in the place of one that would lie close by.

    Returns
    -------
    str
        SVG. The thick stretch of each curve is within 5 % of its best.
    """
    system = plan.commission.units
    own, strength = plan.number("temperature"), plan.number("strength")
    dashes = {own: "-", **{c: dash for c, dash in _CURVES.items() if abs(c - own) > 4}}
    grams = np.linspace(min(200, strength), max(900, strength), 71)
    found = rate_map(plan, grams, sorted(dashes))
    thick: Any = {"linewidth": 7, "alpha": 0.3, "solid_capstyle": "butt"}

    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(_WIDE, 3.3), layout="constrained")
        axes = figure.add_subplot()
        for celsius, rates, band in zip(found.temperatures, found.rates, found.best, strict=True):
            colour, words = (_BROWN, ", this job") if celsius == own else (_BLUE, "")
            words = show(term("temperature").quantity(celsius), "temperature", system) + words
            best = np.clip(np.linspace(*band, 40), grams[0], grams[-1])
            axes.plot(*_place(plan, best, np.interp(best, grams, rates)), color=colour, **thick)
            x, y = _place(plan, grams, rates)
            axes.plot(x, y, color=colour, linestyle=dashes[celsius], linewidth=1.5)
            _beside(axes, words, (x[-1], y[-1]), (5, 0), colour, ha="left", va="center")
        job = _place(plan, strength, plan.number("fresh_rate"))
        axes.plot(*job, "o", color=_INK, markersize=5, clip_on=False)
        hottest = _place(plan, grams[found.rates[-1].argmax()], found.rates[-1].max())
        words = "thick: within 5 % of the best at that temperature"
        _beside(axes, words, hottest, (0, 8), _MUTED, ha="center", va="bottom")
        crystals, rate = (KINDS[kind].words[SYSTEMS.index(system)] for kind in ("strength", "rate"))
        axes.set_xlabel(f"crystals in the etchant, {crystals}", color=_INK)
        axes.set_ylabel(f"mean rate of the finest line, {rate}", color=_INK)
        axes.set_xlim(x[0], x[-1])
        axes.set_ylim(0, 1.1 * hottest[1])
        axes.tick_params(colors=_MUTED)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(_MUTED)
        return _text_of(figure, "How strong a fresh bath etches fastest, at some temperatures")


def past_forecasts(rows: list[dict[str, Any]]) -> str:
    """Return the plot of what past jobs took against what was foretold, each over its own middle.

    Parameters
    ----------
    rows : list of dict
        As `etchcalc.job.memory.forecasts` gives them, one or more, the oldest first; the last
        twelve are drawn.

    Returns
    -------
    str
        SVG: a bar from early to late and a dot for what it took, hollow where it lies outside.
    """
    rows = rows[-_MOST_JOBS:]
    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph")  # of a title; the page's own font has it
        figure = Figure(figsize=(_WIDE, 1.0 + 0.27 * len(rows)), layout="constrained")
        axes = figure.add_subplot()
        for y, row in enumerate(rows):
            ends = [row[end] / row["middle"] for end in ("early", "late")]
            axes.plot(ends, [y, y], color=_BLUE, linewidth=7, alpha=0.3, solid_capstyle="butt")
            face = _INK if row["within"] else "none"
            axes.plot(row["share"], y, "o", color=_INK, markerfacecolor=face, markersize=6)
        axes.axvline(1, color=_BLUE, linewidth=1)
        names = [_short(row["title"]) for row in rows]
        axes.set_yticks(range(len(rows)), names, parse_math=False)
        axes.set_ylim(-0.6, len(rows) - 0.4)
        axes.set_xlim(left=0)
        axes.set_xlabel("what it took over what was foretold; bar: nine jobs in ten", color=_INK)
        axes.tick_params(colors=_MUTED)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(_MUTED)
        inside = sum(row["within"] for row in rows)
        title = (
            f"How good past forecasts were: {inside} of {len(rows)} jobs within the range foretold"
        )
        return _text_of(figure, title)


def _short(title: str) -> str:
    """Return a title for an axis: printable, short."""
    plain = "".join(c if c.isprintable() else " " for c in title)
    return plain if len(plain) <= _LONGEST else f"{plain[: _LONGEST - 1]}…"


def _place(plan: Plan, strengths, rates) -> tuple:
    """Return g/L and µm/min as numbers in the units of a commission."""
    return tuple(
        term(name).quantity(values).to(KINDS[kind].unit(plan.commission.units)).magnitude
        for name, kind, values in (
            ("strength", "strength", strengths),
            ("fresh_rate", "rate", rates),
        )
    )


def _beside(axes, words: str, point: tuple, away: tuple, colour: str, **aligned: str) -> None:
    axes.annotate(
        words,
        point,
        away,
        textcoords="offset points",
        color=colour,
        annotation_clip=False,
        **aligned,
    )


def _text_of(figure: Figure, title: str) -> str:
    """Return a figure as SVG text with a title, a transparent ground and the page's colours."""
    figure.patch.set_visible(False)
    for axes in figure.axes:
        axes.patch.set_visible(False)
    file = io.StringIO()
    FigureCanvasSVG(figure).print_svg(file, metadata={"Date": None, "Title": title})
    text = file.getvalue()
    text = text[text.index("<svg") :]
    for name in ("ink", "muted", "blue", "brown"):
        text = text.replace(COLOURS[name][0], f"var(--e-{name},{COLOURS[name][0]})")
    start = text.index(">") + 1
    opening = text[:start].replace("<svg ", "<svg class='etch-svg etch-plot' role='img' ")
    return f"{opening}<title>{title}</title>{text[start:]}"
