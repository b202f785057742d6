"""What a test strip and a done job teach: the guide, measured grooves, what is kept for the next job."""

from collections.abc import Callable
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.job import answers
from etchcalc.job.bench_words import ranged, strip_said
from etchcalc.job.commission import Commission
from etchcalc.job.plan import Plan
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import html
from etchcalc.pages.panels.noted import Notes

WORDS = {
    "section_film": ("The line on the film", "such as 0.20 mm"),
    "developed_line": ("In the resist, developed", "0.19 mm, if measured"),
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
        self._keep = keep
        self.notes = Notes(
            "section", WORDS, "Add the groove", current, changed,
            lambda row: strip_said(row, current().units),
        )  # fmt: skip
        self.boxes = self.notes.boxes
        self.guide, self.factor, self.kept = (
            html(c) for c in ("etch-small", "etch-small", "etch-small etch-saved")
        )
        keep_it = widgets.Button(description="Keep what this job taught", classes="etch-plain")
        keep_it.on_click(lambda _: self._on_keep())
        self.body = widgets.VBox(
            [
                self.guide,
                html("", "<h3>A groove measured</h3>"),
                self.notes.body,
                self.factor,
                widgets.HBox([keep_it, self.kept], classes="etch-foot"),
            ],
            classes="etch-body",
        )

    def take(self) -> None:
        """Add what stands in the boxes, or say in one sentence why it cannot be."""
        self.notes.take()

    def _on_keep(self) -> None:
        try:
            self.kept.value = escape(self._keep())
        except BadInput as fault:
            self.kept.value = f"<b role='alert'>{escape(str(fault))}</b>"

    def show(self, plan: Plan) -> None:
        """Show the guide with the plan's own figures, and the grooves that were measured."""
        steps = "".join(f"<li>{escape(line)}</li>" for line in answers.strip_guide(plan))
        self.guide.value = f"<ol>{steps}</ol>"
        factor = f"{answers.shown(plan, 'etch_factor')} ({ranged(plan, 'etch_factor')})"
        self.factor.value = f"<p>Etch factor {factor}.</p>"
        self.notes.show(plan.commission)
