"""Papers to print: which one, on what paper, with what on it; made into the job's own folder."""

import re
from contextlib import suppress
from datetime import date
from html import escape
from pathlib import Path
from typing import Any

from etchcalc.core.faults import BadInput
from etchcalc.job import files, keeping, pricing, quote
from etchcalc.job.film import FILES
from etchcalc.job.losses import looked_up
from etchcalc.job.prices import money
from etchcalc.pages import papers, sheet
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Choice, Word, field, html, shown
from etchcalc.pages.panels.desk import Desk

JOB_SHEET, FILM = "job_sheet", FILES[0]
KINDS = {JOB_SHEET: "The job sheet for the bench", **papers.NAMES}
FOLDER, SHOP_NAME = "papers", "name"
BOXES = {
    "shop_name": ("Shop's name", "on every paper"),
    "paper_date": ("Date", "a line, if left empty"),
    "valid_until": ("Valid until", "a line, if left empty"),
}
PRICED, ACID = "with the price", "hydrochloric acid was added to the bath"
# Which papers ask for what; the job sheet asks nothing.
ASKED = {
    "shop_name": tuple(papers.NAMES),
    "paper_date": tuple(papers.NAMES),
    "paper_size": tuple(papers.NAMES),
    "valid_until": ("quotation",),
    PRICED: ("proof",),
    ACID: ("labels", "carrier"),
}
# As the quote on the telephone writes it into the notes; a point within a figure ends nothing.
_ASSUMED = re.compile(r"Assumed, to be asked: (.+?)\.(?:\s|$)")


