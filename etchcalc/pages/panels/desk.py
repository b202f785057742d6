"""What any panel on a commission has: the commission, its plan, what is typed, the file.

Panels in several workbooks stand on one commission. Its file is the truth:
each panel looks for a newer one, and writes only what was changed in it.
"""

import asyncio
import gc
from dataclasses import replace
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, SYSTEMS, show
from etchcalc.core.vocabulary import term
from etchcalc.job import drawing
from etchcalc.job.commission import Commission
from etchcalc.job.drawing import Drawing
from etchcalc.job.givens import NOTHING_MORE, Known
from etchcalc.job.known import known_to
from etchcalc.job.plan import planned
from etchcalc.job.schema import ROWS
from etchcalc.job.shop import Shop
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Later, Slider, html, usual_words

LOOKS_EVERY = 1.0  # s
SETTLED_AFTER = 8.0  # s: the plots are drawn by then
DRAWN_BY = (
    "plate_width", "plate_height", "file", "black", "mirrored", "placed", "drawing_unit",
    "film_resolution", "scan_resolution", "thin_line",
)  # fmt: skip
BATH = ("bath_is", "bath_name")
NOTED = tuple(ROWS.values())


class Desk:
    """A plain object that shows as widgets and reads as text; the base of the panels.

    A panel gives `_build`, `_controls`, `_draw_answers`, `_draw_sums` and `_draw_plot`.

    Parameters
    ----------
    shop : Shop
    """

    box: widgets.Widget

    def __init__(self, shop: Shop):
        self.shop, self.name = shop, shop.current
        self._seen = self._stamp()
        self.commission = self._base = shop.open(self.name)
        self.drawing: Drawing | None = None
        self._measured: Drawing | None = None
        self._aside, fault = "", ""
        self.drawing, self._measured, self._aside = self._drawn(self.commission)
        known: Known = NOTHING_MORE
        try:
            known = known_to(shop.root, self.commission, self.name)
        except BadInput as missing:
            fault = str(missing)
        self.plan = planned(self.commission, self.drawing, known=known)
        self._quiet = False
        self.saved = html("etch-small etch-saved")
        self._build()
        self._late = Later(self._draw_sums, 0.15)
        self._keep = Later(self._write, 0.6)
        self._plot = Later(self._draw_plot, 1.0)
        self._show_everything()
        self._tell(fault)
        self._watch()

    # what it reads as ----------------------------------------------------------------------

    def text(self) -> str:
        """Return the whole result, ranges to two figures, as plain text."""
        return texts.as_text(self.plan)

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.box.model_id}
        return {"application/vnd.jupyter.widget-view+json": view, "text/plain": self.text()}

    # what is changed -----------------------------------------------------------------------

    def type(self, name: str, text: str, control=None) -> None:
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

    def say(self, said: dict[str, str], control) -> None:
        """Take what was said, of one thing or of several that belong together; "" is not said."""
        if self._quiet:
            return
        try:
            self._take(self.commission.changed(**said))
        except BadInput as fault:
            control.say(str(fault))
            return
        self._show_values(typed=control)

    def choose(self, **words: str) -> None:
        """Take a choice: the metal, the units."""
        if self._quiet:
            return
        try:
            self._take(self.commission.changed(**words))
            self._tell("")
        except BadInput as fault:
            self._tell(str(fault))
        self._show_everything()

    def use_factor(self, text: str) -> None:
        """Take the etch factor of the simulated groove, for a groove like it, or "" to let it go.

        One that was measured still counts before it.
        """
        grown = {"worked_depth": "depth", "worked_line": "finest_line"}
        like = {n: f"{self.plan.number(of):.4g} mm" if text else "" for n, of in grown.items()}
        self._take(self.commission.changed(worked_etch_factor=text, **like))

    def _take(self, commission: Commission) -> None:
        """Take a commission that can be planned; the last good plan holds where it cannot."""
        known = self.plan.known
        if any(commission.words[w] != self.commission.words[w] for w in BATH):
            known = known_to(self.shop.root, commission, self.name)
        self._work(commission, known)
        self._draw_answers()
        self._late()
        self._plot()
        self._keep()

    def _work(self, commission: Commission, known: Known) -> None:
        """Plan a commission; nothing is changed where that cannot be."""
        drawn = self.drawing, self._measured, self._aside
        before, now = _said(self.commission), _said(commission)
        if any(before.get(n) != now.get(n) for n in DRAWN_BY):
            drawn = self._drawn(commission)
        self.plan = planned(commission, drawn[0], self.plan, known)
        self.drawing, self._measured, self._aside = drawn
        self.commission = commission

    def _drawn(self, commission: Commission) -> tuple[Drawing | None, Drawing | None, str]:
        """Measure the drawing; one of another size is set aside, its open share kept."""
        try:
            found = drawing.measured(commission, self.shop.cache)
            return found, found, ""
        except BadInput as fault:
            aside = f"{fault} Until then the drawing is set aside."
            before, kept = self._measured, None
            if before is not None:
                face = commission.values["plate_width"] * commission.values["plate_height"]
                share = before.open_fraction
                kept = Drawing(share * face, share, None, None)
            return kept, before, aside

    # the file ------------------------------------------------------------------------------

    def look(self) -> None:
        """Take over what another panel has written since, unless something is to be written here."""
        if self._keep.waiting:
            return
        try:
            if (name := self.shop.current) != self.name:
                self.turn_to(name)
                return
            newer = self._newer()
            if newer is None:
                return
            self._take_over(newer)
        except BadInput as fault:
            self._tell(str(fault))
            return
        self._tell("")
        if _said(self.commission) != _said(newer):
            self._keep()

    def turn_to(self, name: str) -> None:
        """Turn to another job of the shop, for this and all other panels."""
        if self._keep.waiting:
            self._keep.now()
        commission = self.shop.open(name)
        known = known_to(self.shop.root, commission, name)
        self._measured = None
        drawn = self._drawn(commission)
        self.plan = planned(commission, drawn[0], known=known)
        self.drawing, self._measured, self._aside = drawn
        for control in self._controls():
            control.say("")  # of the job before
        self.name, self.commission, self._base = name, commission, commission
        self._seen = self._stamp()
        self.shop.choose(name)
        self._show_everything()
        self._tell("")

    def _watch(self) -> None:
        """Look at the file again and again, where an event loop runs."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return

        def again() -> None:
            loop.call_later(LOOKS_EVERY, again)
            self.look()

        loop.call_later(LOOKS_EVERY, again)
        loop.call_later(SETTLED_AFTER, _settle)

    def _stamp(self) -> tuple[int, int]:
        path = self.shop.folder(self.name) / "commission.toml"
        try:
            found = path.stat()
        except OSError:
            return 0, 0
        return found.st_mtime_ns, found.st_size

    def _newer(self) -> Commission | None:
        """Return the commission of the file where another panel has changed it."""
        stamp = self._stamp()
        if stamp in (self._seen, (0, 0)):
            return None
        found = self.shop.open(self.name)
        if _said(found) != _said(self._base):
            return found
        self._seen = stamp
        return None

    def _take_over(self, newer: Commission) -> None:
        """Show a newer commission of the file, with what was changed here since the last."""
        stamp = self._stamp()
        merged = self._merged(newer)
        self._work(merged, known_to(self.shop.root, merged, self.name))
        self._base, self._seen = newer, stamp
        self._show_everything()

    def _merged(self, newer: Commission) -> Commission:
        base, own = _said(self._base), _said(self.commission)
        noted = {key: (base.pop(key), own.pop(key)) for key in NOTED}
        changed = {n: own.get(n, "") for n in {**base, **own} if own.get(n) != base.get(n)}
        merged = newer.changed(**changed) if changed else newer
        for key, (before, now) in noted.items():
            if now == before:
                continue
            added = now[len(before) :] if now[: len(before)] == before else None
            both = now if added is None else (*getattr(newer, key), *added)
            merged = replace(merged, **{key: both})  # type: ignore[arg-type]
        return merged

    def _write(self) -> None:
        try:
            newer = self._newer()
            if newer is not None:
                self._take_over(newer)
            self.shop.keep(self.commission, self.name)
            self._base, self._seen = self.commission, self._stamp()
        except BadInput as fault:
            self._tell(str(fault))

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        raise NotImplementedError

    def _controls(self) -> list:
        raise NotImplementedError

    def _draw_answers(self) -> None:
        raise NotImplementedError

    def _draw_sums(self) -> None:
        raise NotImplementedError

    def _draw_plot(self) -> None:
        raise NotImplementedError

    def _show_more(self) -> None:
        """Show what is neither a box nor a handle; nothing that it does counts as typed."""

    def _tell(self, sentence: str) -> None:
        """Show one sentence of a fault at the foot, or none; what is told of a save stays.

        The page may send a choice that was made before the save after it.
        """
        if sentence:
            self.saved.value = f"<b role='alert'>{escape(sentence)}</b>"
        elif "role='alert'" in self.saved.value:
            self.saved.value = ""

    def _head(self) -> widgets.Widget:
        self.title = html("etch-title")
        self.units = widgets.ToggleButtons(
            options=list(SYSTEMS), value=self.commission.units, classes="etch-toggle"
        )
        self.units.observe(lambda change: self.choose(units=change["new"]), "value")
        return widgets.HBox([self.title, self.units], classes="etch-head")

    def _show_everything(self) -> None:
        words = self.commission.words
        invented = " · invented demonstration" if words.get("invented") in ("yes", "True") else ""
        self.title.value = (
            f"<h2>{escape(self.commission.title)}</h2>"
            f"<span>{escape(words.get('client', ''))}{invented}</span>"
        )
        for control in self._controls():
            if isinstance(control, Slider):
                control.note.value = usual_words(control.term, self.commission.units)
        self._show_values()
        self._draw_answers()
        self._late()
        self._plot()

    def _show_values(self, typed=None) -> None:
        """Put every value into its boxes and handles; the box that was typed in stays as typed."""
        self._quiet = True
        try:
            self.units.value = self.commission.units
            for control in self._controls():
                said = self._as_said(control.name)
                if control is typed and not isinstance(control, Slider):
                    control.take(said)
                    continue
                (control.put if control is typed else control.show)(said)
                if isinstance(control, Slider):
                    middle = float(self.plan.ordered(control.name).magnitude)
                    control.place(middle, self.commission.off(control.name, "metric"))
            self._show_more()
        finally:
            self._quiet = False

    def _as_said(self, name: str) -> str:
        """Return a value as it was typed, or in the page's units where those are others."""
        said, system = self.commission.typed.get(name), self.commission.units
        entry = term(name)
        if said and (KINDS[entry.kind].words[SYSTEMS.index(system)] in said or system == "metric"):
            return said
        middle = show(self.plan.ordered(name), entry.kind, system, fixed=False)
        return middle + self.commission.off(name)


def _settle() -> None:
    """Leave what the page stands on out of the sweeps for garbage, and let these come seldom.

    A sweep among all that is imported takes a tenth of a second, and comes while a slider moves.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def _said(commission: Commission) -> dict:
    """Return all that a commission says, to be compared."""
    noted = {key: getattr(commission, key) for key in NOTED}
    return {**commission.typed, **commission.words, "metal": commission.metal, **noted}
