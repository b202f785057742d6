"""The bath's log: its name, its entries, the button that enters this job."""

from collections.abc import Callable
from datetime import date
from html import escape
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.job.plan import Plan
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Word, field, html, kept

TOPPING = {
    "taken_out": ("Taken out", "a share, such as 20 %"),
    "crystals": ("Crystals put in", "such as 500 g"),
    "water": ("Water put in", "such as 300 g"),
}

TOPPED = "<h3>Topped up</h3><p>Not the water that only makes good what evaporated.</p>"


class BathLog:
    """What the log of a bath says, and the way to enter a job in it.

    Parameters
    ----------
    changed : callable
        Called with (name, text, control) when the bath's name was typed.
    enter : callable
        Called with the day, as 2026-02-01; enters the job and returns the sentence to show.
    top_up : callable
        Called with what was taken out and put in, as typed, and the day; enters it and returns the
        sentence, or raises BadInput.
    """

    def __init__(
        self,
        changed: Callable,
        enter: Callable[[str], str],
        top_up: Callable[[dict[str, str], str], str],
    ):
        self._top_up = top_up
        self.name = Word("bath_name", changed, "Its name")
        self.list, self.entered = html("etch-small"), html("etch-small etch-saved")
        button = widgets.Button(description="Enter this job in the log", classes="etch-plain")
        button.on_click(lambda _: self._said(enter(_today())))
        buttons = widgets.HBox([button, self.entered], classes="etch-foot")
        name = field(self.name, "as on the bottle")
        self.topping = {key: Word(key, kept, words) for key, (words, _) in TOPPING.items()}
        rows = [field(box, TOPPING[key][1]) for key, box in self.topping.items()]
        self.put_in = widgets.Button(description="Enter what was put in", classes="etch-plain")
        self.put_in.on_click(lambda _: self._on_put_in())
        self.topped = html("etch-small etch-saved")
        self.body = widgets.VBox(
            [
                name,
                self.list,
                buttons,
                html("", TOPPED),
                widgets.VBox(rows, classes="etch-grid"),
                widgets.HBox([self.put_in, self.topped], classes="etch-foot"),
            ],
            classes="etch-body",
        )

    def _said(self, sentence: str) -> None:
        self.entered.value = sentence

    def _on_put_in(self) -> None:
        said = {key: box.box.value.strip() for key, box in self.topping.items()}
        try:
            self.topped.value = escape(self._top_up(said, _today()))
        except BadInput as fault:  # what was typed stays
            self.topped.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return
        for box in self.topping.values():
            box.put("")

    def show(self, root: Path, plan: Plan) -> None:
        """Show the entries of the log that a plan's commission names."""
        commission = plan.commission
        self.list.value = texts.log_html(root, commission.words["bath_name"], commission.units)


def _today() -> str:
    return date.today().isoformat()
