"""The gauge at the running etch: − and + from the depth foretold, over film or on bare metal."""

from collections.abc import Callable
from typing import Any

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.job.commission import Commission
from etchcalc.job.commission_file import opened
from etchcalc.job.schema import GAUGED_ON
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Choice, Typed, field, html, kept, shown

BARE, FILM = "bare", "film"
STEPS = {"metric": Quantity(0.01, unit("mm"))}
STEP = Quantity(0.5, unit("thou"))  # of the other systems
NONE = "0 mm"


class Gauge:
    """What opens under the bar Gauge.

    Parameters
    ----------
    shop : Shop
        Its last reading over film tells how thick the film is.
    taken : callable
        Called with the reading as typed, without its time; raises BadInput where it cannot be.
    """

    def __init__(self, shop: Shop, taken: Callable[[dict[str, str]], None]):
        self._shop, self._taken = shop, taken
        self._units = "metric"
        self._foretold: dict[str, Any] = {}
        self.about = html("etch-gauge-about")
        self.box = Typed("reading_depth", kept, "")
        self.less, self.more = (
            widgets.Button(description=words, tooltip=tip, classes="etch-step")
            for words, tip in (("−", "less"), ("+", "more"))
        )
        self.less.on_click(lambda _: self.step(-1))
        self.more.on_click(lambda _: self.step(1))
        self.over = Choice("over", {"on bare metal": BARE, "over film": FILM}, self._turned)
        self.place = Choice("place", {w: w for w in GAUGED_ON}, self._turned)
        self.film = Typed("film_under_gauge", self._filmed, "Film under the foot")
        self._film = field(self.film, "such as 38 µm")
        self._before, self._begun = NONE, ""
        self.take = widgets.Button(description="Take this reading", classes="etch-bar etch-take")
        self.take.on_click(lambda _: self._take())
        self.says = html("etch-say")
        row = widgets.HBox([self.less, self.box.box, self.more], classes="etch-steps")
        self.body = widgets.VBox(
            [self.about, row, self.over.box, self._film, self.place.box, self.says, self.take],
            classes="etch-gauge-form",
        )
        self.close()

    def open(self, commission: Commission, foretold: dict[str, Any], about: str, name: str) -> None:
        """Open from the depth foretold.

        Parameters
        ----------
        commission : Commission
        foretold : dict of str to Quantity
            Depth by the place gauged.
        about : str
            What is said above.
        name : str
            Of the commission.
        """
        self._units, self._foretold = commission.units, foretold
        last = commission.readings[-1] if commission.readings else {}
        thick = film_last(self._shop, commission, name)
        self.film.put(thick)
        self._before = thick or NONE
        over_film = last.get("film_under_gauge", NONE) != NONE
        self.over.put(FILM if over_film else BARE)
        self.place.put(last.get("gauged_on", GAUGED_ON[0]))
        self.about.value, self.says.value = about, ""
        self._show()
        self.box.put("")
        self._begin()
        shown(self.body, True)

    def close(self) -> None:
        """Close; what stood in it is not taken."""
        self.is_open = False
        shown(self.body, False)

    def step(self, count: int) -> None:
        """Move the reading by a step, to the next whole one."""
        try:
            now = term("reading_depth").read(self.box.box.value, self._units)
        except BadInput as fault:
            self._say(str(fault))
            return
        self._put(now, count)

    def _put(self, depth, count: int = 0) -> None:
        each = STEPS.get(self._units, STEP)
        whole = round(float((depth / each).to("").magnitude)) + count
        self.box.put(show(max(whole, 1) * each, "fine", self._units))
        self._say("")

    def _begin(self) -> None:
        """Put what the gauge should read: the depth foretold, and the film where it stands on film.

        What was set already stays: the gauge reads what it reads, whatever is said of it after.
        """
        self.is_open = True
        if self.box.box.value not in ("", self._begun):
            return
        film = Quantity(0.0, unit("mm"))
        if self.over.box.value == FILM and self._thick():
            film = term("film_under_gauge").read(self._thick(), self._units)
        self._put(self._foretold[self.place.box.value] + film)
        self._begun = self.box.box.value

    def _thick(self) -> str:
        return self.film.box.value.strip()

    def _show(self) -> None:
        shown(self._film, self.over.box.value == FILM)

    def _turned(self, name: str, answer: str, control: Choice) -> None:
        self._show()
        self._begin()

    def _filmed(self, name: str, text: str, control: Typed) -> None:
        try:
            control.term.read(text, self._units)
        except BadInput as fault:
            control.say(str(fault))
            return
        control.say("")
        self._begin()

    def _say(self, sentence: str) -> None:
        self.box.say(sentence)
        self.says.value = self.box.says.value

    def _take(self) -> None:
        over = self.over.box.value == FILM
        if over and not self._thick():
            self.film.say("Type how thick the film under the gauge's foot is, such as 38 µm.")
            return
        reading = {
            "reading_depth": self.box.box.value.strip(),
            "film_under_gauge": self._thick() if over else NONE,
            "gauged_on": self.place.box.value,
        }
        try:
            self._taken(reading)
        except BadInput as fault:
            self._say(str(fault))
            return
        self.close()


def film_last(shop: Shop, commission: Commission, name: str) -> str:
    """Return how thick the film under the gauge was at the shop's last reading over film; "" if none.

    Parameters
    ----------
    shop : Shop
    commission : Commission
        The one that is looked at first.
    name : str
        Of its folder.
    """
    if found := _film_of(commission):
        return found
    paths = [shop.folder(n) / "commission.toml" for n in shop.names if n != name]
    for path in sorted(paths, key=_when, reverse=True)[:20]:
        try:
            if found := _film_of(opened(path)):
                return found
        except BadInput:  # another job's fault is told where that job is opened
            continue
    return ""


def _film_of(commission: Commission) -> str:
    for reading in reversed(commission.readings):
        film = reading.get("film_under_gauge", "").strip()
        if film and term("film_under_gauge").read(film).magnitude > 0:
            return film
    return ""


def _when(path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0
