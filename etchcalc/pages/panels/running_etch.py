"""The etch that runs, for a phone beside the bath: one time, one picture, four bars for a wet thumb."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, tzinfo
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.units import MM, Quantity, show
from etchcalc.job import running
from etchcalc.job.clocks import read_zone
from etchcalc.job.commission import Commission
from etchcalc.job.forecast import Standing, depths_at, standing
from etchcalc.job.running import Event, on_the_wall
from etchcalc.job.schema import GAUGED_ON
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages.panels import running_words as words
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import (
    Fold,
    Typed,
    Word,
    field,
    html,
    shown,
    style_sheet,
    styled,
)
from etchcalc.pages.panels.desk import Desk
from etchcalc.pages.panels.running_gauge import Gauge

MOVES_EVERY = 15.0  # s
LATE = "cleared_late"


def running_etch(folder: str | None = None) -> "RunningEtch":
    """Return the running etch of the shop's current commission.

    Parameters
    ----------
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return RunningEtch(Shop(shop_folder(folder)))


def now() -> datetime:
    """Return this instant."""
    return datetime.now(UTC)


class RunningEtch(Desk):
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    shop : Shop
    clock : callable, optional
        Tells the instant; this computer's clock where none is given.
    zone : tzinfo, optional
        Of the clocks shown; the commission's or this computer's where none is given.
    """

    def __init__(self, shop: Shop, clock: Callable[[], datetime] = now, zone: tzinfo | None = None):
        self.clock, self._zone = clock, zone
        self.running, self._read_at = running.NOTHING, ("", -1, -1)
        self._lifted: datetime | None = None
        self._ticks: asyncio.TimerHandle | None = None
        super().__init__(shop)

    def text(self) -> str:
        """Return the page as plain text; before the plates are in it holds no clock."""
        return words.as_text(self.plan, self.running, self.standing, self.zone)

    @property
    def zone(self) -> tzinfo | None:
        """The zone of the clocks shown: the commission's where it says one, else this computer's."""
        said = self.commission.words.get("zone", "")
        return self._zone or (read_zone(said) if said else None)

    @property
    def standing(self) -> Standing:
        """How the etch stands now."""
        return standing(self.plan, self.running, self.clock())

    # what is done at the bath --------------------------------------------------------------

    def start(self) -> None:
        """Note that the plates are in: now, or when the clock showed what was typed."""
        said = self.since.box.value
        try:
            at = self.clock()
            if said.strip():
                at = running.clock_before(said, at, self.zone)
            # with the shop's offset at that instant, which no change of the clocks moves
            at = datetime.fromisoformat(at.astimezone(self.zone).isoformat())
        except BadInput as fault:
            self.since.say(str(fault))
            return
        self.since.put("")
        self._note(Event("started", at, {"readings": str(len(self.commission.readings))}))

    def press(self, kind: str, **said: str) -> None:
        """Note what was done just now."""
        self._note(Event(kind, self.clock(), said))

    def undo(self) -> None:
        """Take back the last that was noted; a reading goes out of the commission too."""
        held = self.running.held
        if not held:
            return
        last = held[-1]
        if last.kind == "gauged":
            rows = list(self.commission.readings)
            if last.said in rows:
                del rows[len(rows) - 1 - rows[::-1].index(last.said)]
                try:
                    self._read_anew(replace(self.commission, readings=tuple(rows)))
                except BadInput as fault:
                    self._say(str(fault))
                    return
        self._note(running.undoing(last, self.clock()))

    def take(self, reading: dict[str, str]) -> None:
        """Take a gauge reading, at the instant at which Gauge was pressed.

        Raises
        ------
        BadInput
            It cannot be meant, or cannot be written.
        """
        at = self._lifted or self.clock()
        if self.standing.stopped and reading["gauged_on"] == GAUGED_ON[0]:
            raise BadInput("The fine lines are stopped out: gauge a wide field that is not.")
        whole = {"reading_time": f"{self._minutes(at):.1f} min", **reading}
        self._read_anew(self.commission.with_row("reading", whole))
        self._lifted = None
        self._note(Event("gauged", at, whole))
        self.told.value = f"<p>{escape(words.reading_said(whole))}</p>"

    def another(self) -> None:
        """Begin with the next load; what was noted of this one stays beside it."""
        try:
            self.running = running.another(self.shop.folder(self.name), self.clock())
        except BadInput as fault:
            self._say(str(fault))
        self._draw_answers()

    def _minutes(self, at: datetime) -> float:
        return self.running.minutes_at(at, timedelta(minutes=self.plan.number("look_pause")))

    def _read_anew(self, commission: Commission) -> None:
        self._take(commission)
        self._keep.now()  # a reading is not left waiting for its file
        self._show_values()

    def _note(self, event: Event) -> None:
        folder = self.shop.folder(self.name)
        try:
            self.running, told = running.note(folder, event, known=self.running)
            self._read_at = running.stamp(folder)
        except BadInput as fault:
            told = str(fault)
        self._say(told)
        self.told.value = ""
        self._draw_answers()
        self._tick_again()

    def _on_gauge(self) -> None:
        if self.gauge.is_open:
            self.gauge.close()
            return
        self._lifted = self.running.out_since or self.clock()
        self.gauge.open(self.commission, self._foretold(), self._about_gauge(), self.name)
        if self.standing.stopped:
            self.gauge.place.box.value = GAUGED_ON[1]

    def _foretold(self) -> dict:
        """Return the depth now by the place gauged: a wide field is less deep than a fine line."""
        depth = Quantity(depths_at(self.plan, self.standing.minutes)[1], MM)
        share = self.plan.number("field_depth") / self.plan.number("depth")
        return {GAUGED_ON[0]: depth, GAUGED_ON[1]: depth * share}

    def _about_gauge(self) -> str:
        assert self._lifted
        found, units = self.standing, self.commission.units
        low, high = (show(q, "fine", units) for q in (found.low, found.high))
        minutes = words.how_long(self._minutes(self._lifted))
        if found.stopped:
            return (
                f"Lifted at {on_the_wall(self._lifted, found.now, self.zone)}, after {minutes} in the bath. "
                "The fine lines are stopped out: gauge a wide field that is not."
            )
        return (
            f"Lifted at {on_the_wall(self._lifted, found.now, self.zone)}, after {minutes} in the bath: "
            f"{low.split()[0]} to {high} of metal is likely. Out longer than {show(self.plan.middle('look_pause'), 'time', units, fixed=False)}? "
            "Press Plates out, and Plates back in."
        )

    # the file ------------------------------------------------------------------------------

    def look(self) -> None:
        """Take over what another page has written of the commission, and of the etch."""
        super().look()
        if running.stamp(self.shop.folder(self.name)) != self._read_at:
            self._draw_answers()

    def _read(self) -> None:
        """Read the file where another page has written it, or another commission is looked at."""
        folder = self.shop.folder(self.name)
        stamp = running.stamp(folder)
        if stamp == self._read_at:
            return
        other, self._read_at = stamp[0] != self._read_at[0], stamp
        before = self.running.name
        try:
            found, told = running.opened(folder)
            if told and self.running.name and not other:  # what this page knows goes in again
                found, _ = running.note(folder, known=self.running)
                self._read_at = running.stamp(folder)
            self.running = found
        except BadInput as fault:
            told = str(fault)
        self._say(told)
        if other or self.running.name != before:
            self.gauge.close()

    # the clock -----------------------------------------------------------------------------

    def tick(self) -> None:
        """Move the clock on."""
        self._draw_answers()

    def _watch(self) -> None:
        super()._watch()
        self._tick_again()

    def _tick_again(self) -> None:
        """Draw again in a while, or just when the next thing is to be done."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            return
        if self._ticks:
            self._ticks.cancel()
        coming = self.standing.next_instant
        seconds = (coming - self.clock()).total_seconds() + 0.2 if coming else MOVES_EVERY

        def again() -> None:
            self.tick()
            self._tick_again()

        self._ticks = loop.call_later(min(max(seconds, 0.2), MOVES_EVERY), again)

    # what is typed -------------------------------------------------------------------------

    def type(self, name: str, text: str, control=None) -> None:
        """Take how much later than the rest a line cleared; left empty it is not said."""
        if self._quiet:
            return
        try:
            self._take(self.commission.changed(**{name: text}))
        except BadInput as fault:
            control.say(str(fault))
            return
        self._show_values(typed=control)

    def _cleared_now(self) -> None:
        self.late.put(f"{max(self._minutes(self.clock()), 0.0):.0f} min")
        self.type(LATE, self.late.box.value, self.late)

    def _as_said(self, name: str) -> str:
        return super()._as_said(name) if name in self.commission.typed else ""

    # what is seen --------------------------------------------------------------------------

    def _build(self) -> None:
        self._head()  # the units are chosen on the job sheet
        self.large, self.under = html("etch-large etch-aloud"), html("etch-under")
        self.picture, self.deep, self.water = (html(c) for c in ("", "etch-deep", "etch-water"))
        self.told, self.warned = html("etch-told"), html("etch-told")
        self.says, self.bell = html("etch-say"), html("etch-bell-box")
        self.bars = {
            kind: _bar(f"etch-bar etch-bar-{kind}", press=self._pressed(kind))
            for kind in words.BARS
        }
        self.gauge = Gauge(self.shop, self.take)
        self.watered = _bar("etch-bar etch-quiet", press=self._on_water)
        self.watered.description = "Water added"
        self.out = _bar("etch-bar etch-quiet", press=self._on_out)
        self.back = _bar("etch-bar etch-quiet etch-undo", press=self.undo)
        self._build_ends()
        self.pair = widgets.Box([self.watered, self.out, self.back], classes="etch-pair")
        bars = [self.bars[k] for k in words.BARS]
        self.body = widgets.VBox([self.picture, self.deep, self.water, *bars, self.gauge.body])
        self.rest = widgets.VBox([*self._late_part(), *self.ends.widgets])
        about = html("etch-small", words.ABOUT_BELL)
        parts = [
            *(style_sheet([]), self.title, self.large, self.under, self.told, self.warned),
            *(self.says, self.saved, self.entry, self.next, self.body, self.pair, self.rest),
            *(self.bell, about),
        ]
        self.box = widgets.VBox(parts, classes="etch etch-running")

    def _build_ends(self) -> None:
        """Build what stands before the plates are in and after they are out."""
        self.since = Word("in_since", lambda *_: None, "In since")
        self.go = _bar("etch-bar etch-take", press=self.start)
        self.go.description = "The plates are in"
        self.entry = widgets.VBox([field(self.since, "now, or 13:05"), self.go])
        self.next = _bar("etch-bar", press=self.another)
        self.next.description = "Another load goes in"
        self.end = _bar("etch-bar etch-quiet", press=lambda: self.press("ended"))
        self.end.description = "Taken out for good"
        self.ends = Fold("The etch is done", styled(self.end, "etch-body"))

    def _late_part(self) -> list[widgets.Widget]:
        self.late = Typed(LATE, self.type, "Later than the rest by")
        self.cleared = _bar("etch-bar etch-quiet", press=self._cleared_now)
        self.cleared.description = "It cleared just now"
        self.late_said = html("etch-late")
        asked = widgets.VBox([field(self.late, "such as 20 min"), self.cleared, self.late_said])
        return Fold("A line cleared late", styled(asked, "etch-body")).widgets

    def _pressed(self, kind: str) -> Callable[[], None]:
        return self._on_gauge if kind == "gauged" else lambda: self.press(kind)

    def _on_water(self) -> None:
        self.press("watered", water=show(self.standing.water, "little volume", "metric", 2))

    def _on_out(self) -> None:
        self.press("in" if self.running.out_since else "out")

    def _controls(self) -> list:
        return [self.late]

    def _draw_answers(self) -> None:
        self._read()
        found, state = self.standing, self.running
        first, second = words.large(state, found, self.zone)
        self.large.value = f"<p>{escape(first)}</p>"
        in_bath = state.started is not None and state.ended is None
        lines = words.before(self.plan)
        if second:
            lines = words.more(self.plan, found, self.zone) if in_bath else []
        self.under.value = escape(second) + "".join(f"<p>{escape(line)}</p>" for line in lines)
        for part, wanted in (
            (self.entry, state.started is None), (self.body, in_bath), (self.next, bool(state.ended)),
            (self.pair, state.started is not None), (self.out, in_bath), (self.watered, in_bath), (self.rest, in_bath),
        ):  # fmt: skip
            shown(part, wanted)
        self._ring(found if in_bath else None)
        if in_bath:
            self._draw_bath(found)
        held = state.held
        self.back.description = words.undo_words(held[-1] if held else None, found, self.zone)

    def _draw_bath(self, found: Standing) -> None:
        state = self.running
        self.picture.value = words.filling(self.plan, found)
        self.deep.value, self.water.value = (
            words.deep(self.plan, found),
            words.bath(self.plan, found),
        )
        for kind, button in self.bars.items():
            button.description, due = words.bar(kind, self.plan, state, found, self.zone)
            (button.add_class if due else button.remove_class)("etch-due")
            shown(button, kind in words.bars(found))
        self.out.description = "Plates back in" if state.out_since else "Plates out"
        self.late_said.value = words.late(self.plan, found)
        self.warned.value = words.warned(self.plan, state)

    def _ring(self, found: Standing | None) -> None:
        """Tell the page what is due; it rings once for each mark that is new, and names the window."""
        due = found.due if found else {}
        first = next((words.RINGS[name] for name in words.RINGS if name in due), "")
        marks = " ".join(due.values())
        self.bell.value = (
            f"<span class='etch-bell' data-bell='{marks}' data-words='{first}'></span>"
        )

    def _draw_sums(self) -> None:
        """The sums stand on the job sheet."""

    def _draw_plot(self) -> None:
        """Nothing is plotted."""

    def _show_everything(self) -> None:
        super()._show_everything()
        count = int(self.plan.number("plate_count"))
        plates = "1 plate" if count == 1 else f"{count} plates"
        self.title.value = f"<span>{escape(self.commission.title)} · {plates}</span>"

    def _say(self, sentence: str) -> None:
        self.says.value = f"<b role='alert'>{escape(sentence)}</b>" if sentence else ""


def _bar(classes: str, press: Callable[[], None]) -> widgets.Button:
    button = widgets.Button(classes=classes)
    button.on_click(lambda _: press())
    return button
