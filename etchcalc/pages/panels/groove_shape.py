"""The groove's shape, worked out when it is asked for: how it grows, and its etch factor."""

from collections.abc import Callable
from html import escape
from statistics import NormalDist

import numpy as np

from etchcalc.artwork.worker import Progress
from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import groove_shape, ranges
from etchcalc.job.plan import Plan
from etchcalc.pages import groove_drawing
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import html, shown
from etchcalc.pages.panels.latest import Latest
from etchcalc.process.groove import FINE, Groove

QUARTERS = (0.25, 0.5, 0.75, 1.0)  # of the depth
WAITING = "Working the groove out. The first time it takes up to a minute, later a moment."
STALE = "The job has changed since the groove was worked out: work it out again."


class GrooveShape:
    """A button; when it was pressed the groove at four depths, its etch factor, and another
    button that takes it. One that was taken can be let go.

    Parameters
    ----------
    current : callable
        Returns the plan that is on the page.
    take : callable
        Called with the etch factor as text, such as "1.42", when the maker wants it used, with ""
        when no longer; may raise BadInput.
    """

    def __init__(self, current: Callable[[], Plan], take: Callable[[str], None]):
        self._current, self._take = current, take
        self._found: tuple[Plan, Groove] | None = None
        self._work = Latest(_grown, self._draw, self._refused)
        self.ask = widgets.Button(description="Work the groove out", classes="etch-plain")
        self.ask.on_click(self._on_ask)
        self.use = widgets.Button(description="Use this etch factor", classes="etch-plain")
        self.use.on_click(self._on_use)
        self.picture, self.says, self.told = html("etch-picture"), html(), html("etch-small")
        self.back = widgets.Button(description="Use the usual etch factor", classes="etch-plain")
        self.back.on_click(self._on_back)
        foot = widgets.HBox([self.ask, self.told], classes="etch-foot")
        self.body = widgets.VBox(
            [foot, self.picture, self.says, self.use, self.back], classes="etch-groove-shape"
        )
        self._offer()

    def refresh(self) -> None:
        """Take the groove away where the plan it was worked out for is no longer like the page's."""
        if self._found and _of(self._found[0]) != _of(self._current()):
            self._clear(STALE)
        self._offer()

    def _offer(self) -> None:
        """Show the buttons that can be pressed: to take this factor, to leave the one taken."""
        plan = self._current()
        taken = plan.commission.typed.get("worked_etch_factor")
        counts = taken if plan.book.basis["etch_factor"] == "worked out" else None
        shown(self.use, self._found is not None and factor(self._found[1]) != counts)
        shown(self.back, taken is not None)

    def _on_ask(self, button) -> None:
        self._clear(f"<span role='status'>{WAITING}</span>")
        self.ask.disabled = True
        self._work(self._current())

    def _draw(self, found: tuple[Plan, Groove]) -> None:
        self.ask.disabled, self._found = False, found
        plan, groove = found
        depths = [share * plan.middle("depth") for share in QUARTERS]
        self.picture.value = groove_drawing.growing(groove, depths, None, plan.commission.units)
        self.says.value = "".join(f"<p>{escape(said)}</p>" for said in sentences(plan, groove))
        self.told.value = ""
        self.refresh()

    def _refused(self, sentence: str) -> None:
        self.ask.disabled = False
        self._clear(f"<b role='alert'>{escape(sentence)}</b>")

    def _on_use(self, button) -> None:
        assert self._found
        text = factor(self._found[1])
        self._taking(text, f"The film is now drawn with an etch factor of {text}.")

    def _on_back(self, button) -> None:
        self._taking("", "The simulated etch factor no longer counts.")

    def _taking(self, text: str, done: str) -> None:
        try:
            self._take(text)
        except BadInput as fault:
            done = f"<b role='alert'>{escape(str(fault))}</b>"
        self.told.value = done
        self._offer()

    def _clear(self, told: str) -> None:
        self._found, self.picture.value, self.says.value = None, "", ""
        self.told.value = told
        self._offer()


def factor(groove: Groove) -> str:
    """Return the etch factor at the depth that was asked for, as it is typed."""
    return f"{groove.etch_factor[-1].magnitude:.2f}"


def sentences(plan: Plan, groove: Groove) -> list[str]:
    """Return what is said of a groove: its etch factor beside the usual one, and both clocks."""
    # what a plan makes of it (`givens`): as wide a range as that of the usual value
    spread = np.exp(-NormalDist().inv_cdf(ranges.HIGH) * term("etch_factor_correction").spread)
    worked = float(groove.etch_factor[-1])
    ends = f"{worked * spread:.2f} to {worked / spread:.2f}"
    own, rates = (show(t[-1], "time", "metric") for t in (groove.own_time, groove.rate_time))
    return [
        f"Etch factor {factor(groove)} ({ends}), worked out, not measured; the usual start is "
        f"{plan.middle('usual_etch_factor').magnitude:.2f}.",
        f"Only the shape is taken from it. By itself, in a bath that does not tire, it would take "
        f"{own}; the rate model says {rates}, and that is the time to go by.",
    ]


def _of(plan: Plan) -> list[float]:
    """Return the figures a groove is worked out from."""
    return [float(plan.middle(name).to_base_units().magnitude) for name in groove_shape.RESTS_ON]


def _grown(plan: Plan, tell: Progress) -> tuple[Plan, Groove]:
    depths = tuple(share * plan.middle("depth") for share in QUARTERS)
    return plan, groove_shape.of_plan(plan, shown=depths, cells=FINE)
