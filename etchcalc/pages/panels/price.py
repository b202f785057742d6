"""The price of the job: its lines, what they add up to, what the shop pays and asks."""

from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.job import prices, pricing, shop_prices
from etchcalc.job.costing import RULE, Cost
from etchcalc.job.prices import money
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Fold, Word, field, html
from etchcalc.pages.panels.desk import Desk

FOLD = "What the shop pays and asks"
# Labels shorter than what the price's own words say.
LABELS = {"currency": "Currency", "work": "An hour's work", "rounding": "Rounded to"}
HINTS = {"currency": "its label, such as GBP", "rounding": "0.01, 1 or 5"}
INVENTED = "The prices are the demonstration's: invented."


class PricePart:
    """The price of what is planned; boxes for the commission's own prices.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.boxes = {name: Word(name, self._typed, *_label(name)) for name in prices.KNOWN}
        self.controls: list = list(self.boxes.values())
        self.answer, self.lines = html("etch-one"), html("etch-money")
        self.own = widgets.Button(description="Make these the shop's own", classes="etch-plain")
        self.own.on_click(lambda _: self._on_own())
        self.says = html("etch-small etch-saved")
        grid = widgets.VBox(
            [field(box, _hint(name)) for name, box in self.boxes.items()], classes="etch-grid"
        )
        foot = widgets.HBox([self.own, self.says], classes="etch-foot")
        self.fold = Fold(FOLD, widgets.VBox([grid, foot], classes="etch-body"))
        self.body = widgets.VBox(
            [self.answer, self.lines, *self.fold.widgets], classes="etch-price"
        )

    def show(self) -> None:
        """Draw the price, or say what it waits for; the shop's own prices stand in empty boxes."""
        own = self.desk.plan.known.prices
        for name, box in self.boxes.items():
            typed = str(own.get(name) or "").strip()
            box.box.placeholder = f"{typed}, the shop's" if typed else _hint(name)
        cost, why = self._found()
        if cost is None:
            where = f"<p>Type it below, under “{FOLD}”.</p>" if prices.NAME in why else ""
            self.answer.value = f"<p class='etch-aside' role='alert'>{escape(why)}</p>{where}"
            self.lines.value = ""
            return
        self.answer.value = self._answer(cost)
        self.lines.value = texts.rows_html(_rows(cost), headed=True)

    def draw(self) -> None:
        """Nothing here is drawn."""

    def text(self) -> list[str]:
        """Return the quotation as lines, or why there is none."""
        cost, why = self._found()
        return [why] if cost is None else cost.said()

    def _found(self) -> tuple[Cost | None, str]:
        """Return the cost; or None and why there is none, in a sentence."""
        try:
            cost = pricing.cost_of(self.desk.plan)
            return cost, "" if cost else pricing.why_not(self.desk.plan)
        except BadInput as fault:  # of the shop's own file
            return None, str(fault)

    def _answer(self, cost: Cost) -> str:
        label = cost.prices.currency
        each = f", {money(cost.per_plate, label)} a plate" if cost.plates > 1 else ""
        left = cost.prices.not_counted
        more = [
            f"As the job may run, {money(cost.low, label)} to {money(cost.high, label)}.",
            f"One plate more adds {money(cost.second_plate, label)}; below "
            f"{money(cost.break_even, label)} before tax the job loses money.",
            f"Not counted, as no price is typed: {', '.join(left)}." if left else "",
            cost.offcut,
            RULE,
            INVENTED if self._invented else "",
        ]
        said = "".join(f"<p>{escape(line)}</p>" for line in more if line)
        return (
            f"<div class='etch-sentence' aria-live='polite'><p>The client pays "
            f"<b>{escape(money(cost.gross, label))}</b>{escape(each)}.</p></div>"
            f"<div class='etch-advice'>{said}</div>"
        )

    @property
    def _invented(self) -> bool:
        """Whether the prices of the commission are a demonstration's."""
        return bool(self.desk.commission.words["invented"] and self.desk.commission.price_lines)

    # what is changed -----------------------------------------------------------------------

    def _typed(self, name: str, text: str, control: Word) -> None:
        self.desk.say({name: text}, control)

    def say(self, sentence: str) -> None:
        """Show one sentence beside the button, or none."""
        self.says.value = f"<b role='alert'>{escape(sentence)}</b>" if sentence else ""

    def _on_own(self) -> None:
        desk, lines = self.desk, self.desk.commission.price_lines
        if self._invented:
            self.say(
                "These prices are invented with the demonstration; go to a job of your own, type "
                "yours, and make those the shop's."
            )
            return
        try:
            shop_prices.keep(desk.shop.root, lines)
            desk.say(dict.fromkeys(lines, ""), self)
            desk.turn_to(desk.name)  # it reads anew what the shop knows
        except BadInput as fault:
            self.say(str(fault))
            return
        self.says.value = (
            f"Written: <a href='/files/{prices.NAME}' target='_blank'>{prices.NAME}</a>, "
            "for every job of the shop that says no other price."
        )


def _label(name: str) -> tuple[str, str]:
    """Return what a price's box is called, and what is shown where the pointer rests on it."""
    if name in prices.SHARES:
        return name.capitalize(), prices.SHARES[name].meaning
    words = prices.RATES[name].words if name in prices.RATES else ""
    label = LABELS.get(name) or f"{words[0].upper()}{words[1:]}"
    return label, words


def _hint(name: str) -> str:
    """Return what stands in a price's empty box."""
    if name in prices.RATES:
        return prices.RATES[name].examples.translate({ord("“"): None, ord("”"): None})
    return HINTS.get(name) or f"such as {prices.SHARES[name].start:g} %"


def _rows(cost: Cost) -> list[tuple[str, ...]]:
    """Return the quotation as rows of a table."""
    rows: list[tuple[str, ...]] = [("", "amount", "price", "sum")]
    rows += [(line.what, line.shown, line.rate.typed, money(line.sum)) for line in cost.lines]
    rows += [(what, "", "", money(part)) for what, part in cost.parts[len(cost.lines) :] if part]
    before = [("price before tax", "", "", money(cost.net))] if cost.tax else []
    last = len(rows) - len(before)
    rows[last:last] = before  # it stands over the tax
    return [*rows, (f"to pay, {cost.prices.currency}", "", "", money(cost.gross))]
