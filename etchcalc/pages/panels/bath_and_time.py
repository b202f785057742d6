"""Bath and time: what the bath is, how fast it is, when to lift."""

from collections.abc import Callable
from datetime import date
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.job import rate_map
from etchcalc.job.advice import advice
from etchcalc.job.commission import Commission
from etchcalc.job.known import enter_in_log, keep_lesson, top_up
from etchcalc.job.schema import SECOND_FACTS, WORDS
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.job.steps import second_fact
from etchcalc.pages import sheet
from etchcalc.pages.panels import texts, tray, widgets
from etchcalc.pages.panels.bath_log import BathLog
from etchcalc.pages.panels.bath_words import (
    BATH,
    CHOICES,
    ETCH,
    FACTS,
    FREE,
    GAUGE,
    HEAT,
    LATE,
    NEW,
    OF_STATE,
    SECOND,
    SHELF,
    SLIDERS,
    WARM,
    WRITTEN,
    asked,
    noted,
)
from etchcalc.pages.panels.controls import (
    Choice,
    Fold,
    Slider,
    Typed,
    Word,
    field,
    html,
    shown,
    style_sheet,
    styled,
)
from etchcalc.pages.panels.desk import Desk
from etchcalc.pages.panels.how_sure import AMap
from etchcalc.pages.panels.lessons import Lessons
from etchcalc.pages.panels.readings import FromFile, Readings


