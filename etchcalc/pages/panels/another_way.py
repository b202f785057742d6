"""Try another way: one setting kept beside the present one, and what it would take."""

from collections.abc import Callable
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job import answers, what_if
from etchcalc.job.plan import Plan
from etchcalc.pages import sheet
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Typed, field, html

INPUTS = {"bath temperature": "temperature", "strength": "strength", "depth": "depth"}
ANSWERS = ("Film", "Bath", "Lift and gauge")


class AnotherWay:
    """The setting kept, in words, beside the present one; and one input solved for.

    Parameters
    ----------
    current : callable
        Returns the plan.
    """

    def __init__(self, current: Callable[[], Plan]):
        self._current = current
        self._kept: Plan | None = None
        self.keep = widgets.Button(description="Keep this setting to compare", classes="etch-plain")
        self.keep.on_click(lambda _: self.take())
        self.beside = html()
        self.time = Typed("done_time", lambda *_: self._solve(), "To be done in")
        self.by = widgets.ToggleButtons(
            options=INPUTS, description="by changing", classes="etch-toggle etch-wrap"
        )
        self.by.observe(lambda _: self._solve(), "value")
        self.solved = html()
        self.body = widgets.VBox(
                [
                    widgets.HBox([self.keep], classes="etch-foot"),
                    self.beside,
                    html("", "<h3>What would it take?</h3>"),
                    widgets.VBox([field(self.time, "such as 4 h"), self.by], classes="etch-grid"),
                    self.solved,
                ], classes="etch-another-way")  # fmt: skip

    def take(self) -> None:
        """Keep the present setting, in the place of the one before."""
        self._kept = self._current()
        self.show()

    def show(self) -> None:
        """Show the kept setting beside the present one, and what it would take now."""
        self.keep.description = (
            "Keep this setting to compare"
            if self._kept is None
            else "Compare with this one instead"
        )
        self.beside.value = beside_html(self._kept, self._current()) if self._kept else ""
        self._solve()

    def _solve(self) -> None:
        text = self.time.box.value.strip()
        if not text:
            self.solved.value = ""
            return
        plan = self._current()
        try:
            minutes = float(self.time.term.read(text, plan.commission.units).to("min").magnitude)
        except BadInput as fault:
            self.time.say(str(fault))
            return
        self.time.say("")
        self.solved.value = f"<p>{sheet.bold(what_if.in_time(plan, self.by.value, minutes))}</p>"


def beside_html(kept: Plan, now: Plan) -> str:
    """Return what differs between two settings, and their three answers side by side."""
    changed = "; ".join(_changes(kept, now)) or "nothing is changed yet: move a slider"
    rows = [
        f"<tr><th scope='row'>{words}</th><td>{sheet.bold(then)}</td><td>{sheet.bold(here)}</td></tr>"
        for words, then, here in zip(
            ANSWERS, answers.answers(kept), answers.answers(now), strict=True
        )
    ]
    return (
        f"<p>Changed since: {escape(changed)}.</p><table class='etch-table etch-beside'><tr><td></td>"
        f"<th scope='col'>Kept</th><th scope='col'>Now</th></tr>{''.join(rows)}</table>"
    )


def _changes(kept: Plan, now: Plan) -> list[str]:
    """Return every input that is now another, in words."""
    found = []
    for name, value in now.commission.values.items():
        same = name not in kept.commission.values or (
            value == kept.commission.values[name]
            and kept.commission.off(name) == now.commission.off(name)
        )
        if not same:
            found.append(f"{term(name).words} {_said(kept, name)} → {_said(now, name)}")
    counted = [len(plan.commission.readings) for plan in (kept, now)]
    if counted[0] != counted[1]:
        found.append(f"gauge readings {counted[0]} → {counted[1]}")
    said = {**now.commission.words, "metal": now.commission.alloy["name"]}
    before = {**kept.commission.words, "metal": kept.commission.alloy["name"]}
    told = [
        n for n in said if n not in VOCABULARY and n not in ("units", "notes", "title", "client")
    ]
    return found + [
        f"{n.replace('_', ' ')} {before[n] or '–'} → {said[n] or '–'}"
        for n in told
        if said[n] != before[n]
    ]


def _said(plan: Plan, name: str) -> str:
    return answers.shown(plan, name, fixed=False) + plan.commission.off(name)
