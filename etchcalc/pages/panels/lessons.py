"""What a test strip and a done job teach: the guide, measured grooves, what is kept for the next job."""

from collections.abc import Callable
from html import escape

import ipywidgets as widgets

from etchcalc.core.faults import BadInput
from etchcalc.job import answers
from etchcalc.job.commission import Commission
from etchcalc.job.plan import Plan
from etchcalc.job.schema import SECTION
from etchcalc.pages.panels.controls import Typed, field, html, styled

WORDS = {
    "section_film": ("The line on the film", "such as 0.20 mm"),
    "section_line": ("At its top now", "such as 0.44 mm"),
    "section_depth": ("Its depth", "such as 0.16 mm"),
}


class Lessons:
    """Boxes for a measured groove, the guide to a test strip, and the button that keeps a lesson.

    Parameters
    ----------
    current : callable
        Returns the commission.
    changed : callable
        Called with the commission that has one groove more or less.
    keep : callable
        Keeps what the job taught and returns the sentence to show.
    """

    def __init__(
        self,
        current: Callable[[], Commission],
        changed: Callable[[Commission], None],
        keep: Callable[[], str],
    ):
        self._current, self._changed, self._keep = current, changed, keep
        self.boxes = {name: Typed(name, self._noted, words) for name, (words, _) in WORDS.items()}
        rows = [field(self.boxes[name], hint) for name, (_, hint) in WORDS.items()]
        self.guide, self.list, self.says, self.kept = (
            html(c) for c in ("etch-small", "etch-small", "etch-say", "etch-small etch-saved")
        )
        add, back, keep_it = (
            styled(widgets.Button(description=words), "etch-plain")
            for words in ("Add the groove", "Take back the last", "Keep what this job taught")
        )
        add.on_click(lambda _: self.take())
        back.on_click(lambda _: self._changed(self._current().without_last_section()))
        keep_it.on_click(lambda _: self._on_keep())
        self.back = back
        self.body = styled(
            widgets.VBox(
                [
                    self.guide,
                    html("", "<h3>A groove measured</h3>"),
                    styled(widgets.VBox(rows), "etch-grid"),
                    self.says,
                    styled(widgets.HBox([add, back]), "etch-foot"),
                    self.list,
                    styled(widgets.HBox([keep_it, self.kept]), "etch-foot"),
                ]
            ),
            "etch-body",
        )

    def _noted(self, name: str, text: str, control: Typed) -> None:
        """A box keeps what is typed until the groove is added."""

    def take(self) -> None:
        """Add what stands in the boxes, or say in one sentence why it cannot be."""
        section = {name: self.boxes[name].box.value.strip() for name in SECTION}
        try:
            commission = self._current().with_section(section)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return
        self.says.value = ""
        for box in self.boxes.values():
            box.put("")
        self._changed(commission)

    def _on_keep(self) -> None:
        try:
            self.kept.value = escape(self._keep())
        except BadInput as fault:
            self.kept.value = f"<b role='alert'>{escape(str(fault))}</b>"

    def show(self, plan: Plan) -> None:
        """Show the guide with the plan's own figures, and the grooves that were measured."""
        steps = "".join(f"<li>{escape(line)}</li>" for line in answers.strip_guide(plan))
        self.guide.value = f"<ol>{steps}</ol>"
        rows = [
            f"<li>{escape(s['section_film'])} on the film, {escape(s['section_line'])} at the top, "
            f"{escape(s['section_depth'])} deep</li>"
            for s in plan.commission.sections
        ]
        factor = answers.shown(plan, "etch_factor")
        self.list.value = f"<ol>{''.join(rows)}</ol><p>Etch factor {factor}.</p>"
        self.back.disabled = not rows
