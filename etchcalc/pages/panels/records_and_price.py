"""Records and price: the quote, the price, the day, the shelf, the papers, what was done, past jobs."""

from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import html, style_sheet
from etchcalc.pages.panels.day import DayPart
from etchcalc.pages.panels.desk import Desk
from etchcalc.pages.panels.done import DonePart
from etchcalc.pages.panels.past_jobs import PastJobs
from etchcalc.pages.panels.price import PricePart
from etchcalc.pages.panels.print_papers import PapersPart
from etchcalc.pages.panels.shelf import ShelfPart
from etchcalc.pages.panels.telephone import Telephone

# In the order in which a job meets them: heading, and the part.
PARTS = (
    ("Somebody is on the telephone", Telephone),
    ("The price of this job", PricePart),
    ("The day", DayPart),
    ("The shelf", ShelfPart),
    ("Papers to print", PapersPart),
    ("As it was done", DonePart),
    ("Past jobs", PastJobs),
)


def records_and_price(folder: str | None = None) -> "RecordsAndPrice":
    """Return the records and the price of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return RecordsAndPrice(Shop(shop_folder(folder)))


class RecordsAndPrice(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def text(self) -> str:
        """Return the whole result as plain text, without today's date."""
        return "\n".join(
            [self.commission.title, *(line for part in self.parts for line in part.text())]
        )

    def _build(self) -> None:
        self.parts = [make(self) for _, make in PARTS]
        found: list[widgets.Widget] = [style_sheet([]), self._head()]
        for (words, _), part in zip(PARTS, self.parts, strict=True):
            found += [html("etch-part", f"<h2>{words}</h2>"), part.body]
        found.append(widgets.HBox([self.saved], classes="etch-foot"))
        self.box = widgets.VBox(found, classes="etch etch-records")

    def _controls(self) -> list:
        return [control for part in self.parts for control in part.controls]

    def _as_said(self, name: str) -> str:
        commission = self.commission
        if name in commission.words:
            return commission.words[name]
        return super()._as_said(name) if name in commission.typed else ""

    def _draw_answers(self) -> None:
        """Everything here follows a moment later."""

    def _draw_sums(self) -> None:
        for part in self.parts:
            part.show()

    def _draw_plot(self) -> None:
        for part in self.parts:
            part.draw()