def bath_and_time(folder: str | None = None) -> "BathAndTime":
    """Return the bath and the time of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return BathAndTime(Shop(shop_folder(folder)))


class BathAndTime(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        # what was chosen or typed, but says something only with what is still to be typed
        self._wanted = ""
        self._fact = ""
        self._kept: dict[str, str] = {}
        super().__init__(shop)

    def text(self) -> str:
        """Return the whole result, ranges to two figures, as plain text."""
        return "\n".join([texts.bath_text(self.plan), *tray.told(self.plan)])

    # what is changed -----------------------------------------------------------------------

    @property
    def state(self) -> str:
        """What the bath is, as chosen; the commission follows when enough of it is said."""
        return self._wanted or self.commission.words["bath_is"]

    @property
    def fact(self) -> str:
        """The second fact about a bath found on the shelf, as chosen."""
        return second_fact(self.commission) or self._fact

    def type(self, name: str, text: str, control=None) -> None:
        """Take what a person typed or slid, with what was chosen before it."""
        if self._quiet:
            return
        if name in SECOND:
            self._take_said(self._two_depths(), control)
        elif text.strip() and name not in (*FREE, *OF_STATE[SHELF]) and not self._wanted:
            super().type(name, text, control)
        else:
            self._take_said({name: text}, control)

    def _two_depths(self) -> dict[str, str]:
        """Return line and depth of the deeper lines; nothing until both are typed."""
        said = {name: self.boxes[name].box.value.strip() for name in SECOND}
        self._kept |= said
        return said if all(said.values()) else dict.fromkeys(SECOND, "")

    def _choose_bath(self, name: str, answer: str, control: Choice) -> None:
        if self._quiet:
            return
        self._wanted = answer
        # how much there was of an older bath is kept for another change of mind
        move = self._put_aside if answer == NEW else self._take_back
        self._take_said(move("bath_volume"), control)

    def _choose_fact(self, name: str, answer: str, control: Choice) -> None:
        if self._quiet:
            return
        self._fact = answer
        others = [n for n in SECOND_FACTS if n != answer]
        said = self._put_aside(*others)
        self._take_said(said | (self._take_back(answer) if answer else {}), control)

    def _put_aside(self, *names: str) -> dict[str, str]:
        typed = {n: self.commission.typed[n] for n in names if n in self.commission.typed}
        self._kept |= typed
        return dict.fromkeys(typed, "")

    def _take_back(self, name: str) -> dict[str, str]:
        text = self._kept.pop(name, "")
        return {name: text} if text else {}

    def _take_said(self, said: dict[str, str], control) -> None:
        """Take what was said with the bath that was chosen, or alone while that says too little."""
        wanted = {"bath_is": self._wanted} if self._wanted else {}
        faults: list[str] = []
        for together in ({**wanted, **said}, said) if wanted else (said,):
            try:
                self._take(self.commission.changed(**together))
                break
            except BadInput as fault:
                faults.append(str(fault))
        else:
            control.say(faults[-1])
            return
        if not faults:
            self._wanted = ""
        self._show_values(typed=control)
        if faults and self.state != SHELF:  # of that the note says what is missing
            self.bath_is.say(faults[0])

    def _on_reading(self, commission: Commission) -> None:
        self._take(commission)
        self.readings.show(self.plan)
        self.lessons.show(self.plan)

    def _keep_lesson(self) -> str:
        self._keep.now()
        path = keep_lesson(self.shop.root, self.plan, self.name, date.today().isoformat())
        return f"Kept in {path.name}: the next job in this tray, of this metal and width, begins from it."

    def enter(self, day: str) -> str:
        """Enter the job in the log of its bath and return the sentence to show."""
        try:
            self._keep.now()
            path = enter_in_log(self.shop.root, self.plan, self.name, day)
            self.turn_to(self.name)
        except BadInput as fault:
            return f"<b role='alert'>{escape(str(fault))}</b>"
        return f"Entered in {escape(path.name)}; entered again it takes the place of this entry."

    def _on_topping(self, said: dict[str, str], day: str) -> str:
        """Enter what was put into the bath, and plan with what it is now."""
        path = top_up(self.shop.root, self.commission, said, day)
        self.turn_to(self.name)
        return f"Entered in {path.name}."

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        self.boxes: dict[str, Word] = {}
        self.fields: dict[str, widgets.Widget] = {}
        for name, (words, hint) in {**BATH, **HEAT, **SECOND, **LATE, **GAUGE}.items():
            make: Callable = Word if name in FREE else Typed
            self.boxes[name] = make(name, self.type, words)
            self.fields[name] = field(self.boxes[name], hint)
        self.map = AMap(lambda: self.plan)
        self.tray = tray.Tray(self.type)
        self.log = BathLog(self.type, self.enter, self._on_topping)
        self.bath_is = Choice("bath_is", {w: w for w in OF_STATE}, self._choose_bath)
        self.second = Choice("fact", FACTS, self._choose_fact, "A second fact")
        self.ways = {
            name: Choice(
                name,
                {w: w for w in (WORDS["tray"] | WORDS["bath"])[name] or ()},
                self._choose_way,
                words,
            )
            for name, words in CHOICES.items()
        }
        self.sliders = {name: Slider(name, self.type, words) for name, words in SLIDERS.items()}
        self.readings = Readings(lambda: self.commission, self._on_reading)
        self.from_file = FromFile(lambda: self.commission, self._on_reading)
        self.lessons = Lessons(lambda: self.commission, self._on_reading, self._keep_lesson)
        self.note, self.answers, self.heat, self.two, self.caution = (
            html(c)
            for c in (
                "etch-small",
                "etch-one",
                "etch-heat",
                "etch-small etch-two-said",
                "etch-caution",
            )
        )
        self.folds = {
            "tray": Fold("The tray as loaded, and how the plates stand", self.tray.body),
            "strip": Fold("A test strip, and what this job taught", self.lessons.body),
            "measures": Fold("The same strength in every measure"),
            "rates": Fold("Rate against strength and temperature"),
            "map": Fold("A map over any two inputs", self.map.body),
            "log": Fold("The bath's log", self.log.body),
            "etch": Fold("The sum: how fast, and when to lift"),
            "bath": Fold("The sum: what the bath is"),
            "warm": Fold("The sum: heat and water"),
            "cautions": Fold("Usual cautions, step by step"),
        }
        for key, fold in self.folds.items():
            styled(fold.body, f"etch-sum-{key}")
        parts = [
            style_sheet([s.term for s in self.sliders.values()]),
            self._head(),
            *self._bath(),
            self.answers,
            html("", "<h3>Try</h3>"),
            *(w for s in self.sliders.values() for w in (s.row, s.says)),
            *(field(way) for way in self.ways.values()),
            html("", "<h3>The tray's heat</h3>"),
            self._grid(HEAT),
            self.heat,
            self.caution,
            html("", "<h3>Gauged the plate?</h3>"),
            self._grid(GAUGE),
            self.readings.body,
            self.from_file.body,
            html("", "<h3>Two depths on one plate</h3>"),
            self._grid(SECOND),
            self.two,
            html("", "<h3>A line that was blocked, and cleared late</h3>"),
            self._grid(LATE),
            *(w for fold in self.folds.values() for w in fold.widgets),
            widgets.HBox([self.saved], classes="etch-foot"),
        ]
        self.box = widgets.VBox(parts, classes="etch etch-bath-and-time")

    def _bath(self) -> list[widgets.Widget]:
        self.of_shelf = styled(field(self.second), "etch-across")
        first = [n for n in BATH if n not in (*SECOND_FACTS, "sample_volume")]
        facts = [n for n in BATH if n not in first]
        grid = [*(self.fields[n] for n in first), self.of_shelf, *(self.fields[n] for n in facts)]
        return [
            html("", "<h3>What is the bath?</h3>"),
            field(self.bath_is),
            widgets.VBox(grid, classes="etch-grid"),
            self.note,
        ]

    def _grid(self, names) -> widgets.Widget:
        return widgets.VBox([self.fields[name] for name in names], classes="etch-grid")

    def _choose_way(self, name: str, answer: str, control: Choice) -> None:
        if not self._quiet:
            self._take_said({name: answer}, control)

    def _controls(self) -> list:
        return [
            *self.boxes.values(),
            *self.tray.boxes.values(),
            self.log.name,
            *self.sliders.values(),
            *self.ways.values(),
        ]

    def _as_said(self, name: str) -> str:
        commission = self.commission
        if name in commission.words:
            return commission.words[name]
        if name not in commission.typed and (BATH | SECOND | LATE | GAUGE).get(name, ("", ""))[1]:
            return self._kept.get(name, "")
        return super()._as_said(name)

    def _show_more(self) -> None:
        self.bath_is.put(self.state)
        self.second.put(self.fact)
        on_shelf, logged = self.state == SHELF, self._logged
        wanted = asked(self.state, self.fact, logged)
        if self.state == NEW and "bath_volume" in self.commission.typed:
            wanted.add("bath_volume")
        for name in BATH:
            shown(self.fields[name], name in wanted)
        shown(self.of_shelf, on_shelf)
        shown(self.sliders["strength"].row, not (on_shelf or logged))
        words = BATH["strength"][0]
        self.boxes["strength"].box.description = (
            words if self.state == NEW else f"{words} when fresh"
        )
        mark = "b" if self._wanted else "span"
        self.note.value = f"<p><{mark}>{escape(self._note())}</{mark}></p>"
        (self.answers.add_class if self._wanted else self.answers.remove_class)("etch-of-before")

    @property
    def _logged(self) -> bool:
        return self.state == WRITTEN and self.plan.known.bath is not None

    def _note(self) -> str:
        bath = self.plan.known.bath if self._logged else None
        waits = self._wanted == SHELF
        return noted(self.state, self.fact, waits, bath, self.commission.units)

    def _draw_answers(self) -> None:
        self.answers.value = texts.bath_html(self.plan)
        self.heat.value = f"<p>{sheet.bold(texts.heat_said(self.plan))}</p>"
        found = next((a.text for a in advice(self.plan) if a.key == "second"), "")
        half = any(self._kept.get(n) for n in SECOND) and not found
        said = found or (
            "Type both, the width of the deeper lines and their depth."
            if half
            else "Numerals, say, deeper than the fine lines: those are stopped out when they are done, and the plate goes back."
        )
        self.two.value = f"<p>{escape(said)}</p>"

    def _show_everything(self) -> None:
        super()._show_everything()
        self.readings.show(self.plan)
        self.lessons.show(self.plan)
        hazard = self.commission.alloy.get("hazard")
        self.caution.value = texts.caution_html("etch", hazard)
        self.folds["cautions"].body.value = texts.cautions_html(hazard)

    def _draw_sums(self) -> None:
        sums = {"etch": ETCH, "bath": self.plan.worked_in("mix"), "warm": WARM}
        for key, names in sums.items():
            self.folds[key].body.value = texts.sums_html(self.plan, names)
        self.folds["measures"].body.value = texts.rows_html(texts.measures(self.plan))
        self.log.show(self.shop.root, self.plan)
        self.tray.show(self.plan)

    def _draw_plot(self) -> None:
        from etchcalc.pages import figures  # matplotlib: loaded after the page has opened

        self.map.show()
        found = texts.mapped(self.plan)
        table = rate_map.table(found, self.commission.units)
        self.folds["rates"].body.value = (
            f"<p>{escape(rate_map.said(found, self.plan))}</p>"
            f"{figures.rate_against_strength(self.plan)}{texts.rows_html(table, headed=True)}"
        )