class PapersPart:
    """A choice of papers and what they ask, and the button that makes one.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.controls: list = []
        self._versions: dict[str, int] = {}  # of each job's record, as this window knows it
        self._of, self._name = "", ""  # the job shown; the shop's name as last read
        self.kind = Choice("paper", {w: k for k, w in KINDS.items()}, self._chosen, "Paper")
        self.kind.put(JOB_SHEET)
        self.size = Choice("paper_size", {s: s for s in papers.SIZES}, self._chosen, "Size")
        self.size.put("Letter" if desk.commission.units == "US" else "A4")
        self.boxes = {n: Word(n, self._typed, words) for n, (words, _) in BOXES.items()}
        self.ticks = {
            words: widgets.Checkbox(description=words, indent=False) for words in (PRICED, ACID)
        }
        for tick in self.ticks.values():
            tick.observe(lambda _: self.show(), "value")
        self.fields = {n: field(self.boxes[n], hint) for n, (_, hint) in BOXES.items()}
        self.fields |= {"paper_size": field(self.size), **self.ticks}
        self.make = widgets.Button(description="Make the paper", classes="etch-save")
        self.make.on_click(lambda _: self._on_make())
        self.about, self.says = html("etch-small"), html("etch-small etch-saved")
        grid = widgets.VBox(list(self.fields.values()), classes="etch-grid")
        foot = widgets.HBox([self.make, self.says], classes="etch-foot")
        self.body = widgets.VBox([field(self.kind), grid, self.about, foot], classes="etch-papers")

    def show(self) -> None:
        """Draw what the chosen paper asks, and why it cannot be had."""
        desk = self.desk
        if desk.name != self._of:
            self._of, self.says.value = desk.name, ""
        if desk.name not in self._versions:
            with suppress(BadInput):  # a folder that cannot be read is told when it is saved
                keeping.settled(self._folder)
                self._versions[desk.name] = keeping.version(self._folder)
        said = _name_of(desk.shop.root)
        if said != self._name:
            self._name = said
            self.boxes["shop_name"].put(said)
        for name, kinds in ASKED.items():
            shown(self.fields[name], self._kind in kinds)
        why = self._why_not(self._kind)
        self.make.disabled = bool(why)
        self.about.value = (
            f"<p class='etch-aside' role='alert'>{escape(why)}</p>" if why else self._note()
        )

    def draw(self) -> None:
        """Nothing here is drawn."""

    def text(self) -> list[str]:
        """Return the names of the papers, and why one is not to be had."""
        found = []
        for kind, words in KINDS.items():
            why = self._why_not(kind)
            found.append(f"{words}: not to be had. {why}" if why else f"{words}.")
        return found

    @property
    def _kind(self) -> str:
        return self.kind.box.value

    @property
    def _folder(self) -> Path:
        return self.desk.shop.folder(self.desk.name)

    def _why_not(self, kind: str) -> str:
        """Return why a paper cannot be had, in a sentence; "" where it can."""
        priced = kind == "quotation" or (kind == "proof" and self.ticks[PRICED].value)
        try:
            return pricing.why_not(self.desk.plan) if priced else ""
        except BadInput as fault:  # of the shop's own file
            return str(fault)

    def _note(self) -> str:
        if self._kind != "film_order" or (self._folder / FILM).is_file():
            return ""
        return (
            f"<p>No {FILM} lies beside the job yet: its digest and the size of its sheet stay "
            "lines to write on. Write the film first, then make this paper.</p>"
        )

    # what is changed -----------------------------------------------------------------------

    def _chosen(self, name: str, answer: str, control: Choice) -> None:
        self.says.value = ""
        self.show()

    def _typed(self, name: str, text: str, control: Word) -> None:
        """Keep the shop's name for all its papers; the rest waits for the button."""
        if name != "shop_name":
            return
        line = " ".join(text.split())
        try:
            files.write_whole(self.desk.shop.root / SHOP_NAME, f"{line}\n".encode())
        except BadInput as fault:
            control.say(str(fault))
            return
        self._name = line
        control.say("")

    def _on_make(self) -> None:
        self.show()  # a film may have been written meanwhile
        try:
            self.says.value = self._saved() if self._kind == JOB_SHEET else self._made(self._kind)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"

    def _saved(self) -> str:
        """Save the record, whose first page is the job sheet, and return the sentence to show."""
        desk = self.desk
        told: list[str] = []
        desk._keep.now()
        sheet.save(
            looked_up(desk.plan), self._folder, date.today().isoformat(),
            self._versions.get(desk.name), told.append,
        )  # fmt: skip
        self._versions[desk.name] = keeping.version(self._folder)
        desk._late()  # the past jobs have one more record,
        desk._plot()  # and it may tell how good the forecast was
        return f"{' '.join(map(escape, told))} Made: {self._link(keeping.PAGE)}; the sheet is its first page."

    def _made(self, kind: str) -> str:
        said = {name: box.box.value.strip() for name, box in self.boxes.items()}
        page = papers.paper(
            kind, self.desk.plan, paper=self.size.box.value, shop=said["shop_name"],
            date=said["paper_date"], **self._more(kind, said["valid_until"]),
        )  # fmt: skip
        files.write_whole(self._folder / FOLDER / f"{kind}.html", page.encode())
        return f"Made: {self._link(f'{FOLDER}/{kind}.html')}."

    def _link(self, path: str) -> str:
        there = f"/files/commissions/{self.desk.name}/{path}"
        words = KINDS[self._kind].lower()
        return f"<a href='{there}' target='_blank'>open {escape(words)} to print</a>"

    def _more(self, kind: str, valid_until: str) -> dict[str, Any]:
        """Return what one paper takes beside the shop's name and the date."""
        plan = self.desk.plan
        if kind in ASKED[ACID]:
            return {"acid_added": self.ticks[ACID].value}
        if kind == "film_order":
            return _film(self._folder / FILM)
        if kind == "proof" and not self.ticks[PRICED].value:
            return {}
        cost = pricing.cost_of(plan)
        if cost is None:
            raise BadInput(pricing.why_not(plan))
        if kind == "proof":
            return {"price": money(cost.gross, cost.prices.currency)}
        assumed = tuple(_ASSUMED.findall(plan.commission.words["notes"]))
        return {"quotation": quote.paper(plan.commission, cost, assumed, valid_until)}


def _name_of(root: Path) -> str:
    """Return the shop's name as it is kept; "" where none is."""
    with suppress(OSError, UnicodeDecodeError):
        return " ".join((root / SHOP_NAME).read_text(encoding="utf-8").split())
    return ""


def _film(path: Path) -> dict[str, Any]:
    """Return the digest of a film's file and the size of its sheet, mm; nothing where it is not there."""
    if not path.is_file():
        return {}
    import tifffile  # only where a film is ordered

    digest = keeping.digest(path)
    try:
        with tifffile.TiffFile(path) as file:
            page: Any = file.pages[0]
            over, under = page.tags["XResolution"].value
            sides = tuple(25.4 * n * under / over for n in (page.imagewidth, page.imagelength))
    except (OSError, ValueError, KeyError, IndexError, TypeError, ZeroDivisionError, tifffile.TiffFileError):  # fmt: skip
        return {"digest": digest}  # no film of ours: what it is stands in its digest
    return {"digest": digest, "sheet": sides}
