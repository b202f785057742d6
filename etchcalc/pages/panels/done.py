"""As it was done: what it took and came to, held to the plan; notes and photographs."""

from html import escape
from pathlib import Path
from urllib.parse import quote

from etchcalc.core.faults import BadInput
from etchcalc.core.units import clock, show
from etchcalc.core.vocabulary import term
from etchcalc.job import record as records
from etchcalc.job.bench_words import strip_said
from etchcalc.job.done import DONE, AsDone, as_done
from etchcalc.job.keeping import PHOTOGRAPHS
from etchcalc.job.shop import PHOTOGRAPHS as ENDINGS
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.bench_words import blemish_said, wedge_said
from etchcalc.pages.panels.controls import Typed, Word, field, html
from etchcalc.pages.panels.desk import Desk

BOXES = {
    "done_time": ("Time in the etchant", "in all, such as 85 min"),
    "done_depth": ("Depth reached", "gauged on bare metal"),
    "done_width": ("Finest line came to", "at its top"),
    "done_temperature": ("Bath was at", "such as 41 °C"),
    "done_on": ("Done on", "such as 2027-03-26"),
    "done_notes": ("Notes", ""),
}
NOTED = {
    "reading": "Readings",
    "section": "Grooves measured",
    "wedge": "Wedges",
    "blemish": "Retouched",
}
# What a browser shows as a picture; the others are links by name.
_SEEN = (".jpg", ".jpeg", ".png", ".webp")


class DonePart:
    """Boxes for what was done, the table of planned against actual, the photographs.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.boxes: dict[str, Word] = {}
        for name, (words, _) in BOXES.items():
            make = Typed if name in DONE else Word
            self.boxes[name] = make(name, self._typed, words)
        self.controls: list = list(self.boxes.values())
        self.table, self.noted, self.pictures = html(), html("etch-small"), html("etch-photographs")
        self.upload = widgets.FileUpload(
            accept=",".join(ENDINGS),
            multiple=True,
            description="Photographs",
            classes="etch-plain etch-upload etch-upload-photographs",
        )
        self.upload.observe(self._uploaded, "value")
        self.back = widgets.Button(description="Take the last away", classes="etch-plain")
        self.back.on_click(lambda _: self._on_back())
        self.says = html("etch-small etch-saved")
        grid = [field(box, BOXES[name][1]) for name, box in self.boxes.items()]
        self.body = widgets.VBox(
            [
                widgets.VBox(grid, classes="etch-grid"),
                self.table,
                self.noted,
                widgets.HBox([self.upload, self.back, self.says], classes="etch-foot"),
                self.pictures,
            ],
            classes="etch-done",
        )

    def show(self) -> None:
        """Draw planned against actual, what was noted, and the photographs."""
        did = self._did()
        rows = self._rows(did)
        heads = [("", "planned", "as it was", "off")]
        self.table.value = texts.rows_html([*heads, *rows], headed=True) if rows else ""
        self.table.value += f"<p>{escape(self._foretold(did))}</p>" if did else ""
        self.noted.value = "".join(
            f"<p>{escape(words)}</p><ol>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ol>"
            for words, lines in self._noted().items()
            if lines
        )
        self.pictures.value = "".join(map(self._picture, self._names))
        self.back.disabled = not self._names

    def draw(self) -> None:
        """Nothing here is drawn."""

    def text(self) -> list[str]:
        """Return planned against actual as lines; nothing where nothing is done."""
        rows = self._rows(self._did())
        return [
            f"{w}: {planned} planned, {actual} as it was, {off}" for w, planned, actual, off in rows
        ]

    def say(self, sentence: str) -> None:
        """Show one sentence beside the photographs' button, or none."""
        self.says.value = f"<b role='alert'>{escape(sentence)}</b>" if sentence else ""

    # what is seen --------------------------------------------------------------------------

    def _did(self) -> AsDone | None:
        """Return what was done, held to the plan; None where no figure is said."""
        if not any(self.desk.commission.typed.get(name) for name in DONE):
            return None
        return as_done(records.record(self.desk.plan))

    def _rows(self, did: AsDone | None) -> list[tuple[str, str, str, str]]:
        units, found = self.desk.commission.units, []
        for row in did.rows if did else ():
            kind = term(DONE[row.name]).kind
            planned, actual = (show(q, kind, units, fixed=False) for q in (row.planned, row.actual))
            found.append((BOXES[row.name][0], planned, actual, row.off))
        return found

    def _foretold(self, did: AsDone) -> str:
        """Return what was foretold before any reading, for the depth that was reached."""
        if did.forecast is None:
            return "No time was foretold for that depth: the plan does not reach so deep."
        early, middle, late = (clock(minutes) for minutes in did.forecast)
        depth = "the depth reached" if did.row("done_depth") else "the depth ordered"
        return f"Foretold for {depth}, before any reading: {middle} ({early} to {late})."

    def _noted(self) -> dict[str, list[str]]:
        order = self.desk.commission
        said = {
            "reading": _reading_said,
            "section": lambda row: strip_said(row, order.units),
            "wedge": wedge_said,
            "blemish": blemish_said,
        }
        return {
            words: [said[part](row) for row in order.rows(part)] for part, words in NOTED.items()
        }

    @property
    def _names(self) -> list[str]:
        said = self.desk.commission.words[PHOTOGRAPHS].split(",")
        return [name.strip() for name in said if name.strip()]

    def _picture(self, name: str) -> str:
        """Return a photograph as a small picture that opens the large one."""
        folder = self.desk.shop.folder(self.desk.name)
        words = escape(name)
        if Path(name.replace("\\", "/")).name != name or not (folder / name).is_file():
            return f"<p class='etch-aside' role='alert'>No file “{words}” lies beside the job.</p>"
        there = f"/files/commissions/{self.desk.name}/{quote(name)}"
        seen = Path(name).suffix.lower() in _SEEN
        inner = f"<img src='{there}' alt='{words}' loading='lazy'>" if seen else words
        return f"<a href='{there}' target='_blank'>{inner}</a> "

    # what is changed -----------------------------------------------------------------------

    def _typed(self, name: str, text: str, control: Word) -> None:
        self.desk.say({name: text}, control)

    def _uploaded(self, change) -> None:
        if not change["new"]:
            return
        names, faults = self._names, []
        for given in change["new"]:
            try:
                names.append(self.desk.shop.attach(self.desk.name, given["name"], bytes(given["content"])))  # fmt: skip
            except BadInput as fault:
                faults.append(str(fault))
        self._keep(names)
        if faults:
            self.say(" ".join(faults))
        self.upload.value = ()

    def _on_back(self) -> None:
        self._keep(self._names[:-1])  # the file stays

    def _keep(self, names: list[str]) -> None:
        self.say("")
        self.desk.say({PHOTOGRAPHS: ", ".join(dict.fromkeys(names))}, self)


def _reading_said(row: dict[str, str]) -> str:
    """Return a gauge reading as it was typed, in words."""
    if row.get("weight_lost"):
        return f"{row['reading_time']}: {row['weight_lost']} of metal gone, weighed"
    return ", ".join(text for text in (f"{row['reading_time']}: {row['reading_depth']}", row.get("gauged_on", "")) if text)  # fmt: skip
