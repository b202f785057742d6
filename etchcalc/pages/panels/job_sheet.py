"""The job sheet: the plate and the questions, the three answers, the groove, what can be tried."""

from datetime import date
from html import escape

import ipywidgets as widgets

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, SYSTEMS, show
from etchcalc.core.vocabulary import term
from etchcalc.job import drawing
from etchcalc.job.commission import Commission
from etchcalc.job.drawing import Drawing
from etchcalc.job.plan import planned
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages import drawings, sheet
from etchcalc.pages.panels import texts
from etchcalc.pages.panels.controls import (
    Fold,
    Later,
    Slider,
    Typed,
    html,
    style_sheet,
    styled,
    usual_words,
)
from etchcalc.pages.panels.readings import Readings

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


class JobSheet:
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        self.shop, self.name = shop, shop.current
        self.commission = shop.open(self.name)
        self.drawing: Drawing | None = None
        self._measured: Drawing | None = None
        self._aside = ""
        self._refresh_drawing(self.commission)
        self.plan = planned(self.commission, self.drawing)
        self._quiet = False
        self._build()
        self._late = Later(self._draw_sums, 0.15)
        self._keep = Later(self._write, 0.6)
        self._plot = Later(self._draw_plot, 1.0)
        self._show_everything()

    # what it reads as ----------------------------------------------------------------------

    def text(self) -> str:
        """Return the whole result, ranges to two figures, as plain text."""
        return texts.as_text(self.plan)

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.box.model_id}
        return {"application/vnd.jupyter.widget-view+json": view, "text/plain": self.text()}

    # what is changed -----------------------------------------------------------------------

    def type(self, name: str, text: str, control: Typed | None = None) -> None:
        """Take what a person typed or slid; where it cannot be meant, say so and keep the last."""
        if self._quiet:
            return
        try:
            self._take(self.commission.with_one(name, text))
        except BadInput as fault:
            if control:
                control.say(str(fault))
            return
        self._show_values(typed=control)

    def choose(self, **words: str) -> None:
        """Take a choice: the metal, the units."""
        if self._quiet:
            return
        try:
            self._take(self.commission.changed(**words))
        except BadInput as fault:
            self.saved.value = f"<b role='alert'>{escape(str(fault))}</b>"
        self._show_everything()

    def _take(self, commission: Commission) -> None:
        plate = ("plate_width", "plate_height")
        if any(commission.values[n] != self.commission.values[n] for n in plate):
            self._refresh_drawing(commission)
        self.plan = planned(commission, self.drawing, self.plan)
        self.commission = commission
        self._draw_answers()
        self._late()
        self._plot()
        self._keep()

    def _refresh_drawing(self, commission: Commission) -> None:
        """Measure the drawing; one of another size is set aside, its open share kept."""
        self._aside = ""
        try:
            self.drawing = self._measured = drawing.measured(commission, self.shop.cache)
        except BadInput as fault:
            self._aside = f"{fault} Until then the drawing is set aside."
            before, self.drawing = self._measured, None
            if before is not None:
                area = (
                    before.open_fraction
                    * commission.values["plate_width"]
                    * commission.values["plate_height"]
                )
                self.drawing = Drawing(area, before.open_fraction, None, None)

    def save(self) -> str:
        """Save the record beside the commission and return the sentence to show."""
        try:
            self._keep.now()
            path = sheet.save(self.plan, self.shop.folder(self.name), date.today().isoformat())
        except BadInput as fault:
            return f"<b role='alert'>{escape(str(fault))}</b>"
        there = f"/files/commissions/{self.name}/record.html"
        return f"Saved in {escape(str(path.parent))}: <a href='{there}' target='_blank'>open the record to print</a>"

    def _write(self) -> None:
        try:
            self.shop.keep(self.commission, self.name)
        except BadInput as fault:
            self.saved.value = f"<b role='alert'>{escape(str(fault))}</b>"

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        self.typed = {name: Typed(name, self.type, words) for name, words in QUESTIONS.items()}
        self.sides = {name: Typed(name, self.type) for name in ("plate_width", "plate_height")}
        self.sliders = {name: Slider(name, self.type, words) for name, words in SLIDERS.items()}
        self.folds = {key: Fold(words) for key, (words, _) in SUMS.items()}
        self.warmer = Fold("If the bath is colder or warmer")
        self.readings = Readings(lambda: self.commission, self._on_reading)
        self.gauged = Fold("Gauged the plate? Enter the reading", self.readings.body)
        self.caution = html("etch-caution")
        self.cautions = Fold("Usual cautions, step by step")
        self.answers, self.rests, self.under_plate, self.saved = (
            html(c) for c in ("etch-one", "etch-small", "etch-small", "etch-small etch-saved")
        )
        button = styled(widgets.Button(description="Save the record"), "etch-save")
        button.on_click(self._on_save)
        rows = [w for s in self.sliders.values() for w in (s.row, s.says)]
        for key, fold in self.folds.items():
            styled(fold.body, f"etch-sum-{key}")
        sums = [w for fold in self.folds.values() for w in fold.widgets]
        parts = [
            style_sheet([s.term for s in self.sliders.values()]),
            self._head(),
            styled(widgets.HBox([self._plate(), self._questions()]), "etch-top"),
            self.answers,
            self.rests,
            *self.gauged.widgets,
            html("", "<h3>Try</h3>"),
            *rows,
            *self.warmer.widgets,
            *sums,
            *self.cautions.widgets,
            self.caution,
            styled(widgets.HBox([button, self.saved]), "etch-foot"),
        ]
        self.box = styled(widgets.VBox(parts), "etch", "etch-job-sheet")

    def _head(self) -> widgets.Widget:
        self.title = html("etch-title")
        self.units = styled(
            widgets.ToggleButtons(options=list(SYSTEMS), value=self.commission.units), "etch-toggle"
        )
        self.units.observe(lambda change: self.choose(units=change["new"]), "value")
        return styled(widgets.HBox([self.title, self.units]), "etch-head")

    def _plate(self) -> widgets.Widget:
        self.picture = html("etch-picture")
        for side in self.sides.values():
            styled(side.box, "etch-side")
        on = styled(
            widgets.Box([self.picture, *(s.box for s in self.sides.values())]), "etch-plate-box"
        )
        return widgets.VBox([on, *(s.says for s in self.sides.values()), self.under_plate])

    def _questions(self) -> widgets.Widget:
        alloys = {alloy["name"]: key for key, alloy in tables.load("alloys.toml").items()}
        self.metal = styled(
            widgets.Dropdown(
                description="Which metal", options=alloys, value=self.commission.metal
            ),
            "etch-question",
        )
        self.metal.observe(lambda change: self.choose(metal=change["new"]), "value")
        self.grooves = styled(
            widgets.ToggleButtons(options=GROOVES, value=None), "etch-toggle", "etch-grooves"
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

    def _on_groove(self, change) -> None:
        if change["new"]:
            self.type("depth", change["new"])

    def _on_save(self, button) -> None:
        self.saved.value = self.save()

    def _show_everything(self) -> None:
        invented = (
            " · invented demonstration"
            if self.commission.words.get("invented") in ("yes", "True")
            else ""
        )
        client = self.commission.words.get("client", "")
        self.title.value = (
            f"<h2>{escape(self.commission.title)}</h2><span>{escape(client)}{invented}</span>"
        )
        for slider in self.sliders.values():
            slider.note.value = usual_words(slider.term, self.commission.units)
        self._show_values()
        self._draw_answers()
        self._late()
        self._plot()
        self.readings.show(self.plan)
        hazard = self.commission.alloy.get("hazard")
        self.caution.value = texts.caution_html("mix", hazard)
        self.cautions.body.value = texts.cautions_html(hazard)

    def _show_values(self, typed: Typed | None = None) -> None:
        """Put every value into its boxes and handles; the box that was typed in stays as typed."""
        self._quiet = True
        try:
            for control in [*self.typed.values(), *self.sides.values(), *self.sliders.values()]:
                name = control.term.name
                if control is typed and not isinstance(control, Slider):
                    control.say("")
                    continue
                control.put(self._as_said(name))
                if isinstance(control, Slider):
                    control.place(self.plan.number(name))
            depth = self.plan.number("depth")
            near = [
                text for text in GROOVES.values() if abs(float(text.split()[0]) - depth) < 0.005
            ]
            self.grooves.value = near[0] if near else None
            self._draw_plate()
        finally:
            self._quiet = False

    def _as_said(self, name: str) -> str:
        """Return a value as it was typed, or in the page's units where those are others."""
        said, system = self.commission.typed.get(name), self.commission.units
        entry = term(name)
        if said and (KINDS[entry.kind].words[SYSTEMS.index(system)] in said or system == "metric"):
            return said
        return show(self.plan.middle(name), entry.kind, system, fixed=False)

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
        self.under_plate.value = f"<p>{share} of this face is open metal: {basis}.</p>" + (
            f"<p class='etch-aside'>{escape(self._aside)}</p>" if self._aside else ""
        )

    def _draw_answers(self) -> None:
        """One widget for sentence, groove and forecast: what moves together is sent together."""
        self.answers.value = texts.answers_html(self.plan)
        self.rests.value = texts.rests_html(self.plan)

    def _draw_plot(self) -> None:
        from etchcalc.pages import figures  # matplotlib: loaded after the page has opened

        self.warmer.body.value = figures.time_against_temperature(self.plan)

    def _draw_sums(self) -> None:
        for key, (_, names) in SUMS.items():
            known = [n for n in names if n in self.plan.book.uses]
            self.folds[key].body.value = "".join(texts.sum_html(self.plan, n) for n in known)
