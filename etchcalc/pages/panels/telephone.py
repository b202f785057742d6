"""Somebody is on the telephone: what a caller can say, the quote, kept as a job."""

from datetime import datetime
from functools import partial
from html import escape

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.job import clocks, opening, pricing, quote, schedule
from etchcalc.job.shop import zone_of_next
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Choice, Typed, Word, field, html, kept
from etchcalc.pages.panels.desk import Desk

# By the commission's own names: label, and what stands in the box while nothing is typed.
SIZES = {
    "plate_width": ("Width", "such as 120 mm"),
    "plate_height": ("Height", "such as 45 mm"),
    "plate_thickness": ("Thickness", "such as 1.6 mm"),
    "plate_count": ("How many", "1"),
}
WORDS = {
    "due": ("Wanted by", "such as 2027-03-26"),
    "client": ("Client", ""),
    "title": ("Name of the job", "may stay empty"),
}
# Of the shop: its hours go with the job that is kept.
CARRIED = ("opens", "closes")
EARLIEST = (
    "At the earliest, if nothing else is on the bench: begun tomorrow as the shop opens, by one "
    "pair of hands, every day of the week counted."
)


class Telephone:
    """Boxes for the caller's words; they are no part of the commission that lies open.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.controls: list = []
        self.boxes: dict[str, Word] = {
            name: Typed(name, self._checked, words) for name, (words, _) in SIZES.items()
        }
        self.boxes |= {name: Word(name, kept, words) for name, (words, _) in WORDS.items()}
        alloys = {alloy["name"]: key for key, alloy in tables.load("alloys.toml").items()}
        self.metal = widgets.Dropdown(
            description="Metal",
            options=alloys,
            value=desk.commission.metal,
            classes="etch-question",
        )
        self.lettering = Choice("lettering", {w: w for w in quote.LETTERING}, kept, "Lettering")
        self.lettering.put("medium")
        self.quote, self.keep = (
            widgets.Button(description=words, classes=name)
            for words, name in (("Quote", "etch-save"), ("Keep it as a job", "etch-plain"))
        )
        self.quote.on_click(lambda _: self._on_quote())
        self.keep.on_click(lambda _: self._on_keep())
        self.says, self.answer = html("etch-small etch-saved"), html("etch-one")
        rows = [field(self.boxes[n], hint) for n, (_, hint) in {**SIZES, **WORDS}.items()]
        rows.insert(3, widgets.VBox([self.metal], classes="etch-field"))
        grid = widgets.VBox([*rows, field(self.lettering)], classes="etch-grid")
        foot = widgets.HBox([self.quote, self.keep, self.says], classes="etch-foot")
        self.body = widgets.VBox([grid, foot, self.answer], classes="etch-telephone")

    def show(self) -> None:
        """Nothing here follows the commission."""

    def draw(self) -> None:
        """Nothing here is drawn."""

    def text(self) -> list[str]:
        """Return nothing: the caller's words are no result of the job."""
        return []

    def _checked(self, name: str, text: str, control: Word) -> None:
        """Say under a box what cannot be meant; it keeps what is typed."""
        assert isinstance(control, Typed)
        try:
            if text.strip():
                control.term.read(text, self.desk.commission.units)
            control.say("")
        except BadInput as fault:
            control.say(str(fault))

    def _said(self) -> dict[str, str]:
        """Return what the caller said, and what of the shop goes with it."""
        words = self.desk.commission.words
        carried = {name: words[name] for name in CARRIED}
        carried["zone"] = zone_of_next(self.desk.commission)
        if not self._invented:
            carried |= self.desk.commission.price_lines
        typed = {name: box.box.value.strip() for name, box in self.boxes.items()}
        return {
            **carried,
            **typed,
            "metal": self.metal.value,
            "lettering": self.lettering.box.value,
        }

    @property
    def _invented(self) -> bool:
        """Whether the prices of the job that lies open are a demonstration's."""
        return bool(self.desk.commission.words["invented"] and self.desk.commission.price_lines)

    def _on_quote(self) -> None:
        today = datetime.now(
            clocks.read_zone(opening.said(self.desk.commission, "zone"))
        ).date()  # only now that it is asked
        try:
            found = quote.quoted(
                self._said(), pricing.prices_of(self.desk.plan), hands_on=schedule.hands_on,
                earliest=partial(opening.earliest, today=today), usual=self.desk.commission,
            )  # fmt: skip
        except BadInput as fault:
            self.answer.value = ""
            self._tell(fault)
            return
        self.says.value = ""
        more = [EARLIEST] if found.earliest else []
        if self._invented:
            more.insert(0, "The prices are the demonstration's: invented.")
        self.answer.value = (
            f"<div class='etch-sentence' aria-live='polite'><p>{escape(found.said())}</p></div>"
            f"<div class='etch-advice'>{''.join(f'<p>{escape(line)}</p>' for line in more)}</div>"
        )

    def _on_keep(self) -> None:
        shop = self.desk.shop
        try:
            commission, _ = quote.enquiry(self._said(), self.desk.commission)
            name = shop.free_name(commission.title)
            shop.keep(commission, name)
            self.desk.turn_to(name)
        except BadInput as fault:
            self._tell(fault)
            return
        for box in self.boxes.values():
            box.put("")
        self.answer.value = ""
        self.says.value = f"Kept as “{escape(commission.title)}”; it lies open now."

    def _tell(self, fault: BadInput) -> None:
        self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
