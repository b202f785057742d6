"""The job sheet: the plate and the questions, the three answers, the groove, what can be tried."""

from contextlib import suppress
from datetime import date
from html import escape

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.job import keeping
from etchcalc.job.commission import Commission
from etchcalc.job.losses import looked_up
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages import drawings, sheet
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.another_way import AnotherWay
from etchcalc.pages.panels.controls import (
    Fold,
    Slider,
    Typed,
    html,
    shown,
    style_sheet,
    styled,
)
from etchcalc.pages.panels.desk import Desk
from etchcalc.pages.panels.groove_shape import GrooveShape
from etchcalc.pages.panels.how_sure import HowSure
from etchcalc.pages.panels.readings import Readings
from etchcalc.pages.panels.which_job import WhichJob

QUESTIONS = {
    "plate_thickness": "How thick",
    "finest_line": "Finest line wanted",
    "depth": "How deep",
    "plate_count": "How many off",
}
SLIDERS = {
    "depth": "Depth",
    "temperature": "Bath temperature",
    "strength": "Strength",
    "finest_line": "Finest line",
}
BRING = " Your drawing tells better: bring it to <a href='2-film.ipynb'>the film</a>."
GROOVES = {"to feel": "0.08 mm", "to fill": "0.2 mm", "deep": "0.4 mm"}
SUMS = {
    "film": ("The sum: how to draw the film", ("usual_etch_factor", "etch_factor", "undercut", "film_line", "greatest_depth")),
    "bath": ("The sum: what to mix", ("etchant_level", "etchant_volume", "etchant_crystals", "etchant_mass_fraction", "etchant_density", "etchant_water")),
    "lift": ("The sum: when to lift and gauge", ("open_plate_velocity", "narrow_line_velocity", "fresh_rate", "tiring", "etch_rate", "etch_time", "too_deep_time", "gauge_time")),
    "paint": ("The sum: stop-out, fill, metal and ferric", ("stop_out_area", "stop_out_paint", "fill_paint", "metal_removed", "ferric_used", "ferric_left")),
}  # fmt: skip


