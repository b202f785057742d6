"""A close look at one place of the film: chosen from those worth it, as near as wanted."""

from collections.abc import Callable

from etchcalc.artwork.worker import Progress
from etchcalc.core.units import MM
from etchcalc.job import drawing
from etchcalc.job.plan import Plan
from etchcalc.pages.panels import film_words, widgets
from etchcalc.pages.panels.controls import html
from etchcalc.pages.panels.latest import Latest

NEAR = {"2 mm": 2.0, "6 mm": 6.0, "20 mm": 20.0}  # across


class CloseLook:
    """A list of places, how near, and the picture.

    Parameters
    ----------
    refused : callable
        Called with the sentence where the drawing cannot be pictured.
    """

    def __init__(self, refused: Callable[[str], None]):
        self._plan: Plan | None = None
        self._quiet = False
        self._wanted = ""
        self._work = Latest(_pictured, self._draw, refused)
        self.places = widgets.Dropdown(description="A close look at the", classes="etch-question")
        self.near = widgets.ToggleButtons(options=list(NEAR), value="6 mm", classes="etch-toggle")
        self.picture = html("etch-picture")
        for choice in (self.places, self.near):
            choice.observe(self._chosen, "value")
        row = widgets.HBox([self.places, self.near], classes="etch-foot")
        self.body = widgets.VBox([row, self.picture], classes="etch-close-look")

    def show(self, plan: Plan) -> None:
        """Offer the places of a plan and picture the one that was looked at."""
        self._plan, self._quiet = plan, True
        places = list(film_words.places(plan))
        self.places.options = places
        if places:
            self.places.value = self._wanted if self._wanted in places else places[0]
        self._quiet = False
        self._look()

    def _chosen(self, change) -> None:
        if not self._quiet and self.places.value:
            self._wanted = self.places.value
            self._look()

    def _look(self) -> None:
        places = film_words.places(self._plan) if self._plan else {}
        if self._plan is None or self.places.value not in places:
            self.picture.value = ""
            return
        half = NEAR[self.near.value] / 2
        most = [self._plan.number(n) for n in ("plate_width", "plate_height")]
        low = [
            max(min(at - half, side - 2 * half), 0.0)
            for at, side in zip(places[self.places.value], most, strict=True)
        ]
        high = [min(at + 2 * half, side) for at, side in zip(low, most, strict=True)]
        self._work(self._plan, (*low, *high))

    def _draw(self, found: tuple) -> None:
        self.picture.value = film_words.close_html(*found)


def _pictured(plan: Plan, box: tuple, tell: Progress) -> tuple:
    undercut = float(plan.middle("undercut").to(MM).magnitude)
    return plan, box, drawing.pictured(plan.commission, undercut, list(box), 440)
