"""The bench: every step from the bare sheet to the bath put away, with its sums and its cautions."""

from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.job import advice_on_bench
from etchcalc.job.bench_steps import LOSSES
from etchcalc.job.commission import Commission
from etchcalc.job.schema import OPTIONAL, WORDS
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages import sheet
from etchcalc.pages.panels import bench_words, texts, widgets
from etchcalc.pages.panels.bench_words import BLEMISH, BOXES, CHOICES, SODAS, WEDGE
from etchcalc.pages.panels.controls import (
    Choice,
    Fold,
    Typed,
    field,
    html,
    shown,
    style_sheet,
    styled,
)
from etchcalc.pages.panels.desk import Desk
from etchcalc.pages.panels.noted import Notes

DOSE = ("wanted_dose", "irradiance")


def bench(folder: str | None = None) -> "Bench":
    """Return the bench of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return Bench(Shop(shop_folder(folder)))


class Bench(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        self._kept: dict[str, str] = {}  # typed, but says something only with the other
        super().__init__(shop)

    def text(self) -> str:
        """Return the whole result, ranges to two figures, as plain text."""
        return bench_words.as_text(self.plan)

    # what is changed -----------------------------------------------------------------------

    def type(self, name: str, text: str, control=None) -> None:
        """Take what a person typed; what is left empty is not said."""
        if self._quiet:
            return
        if name in DOSE:
            self._take_dose(name, text, control)
        elif text.strip() and name not in OPTIONAL:
            super().type(name, text, control)
        else:
            self.say({name: text}, control)

    def _take_dose(self, name: str, text: str, control: Typed) -> None:
        """Take dose and light when both are typed; each alone is only looked at."""
        said = {name: self.boxes[name].box.value.strip() for name in DOSE}
        try:
            if text.strip():
                control.term.read(text, self.commission.units)
        except BadInput as fault:
            control.say(str(fault))
            return
        self._kept = said
        self.say(said if all(said.values()) else dict.fromkeys(DOSE, ""), control)

    def _choose(self, name: str, answer: str, control: Choice) -> None:
        self.say({name: answer}, control)

    def _note(self, commission: Commission) -> None:
        self._take(commission)
        self._show_values()

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        self.boxes = {
            name: Typed(name, self.type, words)
            for boxes in BOXES.values()
            for name, (words, _) in boxes.items()
        }
        self.ways = {
            name: Choice(name, {w: w for w in _answers(name)}, self._choose, words)
            for name, words in CHOICES.values()
        }
        self.soda = Choice("soda_waters", SODAS, self._choose, "Washing soda")
        self.wedges = Notes(
            "wedge", WEDGE, "Add the wedge", lambda: self.commission, self._note,
            bench_words.wedge_said,
        )  # fmt: skip
        self.blemishes = Notes(
            "blemish", BLEMISH, "Note it", lambda: self.commission, self._note,
            bench_words.blemish_said,
        )  # fmt: skip
        self.fields: dict[str, widgets.Widget] = {}
        self.said: dict[str, widgets.HTML] = {}
        self.cautions: dict[str, widgets.HTML] = {}
        self.sums: dict[str, Fold] = {}
        parts = [style_sheet([]), self._head(), self._told()]
        for key in BOXES:
            parts += self._step(key)
        parts.append(widgets.HBox([self.saved], classes="etch-foot"))
        self.box = widgets.VBox(parts, classes="etch etch-bench")

    def _told(self) -> widgets.Widget:
        self.told = html("etch-told")
        return self.told

    def _step(self, key: str) -> list[widgets.Widget]:
        self.said[key], self.cautions[key] = html("etch-do"), html("etch-caution")
        self.sums[key] = Fold("The sums")
        asked: list[widgets.Widget] = []
        if key in CHOICES:
            asked.append(styled(field(self.ways[CHOICES[key][0]]), "etch-across"))
        if key == "develop":
            asked.append(styled(field(self.soda), "etch-across"))
        for name, (_, hint) in BOXES[key].items():
            self.fields[name] = field(self.boxes[name], hint)
            asked.append(self.fields[name])
        found = [self.said[key], widgets.VBox(asked, classes="etch-grid")]
        if key == "expose":
            found += [html("", "<h3>A wedge exposed</h3>"), self.wedges.body]
        if key == "develop":
            found += [html("", "<h3>Retouch log</h3>"), self.blemishes.body]
        return [*found, *self.sums[key].widgets, self.cautions[key]]

    def _controls(self) -> list:
        return [*self.boxes.values(), *self.ways.values(), self.soda]

    def _as_said(self, name: str) -> str:
        commission = self.commission
        if name in commission.words:
            return commission.words[name]
        if name == "soda_waters":
            said = commission.values.get(name)
            return "" if said is None else f"{float(said.magnitude):g}"
        if name in OPTIONAL and name not in commission.typed:
            return self._kept.get(name, "")
        return super()._as_said(name)

    def _show_more(self) -> None:
        used = LOSSES[self.commission.words["painted"]]
        for name in LOSSES.values():
            shown(self.fields[name], name == used)
        self.wedges.show(self.commission)
        self.blemishes.show(self.commission)

    def _draw_answers(self) -> None:
        found = [rule(self.plan) for rule in advice_on_bench.RULES]
        self.told.value = "".join(f"<p>{escape(a.text)}</p>" for a in found if a is not None)
        for key, (title, lines) in bench_words.steps_said(self.plan).items():
            said = "".join(f"<li>{sheet.bold(line)}</li>" for line in lines if line)
            self.said[key].value = f"<h2>{escape(title)}</h2><ul>{said}</ul>"

    def _draw_sums(self) -> None:
        for key, fold in self.sums.items():
            fold.body.value = texts.sums_html(self.plan, self.plan.worked_in(key))

    def _draw_plot(self) -> None:
        """Nothing on the bench is plotted."""

    def _show_everything(self) -> None:
        super()._show_everything()
        hazard = self.commission.alloy.get("hazard")
        for key, caution in self.cautions.items():
            caution.value = texts.caution_html(key, hazard)
            shown(caution, bool(texts.cautions_said(key, hazard)))


def _answers(name: str) -> tuple[str, ...]:
    return next(words[name] for words in WORDS.values() if name in words) or ()
