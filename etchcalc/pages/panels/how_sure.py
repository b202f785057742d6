"""How sure: what may go wrong, what to measure better, and a map over any two inputs."""

from collections.abc import Callable
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import term
from etchcalc.job import better, chances, maps, opening
from etchcalc.job.plan import Plan
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import html

# What a map can show: words, the result, what is taken off it, whether it must be above nothing.
SHOWN = {
    "time to the depth": "etch_time",
    "depth that the line still takes": "",
    "film width": "film_line",
    "rate": "etch_rate",
    "crystals to weigh": "etchant_crystals",
    "plates to come": "plates_to_come",
}
LEAST, SIDE = 0.005, 60  # narrowing worth saying; settings along each side of the map


def said(plan: Plan) -> list[str]:
    """Return the chances of a plan, and what would narrow its time and its undercut most."""
    lines = [chance.text for chance in chances.chances(plan, opening.minutes_left(plan))]
    for of in ("etch_time", "undercut"):
        lines += [found.text for found in better.ranked(plan, of)[:3] if found.narrowing > LEAST]
    return lines


class HowSure:
    """The chances, and the ranked list of what to measure better, each with a bar."""

    def __init__(self) -> None:
        self.body = html("etch-body")

    def show(self, plan: Plan) -> None:
        """Show them for a plan."""
        left = opening.minutes_left(plan)
        told = "".join(f"<li>{escape(c.text)}</li>" for c in chances.chances(plan, left))
        self.body.value = (
            f"<ul>{told}</ul><h3>What should I measure better?</h3>"
            f"{_bars(plan, 'etch_time')}{_bars(plan, 'undercut')}"
        )


def _bars(plan: Plan, of: str) -> str:
    found = [b for b in better.ranked(plan, of) if b.narrowing > LEAST][:4]
    if not found:
        return f"<p>Nothing that can be measured narrows the {escape(term(of).words)} much.</p>"
    rows = "".join(
        f"<tr><td>{escape(b.text)}</td><td><div class='etch-narrows' style='width:{100 * b.narrowing:.0f}%'></div></td></tr>"
        for b in found
    )
    return f"<table class='etch-table etch-better'>{rows}</table>"


class AMap:
    """Any two inputs over a grid, one result out, drawn when it is asked for.

    Parameters
    ----------
    current : callable
        Returns the plan.
    """

    def __init__(self, current: Callable[[], Plan]):
        self._current, self._drawn = current, False
        inputs = {term(name).words: name for name in maps.SLIDERS}
        self.across, self.up, self.shows = (
            widgets.Dropdown(
                description=words, options=options, value=value, classes="etch-question"
            )
            for words, options, value in (
                ("Across", inputs, "temperature"),
                ("Up", inputs, "strength"),
                ("It shows the", SHOWN, "etch_time"),
            )
        )
        for choice in (self.across, self.up, self.shows):
            choice.observe(lambda _: self.draw(), "value")
        button = widgets.Button(description="Draw the map", classes="etch-plain")
        button.on_click(lambda _: self.draw())
        self.says, self.picture = html(), html("etch-one-picture")
        grid = widgets.VBox([self.across, self.up, self.shows, button], classes="etch-grid")
        self.body = widgets.VBox([grid, self.says, self.picture], classes="etch-body")

    def draw(self) -> None:
        """Draw the map of the present plan, or say in one sentence why there is none."""
        from etchcalc.pages import map_figures  # matplotlib: loaded when it is asked for

        plan = self._current()
        try:
            found = self._mapped(plan)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            self.picture.value = ""
            return
        self._drawn = True
        self.says.value = f"<p>{escape(maps.said(found, plan.commission.units))}</p>"
        self.picture.value = map_figures.map_plot(found, plan)

    def _mapped(self, plan: Plan) -> maps.Map:
        across, up, shows = self.across.value, self.up.value, self.shows.value
        if shows:
            return maps.mapped(plan, across, up, shows, columns=SIDE, rows=SIDE)
        return maps.survives(plan, across, up, columns=SIDE, rows=SIDE)

    def show(self) -> None:
        """Draw it again where it was drawn before."""
        if self._drawn:
            self.draw()
