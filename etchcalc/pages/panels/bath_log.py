"""The bath's log: its name, its entries, the button that enters this job."""

from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from etchcalc.job.plan import Plan
from etchcalc.pages.panels import texts
from etchcalc.pages.panels.controls import Word, field, html, styled


class BathLog:
    """What the log of a bath says, and the way to enter a job in it.

    Parameters
    ----------
    changed : callable
        Called with (name, text, control) when the bath's name was typed.
    enter : callable
        Enters the job and returns the sentence to show.
    """

    def __init__(self, changed: Callable, enter: Callable[[], str]):
        self.name = Word("bath_name", changed, "Its name")
        self.list, self.entered = html("etch-small"), html("etch-small etch-saved")
        button = styled(widgets.Button(description="Enter this job in the log"), "etch-plain")
        button.on_click(lambda _: self._said(enter()))
        buttons = styled(widgets.HBox([button, self.entered]), "etch-foot")
        name = field(self.name, "as on the bottle")
        self.body = styled(widgets.VBox([name, self.list, buttons]), "etch-body")

    def _said(self, sentence: str) -> None:
        self.entered.value = sentence

    def show(self, root: Path, plan: Plan) -> None:
        """Show the entries of the log that a plan's commission names."""
        commission = plan.commission
        self.list.value = texts.log_html(root, commission.words["bath_name"], commission.units)
