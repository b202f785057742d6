"""The film: the maker's drawing read, measured, corrected by the undercut, and written."""

from html import escape
from pathlib import Path
from time import monotonic

from etchcalc.artwork.worker import SHARED, Progress
from etchcalc.core.faults import BadInput
from etchcalc.core.units import MM
from etchcalc.job import drawing
from etchcalc.job.commission import Commission
from etchcalc.job.film import Written, write_film
from etchcalc.job.losses import looked_up
from etchcalc.job.plan import Plan
from etchcalc.job.schema import WORDS
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages.panels import film_words, texts, widgets
from etchcalc.pages.panels.close_look import CloseLook
from etchcalc.pages.panels.controls import (
    Choice,
    Fold,
    Slider,
    Typed,
    field,
    html,
    shown,
    style_sheet,
)
from etchcalc.pages.panels.desk import DRAWN_BY, Desk
from etchcalc.pages.panels.groove_shape import GrooveShape
from etchcalc.pages.panels.latest import Latest

SUMS = ("usual_etch_factor", "etch_factor", "undercut", "film_line", "greatest_depth")
NO_FILE = "no drawing"
PATIENCE = 0.7  # s


def film(folder: str | None = None) -> "FilmDesk":
    """Return the film of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return FilmDesk(Shop(shop_folder(folder)))


class FilmDesk(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        self._reader = Latest(self._read, self._take_read, self._not_read, self._show_share)
        self._pictures = Latest(self._pictured, self._show_picture, self._tell)
        self._losses = Latest(self._lost, self._show_losses, self._not_compared, self._compared)
        self._writer = Latest(
            self._written, self._show_written, self._not_written, self._show_share
        )
        self._waiting: dict[str, str] = {}
        self._begun = 0.0
        super().__init__(shop)

    def text(self) -> str:
        """Return the whole result, ranges to two figures, as plain text."""
        if self.plan.losses is None:
            self.plan = looked_up(self.plan)
        return film_words.as_text(self.plan)

    # what is changed -----------------------------------------------------------------------

    def type(self, name: str, text: str, control=None) -> None:
        """Take what a person typed or slid; what the drawing hangs on is read beside the page."""
        if self._quiet:
            return
        if name in DRAWN_BY:
            self._change({name: text}, control)
        else:
            super().type(name, text, control)

    def _choose(self, name: str, answer: str, control: Choice) -> None:
        if not self._quiet:
            self._change({name: answer}, control)

    def _change(self, said: dict[str, str], control=None) -> None:
        """Read the drawing as it is said now; the page follows when it is read."""
        self._waiting = {**self._waiting, **said}
        try:
            commission = self.commission.changed(**self._waiting)
        except BadInput as fault:
            self._waiting = {}
            if control:
                control.say(str(fault))
            else:
                self._tell(str(fault))
            return
        self._tell("")
        self._progress("Reading the drawing", 0.0)
        self._reader(commission)

    def _read(self, commission: Commission, tell: Progress) -> Commission:
        drawing.measured(commission, self.shop.cache, tell)
        return commission

    def _take_read(self, commission: Commission) -> None:
        self._waiting = {}
        self._progress("")
        self._take(self._with_what_moved(commission))
        self._show_everything()

    def _not_read(self, sentence: str) -> None:
        """A drawing that cannot be read as said: the answers are kept, for the next one to mend."""
        self._progress("")
        said, self._waiting = self._waiting, {}
        if sentence:
            self._take(self.commission.changed(**said))
        self._show_everything()
        self._tell(sentence or "Broken off; the drawing stays as it was.")

    def _with_what_moved(self, commission: Commission) -> Commission:
        """Return a commission that was read with what was slid meanwhile."""
        depth = self.commission.typed.get("depth", "")
        return commission.changed(depth=depth) if depth else commission

    def _on_file(self, change) -> None:
        if not self._quiet and change["new"] is not None:
            self._change({"file": "" if change["new"] == NO_FILE else change["new"]})

    def _uploaded(self, change) -> None:
        if not change["new"]:
            return
        given = change["new"][0]
        try:
            name = self.shop.bring(self.name, given["name"], bytes(given["content"]))
            self._change({"file": name})
        except BadInput as fault:
            self._tell(str(fault))
        self.upload.value = ()

    # slow work, beside the page ------------------------------------------------------------

    def _pictured(self, plan: Plan, tell: Progress) -> bytes:
        return drawing.pictured(plan.commission, float(plan.middle("undercut").to(MM).magnitude))

    def _show_picture(self, picture: bytes) -> None:
        self._picture = picture
        self.plate.value = film_words.plate_html(self.plan, picture)

    def _lost(self, plan: Plan, tell: Progress) -> tuple[Plan, Plan]:
        self._begun = monotonic()
        return plan, looked_up(plan, tell)

    def _compared(self, share: float) -> None:
        """Show how far the comparison is, where it takes so long that one would wonder."""
        if monotonic() - self._begun > PATIENCE:
            self._progress("Comparing the pieces", share)

    def _not_compared(self, sentence: str) -> None:
        self._progress("")
        self._tell(sentence or "Broken off: what the undercut loses is not known.")

    def _show_losses(self, found: tuple[Plan, Plan]) -> None:
        asked, plan = found
        self._progress("")
        if asked is not self.plan:  # another depth meanwhile
            self._losses(self.plan)
            return
        self.plan = plan
        self.said.value = film_words.said_html(plan)
        self.folds["lost"].body.value = film_words.losses_html(plan)
        self._show_picture(self._picture)
        self.closer.show(plan)

    def _written(self, plan: Plan, tell: Progress) -> Written:
        return write_film(plan, self.shop.folder(self.name), tell)

    def _on_write(self, button) -> None:
        self._keep.now()
        self.done.value = ""
        self._progress("Writing the film", 0.0)
        self._writer(self.plan)

    def _show_written(self, film: Written) -> None:
        self._progress("")
        links = " and ".join(
            f"<a href='/files/commissions/{self.name}/{path.name}' target='_blank'>{path.name}</a>"
            for path in film.paths
        )
        self.done.value = (
            f"Saved: {links}, {film.width:.1f} × {film.height:.1f} mm at {film.resolution * 25.4:.0f} dpi. "
            "Print at 100 %, never “fit to page”, and measure it between the corner marks."
        )

    def _not_written(self, sentence: str) -> None:
        self._progress("")
        what = sentence or "Broken off; what was there is unchanged."
        self.done.value = f"<b role='alert'>{escape(what)}</b>"

    def _progress(self, words: str, share: float = 0.0) -> None:
        self.bar.description, self.bar.value = words, share
        shown(self.waits, bool(words))

    def _show_share(self, share: float) -> None:
        self.bar.value = share

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        self._picture, self.closer = b"", CloseLook(self._tell)
        self.boxes = {
            name: Typed(name, self.type, words) for name, (words, _) in film_words.BOXES.items()
        }
        self.fields = {
            name: field(box, film_words.BOXES[name][1]) for name, box in self.boxes.items()
        }
        self.ways = {
            name: Choice(name, {w: w for w in WORDS["artwork"][name] or ()}, self._choose, words)
            for name, words in film_words.CHOICES.items()
        }
        self.depth = Slider("depth", self.type, "Depth")
        self.resolution = Typed("film_resolution", self.type, "Its resolution")
        self.emulsion = Choice(
            "emulsion", {"up": "up", "down": "down"}, self._choose_emulsion, "Emulsion"
        )
        self.said, self.plate, self.rows, self.bars, self.done = (
            html(c) for c in ("etch-one", "etch-picture", "", "", "etch-small etch-saved")
        )
        self.shape = GrooveShape(lambda: self.plan, self.use_factor)
        self.folds = {
            "shape": Fold("How the groove grows", self.shape.body),
            "lost": Fold("What the undercut loses, piece by piece"),
            "drawn": Fold("For those who redraw: how wide to draw a line"),
            "sum": Fold("The sum: the undercut, and what the line takes"),
        }
        top, asked = self._questions()
        order = [
            html("", "<h3>The film to order or print</h3>"),
            widgets.VBox([field(self.resolution), field(self.emulsion)], classes="etch-grid"),
        ]
        found = [
            self.closer.body,
            *self.folds["lost"].widgets,
            widgets.HBox(
                [
                    self._titled("Measured", self.rows),
                    self._titled("Open metal by line width", self.bars),
                ],
                classes="etch-two",
            ),
        ]
        foot = self._foot()
        # an answer may mend a drawing that is not read: its resolution too
        self._asks, self._of_drawing = [asked, *order], [*found, foot]
        parts = [
            *(style_sheet([self.depth.term]), self._head(), html("", "<h3>Your drawing</h3>")),
            *(top, asked, self._waits(), self.said, html("", "<h3>Film and plate</h3>")),
            *(self.depth.row, self.depth.says, self.plate, *found, *order, foot),
            *(w for key in ("drawn", "sum", "shape") for w in self.folds[key].widgets),
            widgets.HBox([self.saved], classes="etch-foot"),
        ]
        self.box = widgets.VBox(parts, classes="etch etch-film")

    def _titled(self, words: str, body: widgets.Widget) -> widgets.Widget:
        return widgets.VBox([html("", f"<h3>{words}</h3>"), body])

    def _questions(self) -> tuple[widgets.Widget, widgets.Widget]:
        """Return the choice of a file, and what is asked of one."""
        self.file = widgets.Dropdown(
            description="File", options=[NO_FILE], classes="etch-question etch-in-file"
        )
        self.file.observe(self._on_file, "value")
        self.upload = widgets.FileUpload(
            accept=",".join(drawing.ENDINGS),
            multiple=False,
            classes="etch-plain etch-upload etch-upload-drawing",
        )
        self.upload.observe(self._uploaded, "value")
        top = widgets.HBox([self.file, self.upload], classes="etch-foot")
        asked = [*(field(way) for way in self.ways.values()), *self.fields.values()]
        self._asked = dict(zip([*self.ways, *self.fields], asked, strict=True))
        return top, widgets.VBox(asked, classes="etch-grid")

    def _waits(self) -> widgets.Widget:
        self.bar = widgets.FloatProgress(min=0.0, max=1.0)
        cancel = widgets.Button(description="Cancel", classes="etch-plain")
        cancel.on_click(lambda _: SHARED.cancel())
        self.waits = widgets.HBox([self.bar, cancel], classes="etch-foot etch-waits etch-hidden")
        return self.waits

    def _foot(self) -> widgets.Widget:
        button = widgets.Button(description="Write the film", classes="etch-save")
        button.on_click(self._on_write)
        return widgets.HBox([button, self.done], classes="etch-foot")

    def _choose_emulsion(self, name: str, answer: str, control: Choice) -> None:
        if not self._quiet:
            self._take(self.commission.changed(emulsion=answer))

    def _controls(self) -> list:
        return [
            *self.boxes.values(),
            self.depth,
            self.resolution,
            *self.ways.values(),
            self.emulsion,
        ]

    def _as_said(self, name: str) -> str:
        if name in self.commission.words:
            return self.commission.words[name]
        if name not in self.commission.typed and name in self.boxes:
            return ""
        return super()._as_said(name)

    def _show_more(self) -> None:
        folder, name = self.shop.folder(self.name), self.commission.words["file"]
        there = sorted(
            p.name
            for p in folder.glob("*")
            if p.suffix.lower() in drawing.ENDINGS and not p.name.startswith("film.")
        )
        self.file.options = [NO_FILE, *there]
        self.file.value = name if name in there else NO_FILE
        kind = Path(name).suffix.lower()
        said = self.commission.typed
        shown(self._asked["thin_line"], kind == ".dxf" or "thin_line" in said)
        shown(self._asked["drawing_unit"], kind == ".dxf")
        shown(
            self._asked["scan_resolution"], kind in film_words.BITMAPS or "scan_resolution" in said
        )

    def _draw_answers(self) -> None:
        measured = self.plan.drawing is not None and bool(self.plan.drawing.digest)
        for part in self._asks:
            shown(part, bool(self.commission.words["file"]))
        for part in self._of_drawing:
            shown(part, measured)
        self.said.value = film_words.said_html(self.plan) + (
            f"<p class='etch-aside'>{escape(self._aside)}</p>" if self._aside else ""
        )
        if measured:
            self._pictures(self.plan)
        else:
            self.plate.value = film_words.plate_html(self.plan, b"")
            self.folds["lost"].body.value = ""
            self.closer.show(self.plan)

    def _draw_sums(self) -> None:
        self.shape.refresh()
        self.rows.value = texts.rows_html(film_words.measured(self.plan))
        bars = film_words.shares(self.plan)
        self.bars.value = film_words.bars_html(bars)
        self.folds["drawn"].body.value = texts.rows_html(film_words.redrawn(self.plan), headed=True)
        self.folds["sum"].body.value = texts.sums_html(self.plan, SUMS)

    def _draw_plot(self) -> None:
        if self.plan.drawing is not None and self.plan.drawing.digest:
            self._losses(self.plan)