def job_sheet(folder: str | None = None) -> "JobSheet":
    """Return the job sheet of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return JobSheet(Shop(shop_folder(folder)))


class JobSheet(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        self._versions: dict[str, int] = {}  # of each job's record, as this window knows it
        super().__init__(shop)

    def save(self) -> str:
        """Save the record beside the commission and return the sentence to show."""
        folder = self.shop.folder(self.name)
        told: list[str] = []
        try:
            self._keep.now()
            path = sheet.save(
                looked_up(self.plan), folder, date.today().isoformat(),
                self._versions.get(self.name), told.append,
            )  # fmt: skip
        except BadInput as fault:
            return f"<b role='alert'>{escape(str(fault))}</b>"
        self._versions[self.name] = keeping.version(folder)
        there = f"/files/commissions/{self.name}/record.html"
        return f"{' '.join(map(escape, told))} Saved in {escape(str(path.parent))}: <a href='{there}' target='_blank'>open the record to print</a>"

    def _build(self) -> None:
        self.which = WhichJob(self.shop, self._on_word, self.turn_to)
        self.another = Fold("This job's name and client; another job, a new one", self.which.body)
        self.typed = {name: Typed(name, self.type, words) for name, words in QUESTIONS.items()}
        self.sides = {name: Typed(name, self.type) for name in ("plate_width", "plate_height")}
        self.sliders = {name: Slider(name, self.type, words) for name, words in SLIDERS.items()}
        self.folds = {key: Fold(words) for key, (words, _) in SUMS.items()}
        self.other_way = AnotherWay(lambda: self.plan)
        self.another_way = Fold("Try another way; what would it take?", self.other_way.body)
        self.sure = HowSure()
        self.how_sure = Fold("How sure, and what to measure better", self.sure.body)
        self.shape = GrooveShape(lambda: self.plan, self.use_factor)
        self.grows = Fold("How the groove grows", self.shape.body)
        self.warmer = Fold("If the bath is colder or warmer")
        self.readings = Readings(lambda: self.commission, self._on_reading)
        self.gauged = Fold("Gauged the plate? Enter the reading", self.readings.body)
        self.caution = html("etch-caution")
        self.cautions = Fold("Usual cautions, step by step")
        self.answers, self.rests, self.under_plate = (
            html(c) for c in ("etch-one", "etch-small", "etch-small")
        )
        button = widgets.Button(description="Save the record", classes="etch-save")
        button.on_click(self._on_save)
        rows = [w for s in self.sliders.values() for w in (s.row, s.says)]
        for key, fold in self.folds.items():
            styled(fold.body, f"etch-sum-{key}")
        sums = [w for fold in self.folds.values() for w in fold.widgets]
        parts = [
            style_sheet([s.term for s in self.sliders.values()]),
            self._head(),
            *self.another.widgets,
            widgets.HBox([self._plate(), self._questions()], classes="etch-top"),
            self.answers,
            self.rests,
            *self.grows.widgets,
            *self.gauged.widgets,
            html("", "<h3>Try</h3>"),
            *rows,
            *self.another_way.widgets,
            *self.how_sure.widgets,
            *self.warmer.widgets,
            *sums,
            *self.cautions.widgets,
            self.caution,
            widgets.HBox([button, self.saved], classes="etch-foot"),
        ]
        self.box = widgets.VBox(parts, classes="etch etch-job-sheet")

    def _plate(self) -> widgets.Widget:
        self.picture = html("etch-picture")
        for side in self.sides.values():
            styled(side.box, "etch-side")
            side.box.layout = widgets.Layout()  # of its own: each stands at its edge of the plate
        on = widgets.Box(
            [self.picture, *(s.box for s in self.sides.values())], classes="etch-plate-box"
        )
        return widgets.VBox([on, *(s.says for s in self.sides.values()), self.under_plate])

    def _questions(self) -> widgets.Widget:
        alloys = {alloy["name"]: key for key, alloy in tables.load("alloys.toml").items()}
        self.metal = widgets.Dropdown(
            description="Which metal",
            options=alloys,
            value=self.commission.metal,
            classes="etch-question",
        )
        self.metal.observe(lambda change: self.choose(metal=change["new"]), "value")
        self.grooves = widgets.ToggleButtons(
            options=GROOVES, value=None, classes="etch-toggle etch-grooves"
        )
        self.grooves.observe(self._on_groove, "value")
        rows: list[widgets.Widget] = []
        for name, control in self.typed.items():
            rows += [
                styled(control.box, "etch-question"),
                *([self.grooves] if name == "depth" else []),
                control.says,
            ]
            if name == "plate_thickness":
                rows.append(self.metal)
        return widgets.VBox(rows)

    def _on_reading(self, commission: Commission) -> None:
        self._take(commission)
        self.readings.show(self.plan)

    def _on_word(self, name: str, text: str, control) -> None:
        self.choose(**{name: text})

    def _on_groove(self, change) -> None:
        if change["new"]:
            self.type("depth", change["new"])

    def _on_save(self, button) -> None:
        self.saved.value = self.save()

    def _controls(self) -> list:
        return [*self.typed.values(), *self.sides.values(), *self.sliders.values()]

    def _show_everything(self) -> None:
        super()._show_everything()
        if self.name not in self._versions:
            folder = self.shop.folder(self.name)
            with suppress(BadInput):  # a folder that cannot be written is told when it is saved
                keeping.settled(folder)
            self._versions[self.name] = keeping.version(folder)
        self.readings.show(self.plan)
        hazard = self.commission.alloy.get("hazard")
        self.caution.value = texts.caution_html("mix", hazard)
        self.cautions.body.value = texts.cautions_html(hazard)

    def _show_more(self) -> None:
        self.which.show(self.commission, self.name)
        self.metal.value = self.commission.metal
        # of a bath that was read or has a log it is a result
        asked = (
            self.commission.words["bath_is"] != "found on the shelf" and not self.plan.known.bath
        )
        shown(self.sliders["strength"].row, asked)
        depth = self.plan.number("depth")
        near = [text for text in GROOVES.values() if abs(float(text.split()[0]) - depth) < 0.005]
        self.grooves.value = near[0] if near else None
        self._draw_plate()

    def _draw_plate(self) -> None:
        width, height = (self.plan.number(n) for n in ("plate_width", "plate_height"))
        preview = self.drawing.preview if self.drawing else b""
        state = (width, height, len(preview))
        if getattr(self, "_plate_drawn", None) != state:
            self._plate_drawn = state
            self.picture.value, places = drawings.plate(width, height, preview)
            for name, (x, y) in places.items():
                self.sides[name].box.layout.left, self.sides[name].box.layout.top = (
                    f"{x:.1%}",
                    f"{y:.1%}",
                )
        share = show(self.plan.middle("open_fraction"), "share", fixed=False, count=3)
        basis = tables.STATUSES[self.plan.book.basis["open_fraction"]]
        bring = "" if self.commission.words["file"] else BRING
        self.under_plate.value = f"<p>{share} of this face is open metal: {basis}.{bring}</p>" + (
            f"<p class='etch-aside'>{escape(self._aside)}</p>" if self._aside else ""
        )

    def _draw_answers(self) -> None:
        """One widget for sentence, groove and forecast: what moves together is sent together."""
        self.answers.value = texts.answers_html(self.plan)

    def _draw_plot(self) -> None:
        from etchcalc.pages import figures  # matplotlib: loaded after the page has opened

        self.sure.show(self.plan)
        self.warmer.body.value = figures.time_against_temperature(self.plan)

    def _draw_sums(self) -> None:
        self.shape.refresh()
        self.rests.value = texts.rests_html(self.plan)
        self.other_way.show()
        for key, (_, names) in SUMS.items():
            self.folds[key].body.value = texts.sums_html(self.plan, names)
