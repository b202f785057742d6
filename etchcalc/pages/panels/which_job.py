"""Which job: its title and client, another one of the shop, a new one."""

from collections.abc import Callable
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.job.commission import Commission
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Word, field, html

WORDS = {
    "title": ("Name of the job", "as it stands on its papers"),
    "client": ("Client", ""),
    "due": ("Wanted by", "such as 2027-03-26"),
    "notes": ("Notes", ""),
}


class WhichJob:
    """Boxes for what the job is called, and the ways to another.

    Parameters
    ----------
    shop : Shop
    changed : callable
        Called with (name, text, control) when a word was typed.
    turn : callable
        Called with the folder name of the job to turn to.
    """

    def __init__(self, shop: Shop, changed: Callable, turn: Callable[[str], None]):
        self._shop, self._turn = shop, turn
        self.boxes = {name: Word(name, changed, words) for name, (words, _) in WORDS.items()}
        rows = [field(self.boxes[name], hint) for name, (_, hint) in WORDS.items()]
        self.others = widgets.Dropdown(
            description="Go to", options=[], classes="etch-question etch-in-job"
        )
        self.others.observe(self._chosen, "value")
        self.title = Word("new_title", self._begin, "Begin a new job")
        self.says = html("etch-say")
        begin = widgets.VBox(
            [field(self.title, "its name, then Enter"), self.says], classes="etch-field"
        )
        self.body = widgets.VBox(
            [*rows, widgets.VBox([self.others], classes="etch-field"), begin], classes="etch-grid"
        )
        self._quiet = False

    def _chosen(self, change) -> None:
        if not self._quiet and change["new"]:
            self._go(change["new"])

    def _begin(self, name: str, text: str, control: Word) -> None:
        if not text.strip():
            return
        try:
            begun = self._shop.begin(text)
        except BadInput as fault:
            control.say(str(fault))
            return
        control.put("")
        self._go(begun)

    def _go(self, name: str) -> None:
        try:
            self._turn(name)
            self.says.value = ""
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"

    def show(self, commission: Commission, name: str) -> None:
        """Show the words of a commission, and the other jobs of the shop by their titles."""
        for word, box in self.boxes.items():
            if box.box.value != commission.words[word]:
                box.show(commission.words[word])
        self._quiet = True
        try:
            found = [(self._shop.title_of(n), n) for n in self._shop.names]
            if list(self.others.options) != found:
                self.others.options = found
            self.others.value = name
        finally:
            self._quiet = False
