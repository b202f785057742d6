"""Plots by matplotlib, as SVG text: the only importer of matplotlib.

They follow a moment after the composed pictures, since drawing one takes
longer than a slider may wait. Colours become the page's own, so that a plot
follows a dark page.
"""

import io
from typing import Any

import matplotlib
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from etchcalc.core.units import CELSIUS, KINDS, Quantity
from etchcalc.job.plan import Plan
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
COLDEST, HOTTEST = 15.0, 60.0


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
        figure = Figure(figsize=(6.2, 2.9), layout="constrained")
        axes = figure.add_subplot()
        axes.fill_between(x, low, high, color=_BLUE, alpha=0.18, linewidth=0)
        axes.plot(x, middle, color=_BLUE, linewidth=2)
        axes.axvline(shown, color=_BROWN, linestyle="--", linewidth=1)
        axes.plot([shown], [plan.number("etch_time")], "o", color=_INK, markersize=5)
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
