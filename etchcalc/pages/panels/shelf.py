"""The shelf: what the shop holds, what the job takes of it, what is to be bought."""

from dataclasses import replace
from datetime import date
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.job import shelf
from etchcalc.job.shelf import Item
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Word, field, html, kept, shown
from etchcalc.pages.panels.desk import Desk

# By the item's own names: label, and what stands in the box while nothing is typed.
BOXES = {
    "name": ("Written on it", ""),
    "amount": ("How much is left", "such as 1.8 kg"),
    "package": ("A package holds", "such as 2.5 kg"),
    "best_before": ("Best before", "such as 2027-03-26"),
    "thickness": ("Thickness", "such as 1.6 mm"),
}
METAL = "metal"
NEVER = "0001-01-01"  # the day of which nothing is past its best before


class ShelfPart:
    """The shop's shelf beside what is planned; its boxes are no part of the commission.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.controls: list = []
        self.boxes = {name: Word(name, kept, words) for name, (words, _) in BOXES.items()}
        self._fields = {name: field(box, BOXES[name][1]) for name, box in self.boxes.items()}
        self.kind, self.which = (
            widgets.Dropdown(description=words, options=options, classes="etch-question")
            for words, options in (("What it is", list(shelf.TAKEN)), ("On the shelf", []))
        )
        self.kind.observe(lambda _: self._show_thickness(), "value")
        self.left = Word("left", kept, "Now left")
        self.add, self.change, self.away = (
            widgets.Button(description=words, classes="etch-plain")
            for words in ("Add it", "Change the amount", "Take it away")
        )
        self.add.on_click(lambda _: self._on_add())
        self.change.on_click(lambda _: self._on_change())
        self.away.on_click(lambda _: self._on_away())
        self.items, self.takes = html(), html("etch-takes")
        self.says, self.changed = html("etch-small etch-saved"), html("etch-small etch-saved")
        self.body = self._laid_out()
        self._show_thickness()

    def _laid_out(self) -> widgets.Widget:
        kind, which = (widgets.VBox([box], classes="etch-field") for box in (self.kind, self.which))
        name, *others = self._fields.values()
        adding = widgets.VBox([kind, name, *others], classes="etch-grid")
        held = widgets.VBox([which, field(self.left, "such as 1.2 kg")], classes="etch-grid")
        self._held = widgets.VBox(
            [held, widgets.HBox([self.change, self.away, self.changed], classes="etch-foot")]
        )
        foot = widgets.HBox([self.add, self.says], classes="etch-foot")
        return widgets.VBox(
            [
                html("", "<h3>What the job takes</h3>"),
                self.takes,
                html("", "<h3>What is there</h3>"),
                self.items,
                self._held,
                html("", "<h3>Put something on it</h3>"),
                adding,
                foot,
            ],
            classes="etch-shelf",
        )

    def show(self) -> None:
        """Draw the shelf, and what the job takes of it today."""
        try:
            items = self._opened()
        except BadInput as fault:
            self.items.value = f"<p class='etch-aside' role='alert'>{escape(str(fault))}</p>"
            self.takes.value = ""
            shown(self._held, False)
            return
        rows = [(i.name, *_row(i)) for i in items]
        head = ("", "what", "left", "package", "best before", "")
        self.items.value = (
            texts.rows_html([head, *rows], headed=True)
            if items
            else "<p>Nothing is on the shelf.</p>"
        )
        shown(self._held, bool(items))
        options = tuple((f"{i.name}, {i.kind}, {i.amount}", i) for i in items)
        if self.which.options != options:
            at = self.which.index
            self.which.options = options
            self.which.index = min(at or 0, len(items) - 1) if items else None
        lines = self._lines(items, date.today().isoformat())
        self.takes.value = f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"

    def draw(self) -> None:
        """Nothing here is drawn."""

    def text(self) -> list[str]:
        """Return the shelf and what the job takes of it, whatever the day."""
        try:
            items = self._opened()
        except BadInput as fault:
            return [str(fault)]
        held = [", ".join(filter(None, (i.name, *_row(i)))) for i in items]
        return [*held, *self._lines(items, NEVER)]

    @property
    def _path(self):
        return self.desk.shop.root / shelf.NAME

    def _opened(self) -> tuple[Item, ...]:
        return shelf.opened(self._path)

    def _lines(self, items: tuple[Item, ...], today: str) -> list[str]:
        """Return what the job takes and is there, what is to be bought, what crystals make."""
        plan = self.desk.plan
        buy = {purchase.kind: purchase.text for purchase in shelf.to_buy(plan, items, today)}
        found = []
        for kind, needed in shelf.takes(plan).items():
            how = term(shelf.TAKEN[kind][0]).kind
            amount = show(needed, how, plan.commission.units, fixed=False)
            found.append(buy.get(kind) or f"{kind}: the job takes {amount}, and it is there.")
        return [*found, *self._makes(items)]

    def _makes(self, items: tuple[Item, ...]) -> list[str]:
        """Return how much etchant a package of each sort of crystals makes."""
        strength, units = self.desk.plan.middle("strength"), self.desk.commission.units
        of = show(strength, "strength", units, fixed=False)
        sizes = dict.fromkeys(i.package for i in items if i.kind == "crystals" and i.package)
        volumes = [(size, shelf.makes(shelf.amount("crystals", size), strength)) for size in sizes]
        return [
            f"A package of {size} of crystals makes {show(volume, 'volume', units, fixed=False)} of {of}."
            for size, volume in volumes
        ]

    # what is changed -----------------------------------------------------------------------

    def _show_thickness(self) -> None:
        metal = self.kind.value == METAL
        shown(self._fields["thickness"], metal)
        self.boxes["name"].box.placeholder = "such as brass" if metal else "as on its label"

    def _on_add(self) -> None:
        typed = {name: box.box.value.strip() for name, box in self.boxes.items()}
        if self.kind.value != METAL:
            typed["thickness"] = ""

        def added(items: list[Item]) -> list[Item]:
            if not (typed["name"] and typed["amount"]):
                raise BadInput("Type what is written on it and how much is left, such as 1.8 kg.")
            shelf.amount(self.kind.value, typed["amount"])
            if self.kind.value == METAL and not typed["thickness"]:
                raise BadInput("Type how thick the sheet is, such as 1.6 mm.")
            return [*items, Item(kind=self.kind.value, **typed)]

        if self._kept(added, self.says):
            for box in self.boxes.values():
                box.put("")

    def _on_change(self) -> None:
        def changed(items: list[Item]) -> list[Item]:
            item, text = self._chosen(items), self.left.box.value.strip()
            shelf.amount(item.kind, text)
            items[items.index(item)] = replace(item, amount=text)
            return items

        if self._kept(changed, self.changed):
            self.left.put("")

    def _on_away(self) -> None:
        def taken_away(items: list[Item]) -> list[Item]:
            items.remove(self._chosen(items))
            return items

        self._kept(taken_away, self.changed)

    def _chosen(self, items: list[Item]) -> Item:
        """Return the item that was chosen, where it still lies there as it was shown."""
        if self.which.value not in items:
            self.show()
            raise BadInput("The shelf was changed meanwhile; choose again.")
        return self.which.value

    def _kept(self, change, says: widgets.HTML) -> bool:
        """Write the shelf with a change, or say in one sentence why not; tell whether it was kept."""
        says.value = ""
        try:
            shelf.keep(self._path, change(list(self._opened())))
        except BadInput as fault:
            says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return False
        self.show()
        return True


def _row(item: Item) -> tuple[str, ...]:
    """Return an item without its name, as cells of a table."""
    best = item.best_before
    thick = f"{item.thickness} thick" if item.thickness else ""
    return item.kind, item.amount, item.package, best, thick
