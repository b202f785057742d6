"""What is noted while the job goes: boxes for one note, the list of those taken, taken back."""

from collections.abc import Callable
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import VOCABULARY
from etchcalc.job.commission import Commission
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Typed, Word, field, html, kept, styled


class Notes:
    """Boxes for one sort of note of a commission, and the list of those taken.

    Parameters
    ----------
    part : str
        Of `schema.ROWS`.
    boxes : dict of str to (str, str)
        By the note's own names: label, and what stands in the box while nothing is typed.
    add : str
        What the button says.
    current : callable
        Returns the commission.
    changed : callable
        Called with the commission that has one note more or less.
    said : callable
        Returns a note in words.
    """

    def __init__(
        self,
        part: str,
        boxes: dict[str, tuple[str, str]],
        add: str,
        current: Callable[[], Commission],
        changed: Callable[[Commission], None],
        said: Callable[[dict[str, str]], str],
    ):
        self.part, self._current, self._changed, self._said = part, current, changed, said
        self.boxes: dict[str, Word] = {}
        rows = []
        for name, (words, hint) in boxes.items():
            make: Callable = Typed if name in VOCABULARY else Word
            self.boxes[name] = make(name, kept, words)
            rows.append(field(self.boxes[name], hint))
        self.says, self.list = html("etch-say"), html("etch-small")
        self.add, self.back = (
            widgets.Button(description=words, classes="etch-plain")
            for words in (add, "Take back the last")
        )
        self.add.on_click(lambda _: self.take())
        self.back.on_click(lambda _: self._changed(self._current().without_last(part)))
        buttons = widgets.HBox([self.add, self.back], classes="etch-foot")
        self.body = widgets.VBox(
            [widgets.VBox(rows, classes="etch-grid"), self.says, buttons, self.list]
        )
        styled(self.body, f"etch-notes-{part}")

    def take(self) -> None:
        """Add what stands in the boxes, or say in one sentence why it cannot be."""
        row = {n: box.box.value.strip() for n, box in self.boxes.items() if box.box.value.strip()}
        try:
            commission = self._current().with_row(self.part, row)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return
        self.says.value = ""
        for box in self.boxes.values():
            box.put("")
        self._changed(commission)

    def show(self, commission: Commission) -> None:
        """List the notes of a commission."""
        rows = [f"<li>{escape(self._said(row))}</li>" for row in commission.rows(self.part)]
        self.list.value = f"<ol>{''.join(rows)}</ol>" if rows else ""
        self.back.disabled = not rows
