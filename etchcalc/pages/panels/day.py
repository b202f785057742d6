"""The day of the job by the clock: its picture, its entries, clashes, a file for the calendar."""

from datetime import UTC, datetime, time, timedelta
from html import escape

from etchcalc.core.faults import BadInput
from etchcalc.core.units import clock, show
from etchcalc.core.vocabulary import term
from etchcalc.job import calendar_file, opening
from etchcalc.job.clocks import beside
from etchcalc.job.files import write_whole
from etchcalc.job.schedule import Day
from etchcalc.job.schema import SECTIONS
from etchcalc.pages import day_drawing
from etchcalc.pages.panels import texts, widgets
from etchcalc.pages.panels.controls import Fold, Typed, Word, field, html, styled
from etchcalc.pages.panels.desk import Desk

# By the commission's own names: label, and what stands in the box while nothing is typed.
WORDS = {
    "starts": ("Starts", "such as 2027-03-26 08:30"),
    "opens": ("The shop opens", opening.USUAL["opens"]),
    "closes": ("It closes", opening.USUAL["closes"]),
    "zone": ("Time zone", "such as Europe/London"),
}
TIMES = SECTIONS["day"]
NO_START = (
    "Type when the work starts, such as 2027-03-26 08:30; then the day stands here by the clock."
)
NO_ZONE = "No time zone is typed: the clock counts as UTC, and the calendar's file too."


class DayPart:
    """The day sheet of what is planned.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self._beside = opening.Beside(desk.shop)
        self.boxes: dict[str, Word] = {
            name: Word(name, self._typed, words) for name, (words, _) in WORDS.items()
        }
        self.times = {name: Typed(name, self._typed, _label(name)) for name in TIMES}
        self.controls: list = [*self.boxes.values(), *self.times.values()]
        self.answer, self.picture, self.clashes, self.says = (
            html(c)
            for c in ("etch-one", "etch-day-picture", "etch-clashes", "etch-small etch-saved")
        )
        hands = [field(box, _usual(name)) for name, box in self.times.items()]
        self.hands = Fold(
            "How long the work by hand takes",
            widgets.VBox([widgets.VBox(hands, classes="etch-grid")], classes="etch-body"),
        )
        self.list = Fold("The day, line by line")
        styled(self.list.body, "etch-day-list")
        self.button = widgets.Button(description="Calendar file", classes="etch-plain")
        self.button.on_click(lambda _: self._on_file())
        boxes = [field(self.boxes[name], hint) for name, (_, hint) in WORDS.items()]
        self.body = widgets.VBox(
            [
                widgets.VBox(boxes, classes="etch-grid"),
                self.answer,
                self.clashes,
                self.picture,
                *self.list.widgets,
                *self.hands.widgets,
                widgets.HBox([self.button, self.says], classes="etch-foot"),
            ],
            classes="etch-day-part",
        )

    def show(self) -> None:
        """Draw the day, or say what it waits for."""
        job, why = self._day()
        self.button.disabled = job is None
        self.says.value = ""
        if job is None:
            self.answer.value = f"<p class='etch-aside' role='alert'>{escape(why)}</p>"
            self.picture.value = self.list.body.value = self.clashes.value = ""
            return
        self.answer.value = self._answer(job)
        opens, closes = map(_minutes, opening.hours(self.desk.commission))
        self.picture.value = day_drawing.day(
            day_drawing.entries(job), opens, closes, day_drawing.SAYS
        )
        head = ("", "what", "")
        self.list.body.value = texts.rows_html([head, *_rows(job)], headed=True)

    def draw(self) -> None:
        """Say where other jobs want the tray or the hands at the same time: they are planned for it."""
        job, _ = self._day()
        found = self._beside.clashes(job, self.desk.name) if job else []
        self.clashes.value = "".join(f"<p class='etch-aside'>{escape(line)}</p>" for line in found)

    def text(self) -> list[str]:
        """Return the day's entries with their clocks, and its warnings."""
        job, why = self._day()
        if job is None:
            return [why]
        return [*("  ".join(row) for row in _rows(job)), _in_all(job), *job.warnings]

    def _day(self) -> tuple[Day | None, str]:
        """Return the day; or None and why there is none, in a sentence."""
        try:
            job = opening.day_of(self.desk.plan)
        except BadInput as fault:
            return None, str(fault)
        return job, "" if job else NO_START

    def _answer(self, job: Day) -> str:
        warned = "".join(f"<p class='etch-out'>{escape(line)}</p>" for line in job.warnings)
        zone = "" if self.desk.commission.words["zone"] else f"<p>{escape(NO_ZONE)}</p>"
        return (
            f"<div class='etch-sentence' aria-live='polite'><p>{escape(_in_all(job))}</p></div>"
            f"<div class='etch-advice'>{warned}{zone}</div>"
        )

    # what is changed -----------------------------------------------------------------------

    def _typed(self, name: str, text: str, control: Word) -> None:
        self.desk.say({name: text}, control)

    def _on_file(self) -> None:
        job, why = self._day()
        name = self.desk.name
        try:
            if job is None:
                raise BadInput(why)
            content = calendar_file.calendar_text(job, name=name, stamp=datetime.now(UTC))
            write_whole(self.desk.shop.folder(name) / f"{name}.ics", content)
        except BadInput as fault:
            self.says.value = f"<b role='alert'>{escape(str(fault))}</b>"
            return
        self.says.value = (
            f"Saved: <a href='/files/commissions/{name}/{name}.ics' target='_blank'>{name}.ics</a>, "
            "with an alarm at every tilt, look and lift."
        )


def _label(name: str) -> str:
    """Return what a time's box is called."""
    words = term(name).words.removesuffix(" time")
    return f"{words[0].upper()}{words[1:]}"


def _usual(name: str) -> str:
    """Return what a time is taken to be while nothing is typed."""
    entry = term(name)
    return show(entry.quantity(float(entry.start or 0)), entry.kind, fixed=False)


def _minutes(of_day: time) -> float:
    return of_day.hour * 60 + of_day.minute


def _rows(job: Day) -> list[tuple[str, str, str]]:
    """Return the entries: from when to when, what, and whether the hands are busy."""
    return [
        (
            f"{job.clock(e.begin)}–{beside(e.end, e.begin, job.zone)}",
            e.what,
            "hands on" if e.hands_on else "waiting",
        )
        for e in job.entries
    ]


def _in_all(job: Day) -> str:
    """Return from when to when the job goes, and how much of it is work, in a sentence."""
    first = job.begin.astimezone(job.zone)
    hands, waits = (_long(span) for span in (job.hands_on, job.waiting))
    return (
        f"{first:%Y-%m-%d}, from {job.clock(job.begin)} to {job.clock(job.end)}: hands on for {hands}, "
        f"waiting for {waits}."
    )


def _long(span: timedelta) -> str:
    return clock(span / timedelta(minutes=1))
