"""Gauge readings of the job: typed in, listed, taken back; each corrects the forecast."""

import tempfile
from collections.abc import Callable
from html import escape
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import term
from etchcalc.job.commission import Commission
from etchcalc.job.logs import readings_from
from etchcalc.job.plan import Plan
from etchcalc.job.schema import GAUGED_ON
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Typed, html, styled

WORDS = {
    "reading_time": "After, in the bath",
    "reading_depth": "The gauge read",
    "film_under_gauge": "Resist under its foot",
}
HINTS = {"reading_time": "such as 40 min", "reading_depth": "0.11 mm, or 2.4 g"}


class Readings:
    """A row of boxes for one reading, and the list of those taken.

    Parameters
    ----------
    current : callable
        Returns the commission.
    changed : callable
        Called with the commission that has one reading more or less.
    """

    def __init__(self, current: Callable[[], Commission], changed: Callable[[Commission], None]):
        self._current, self._changed = current, changed
        self.boxes = {name: Typed(name, self._noted, words) for name, words in WORDS.items()}
        self.boxes["film_under_gauge"].put("0 mm")
        for name, hint in HINTS.items():
            self.boxes[name].box.placeholder = hint
        self.place = widgets.Dropdown(
            description="Gauged on the", options=GAUGED_ON, classes="etch-question"
        )
        self.list, self.says = html("etch-small"), html("etch-say")
        self.add = widgets.Button(description="Add the reading", classes="etch-plain")
        self.back = widgets.Button(description="Take back the last", classes="etch-plain")
        self.add.on_click(lambda _: self.take())
        self.back.on_click(lambda _: self._changed(self._current().without_last("reading")))
        about = html(
            "etch-small",
            "Depth from the metal's face. Gauged over the resist, say how thick it is: it is taken "
            "off. A tip wider than the line does not reach its floor: gauge a wide field instead. Weighed instead of gauged, type the grams that are gone, of all plates "
            "together, dry, with the same paint and resist both times.",
        )
        rows = [styled(box.box, "etch-question") for box in self.boxes.values()]
        buttons = widgets.HBox([self.add, self.back], classes="etch-foot")
        self.body = widgets.VBox(
            [about, *rows, self.place, self.says, buttons, self.list], classes="etch-body"
        )

    def _noted(self, name: str, text: str, control: Typed) -> None:
        """A box keeps what is typed until the reading is added."""

    def take(self) -> None:
        """Add what stands in the boxes, or say in one sentence why it cannot be."""
        reading = {name: control.box.value.strip() for name, control in self.boxes.items()}
        if _weighed(reading["reading_depth"]):
            reading = {
                "reading_time": reading["reading_time"],
                "weight_lost": reading["reading_depth"],
            }
        else:
            reading["gauged_on"] = self.place.value
        try:
            commission = self._current().with_row("reading", reading)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return
        self.says.value = ""
        self.boxes["reading_depth"].put("")
        self.boxes["reading_time"].put("")
        self._changed(commission)

    def show(self, plan: Plan) -> None:
        """List the readings of a plan."""
        suspect = plan.told.suspect if plan.told else ()
        rows = [
            f"<li>{escape(_said(r))}{', left out' if i in suspect else ''}</li>"
            for i, r in enumerate(plan.commission.readings)
        ]
        self.list.value = f"<ol>{''.join(rows)}</ol>" if rows else "No reading yet."
        self.back.disabled = not rows


def _said(reading: dict[str, str]) -> str:
    """Return a reading as it was typed, in words."""
    if reading.get("weight_lost"):
        return f"{reading['reading_time']}: {reading['weight_lost']} of metal gone, weighed"
    film = reading.get("film_under_gauge", "")
    over = "" if film in ("", "0 mm") else f" over {film} of resist"
    where = reading.get("gauged_on", GAUGED_ON[0])
    return f"{reading['reading_time']}: {reading['reading_depth']}{over} on the {where}"


def _weighed(text: str) -> bool:
    """Tell whether what stands for the depth is a mass: the plate was weighed instead."""
    try:
        return term("weight_lost").read(text.lstrip("-− ")) is not None
    except BadInput:
        return False


class FromFile:
    """A button that takes gauge readings from a CSV file; those that are there already are not added.

    Parameters
    ----------
    current : callable
        Returns the commission.
    changed : callable
        Called with the commission that has the readings.
    """

    def __init__(self, current: Callable[[], Commission], changed: Callable[[Commission], None]):
        self._current, self._changed = current, changed
        self.upload = widgets.FileUpload(
            accept=".csv,.txt,.tsv",
            multiple=False,
            description="Readings from a table (CSV)",
            classes="etch-plain etch-upload",
        )
        self.says = html("etch-small etch-saved")
        self.upload.observe(self._uploaded, "value")
        self.body = widgets.HBox([self.upload, self.says], classes="etch-foot")

    def _uploaded(self, change) -> None:
        if not change["new"]:
            return
        try:
            self.says.value = escape(self.take(bytes(change["new"][0]["content"])))
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
        self.upload.value = ()  # so that the same file, mended, can be chosen again

    def take(self, content: bytes) -> str:
        """Add the readings of a table and return what was done, in a sentence."""
        commission = self._current()
        with tempfile.TemporaryDirectory() as folder:
            table = Path(folder) / "readings.csv"
            table.write_bytes(content)
            found = readings_from(table, commission.units)
        new = [reading for reading in found if reading not in commission.readings]
        for reading in new:
            commission = commission.with_row("reading", reading)
        if new:
            self._changed(commission)
        known = len(found) - len(new)
        return f"{len(new)} added." + (f" {known} were there already." if known else "")
