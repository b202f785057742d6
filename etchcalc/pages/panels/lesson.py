"""A lesson for apprentices: the idea, a picture to play with, a sum worked, questions to practise."""

import re
from contextlib import suppress
from datetime import date
from html import escape
from urllib.parse import quote

from etchcalc.core.faults import BadInput
from etchcalc.core.units import KINDS, SYSTEMS, Quantity, show
from etchcalc.job.lesson_progress import Done, keep, name_of
from etchcalc.job.lesson_questions import Question, judged
from etchcalc.job.lessons import LESSONS, MOST, lesson_named, sheet, sheet_number
from etchcalc.job.shop import Shop, shop_folder
from etchcalc.pages import lesson_sheet
from etchcalc.pages.lesson_drawings import PLAYS, Knob
from etchcalc.pages.panels import widgets
from etchcalc.pages.panels.controls import Fold, Word, html, style_sheet, styled
from etchcalc.pages.panels.texts import lines_html

FIRST = 1  # the sheet that a lesson opens with


def lesson(key: str, folder: str | None = None) -> "LessonPanel":
    """Return a lesson by its name.

    Parameters
    ----------
    key : str
        A key of `LESSONS`, such as ``guess-the-width``.
    folder : str, optional
        The shop's folder; else ETCHCALC_SHOP, else ~/etchcalc.
    """
    return LessonPanel(key, Shop(shop_folder(folder)))


class _Handle:
    """A slider of a lesson's picture, with its value in words beside it."""

    def __init__(self, knob: Knob, moved):
        self.knob = knob
        self.slider = widgets.FloatSlider(
            min=knob.low, max=knob.high, step=knob.step, value=knob.start, description=knob.words,
            readout=False, classes="etch-slider",
        )  # fmt: skip
        self.note = html()
        self.slider.observe(lambda _: moved(), "value")
        self.row = widgets.HBox([self.slider, self.note], classes="etch-row")

    @property
    def quantity(self):
        """Where it stands."""
        return Quantity(round(self.slider.value, 6), KINDS[self.knob.kind].unit())

    def say(self, system: str) -> None:
        """Show where it stands in the page's units."""
        kind = self.knob.kind
        self.note.value = escape(show(self.quantity, kind, system, fixed=kind == "fine"))


class _Asked:
    """A question with its box, and what is said of the answer."""

    def __init__(self, place: int, answered):
        self.place = place
        self.text = html()
        self.box = Word(f"answer-{place}", lambda name, text, box: answered(self, text), "Answer")
        styled(self.box.box, "etch-question")
        self.verdict = html(f"etch-verdict etch-verdict-{place}")
        self.body = widgets.VBox(
            [self.text, self.box.box, self.box.says, self.verdict], classes="etch-ask"
        )

    def ask(self, question: Question) -> None:
        """Put a question, nothing answered yet."""
        self.question = question
        self.text.value = (
            f"<p><b>{self.place}.</b> {_together(question.text)} "
            f"<span class='etch-small-print'>{_together(question.counts)}</span></p>"
        )
        self.box.box.placeholder = f"{question.asked}, {_units(question)}"
        self.box.put("")
        self.verdict.value = ""


def _units(question: Question) -> str:
    """Return how an answer may be typed, as a hint in its box."""
    if question.kind == "money":
        return "a number"
    words = KINDS[question.kind].words[SYSTEMS.index(question.system)]
    return f"in {words}" if words else "a number"


class LessonPanel:
    """A plain object that shows as widgets and reads as text.

    Parameters
    ----------
    key : str
    shop : Shop
    """

    def __init__(self, key: str, shop: Shop):
        self.lesson, self.shop = lesson_named(key), shop
        self.play = PLAYS[key]
        system = "metric"
        with suppress(BadInput):  # a job that cannot be opened is told on the job sheet
            system = shop.open().units
        self.sheet = sheet(key, FIRST, system)
        self.first: dict[int, bool] = {}
        self._quiet = False
        self._build()
        self._put()
        self._draw()

    # what it reads as ----------------------------------------------------------------------

    def text(self) -> str:
        """Return the lesson as plain text, with the answers, and without anybody's."""
        at = [handle.quantity for handle in self.handles]
        said = [self.lesson.title, *self.lesson.idea, self.play.drawn(at, self.sheet.system)[1]]
        example = self.sheet.example
        said += [f"Worked: {example.text}", lesson_sheet.sums(example)]
        said.append(f"{example.asked}: {example.shown(example.right)}")
        said.append(f"Sheet {self.sheet.number}")
        for place, question in enumerate(self.sheet.questions, 1):
            said.append(f"{place}. {question.text} {question.counts}")
            said.append(f"   {question.asked}: {question.shown(question.right)}")
            said += [f"   not {question.shown(s.wrong)}: {s.hint}" for s in question.slips]
        return "\n".join(said)

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.box.model_id}
        return {"application/vnd.jupyter.widget-view+json": view, "text/plain": self.text()}

    # what is done --------------------------------------------------------------------------

    def turn_to(self, number: int, system: str = "") -> None:
        """Turn to a sheet by its number, nothing on it answered yet."""
        self.sheet = sheet(self.lesson.key, number, system or self.sheet.system)
        self.first = {}
        self._put()

    def answer(self, asked: _Asked, typed: str) -> None:
        """Judge a typed answer, or say in one sentence why it cannot be read."""
        asked.verdict.value = ""
        asked.box.say("")
        if not typed.strip():
            return
        try:
            verdict = judged(asked.question, typed)
        except BadInput as fault:
            asked.box.say(str(fault))
            return
        self.first.setdefault(asked.place, verdict.right)
        kind = "etch-right" if verdict.right else "etch-wrong"
        asked.verdict.value = f"<p class='{kind}' role='status'>{_together(verdict.said)}</p>"
        self._score()

    def keep(self) -> str:
        """Keep the score under the name typed and return the sentence to show."""
        questions = len(self.sheet.questions)
        try:
            if len(self.first) < questions:
                raise BadInput(f"Answer all {questions} questions first; {len(self.first)} are answered.")  # fmt: skip
            who = name_of(self.who.box.value)
            done = Done(
                who, self.lesson.key, self.sheet.number, sum(self.first.values()), questions,
                date.today().isoformat(),
            )  # fmt: skip
            keep(self.shop.root, done)
        except BadInput as fault:
            return _fault(fault)
        return f"Kept for {escape(who)}: sheet {done.sheet}, {done.right} of {done.of} right."

    def print_questions(self) -> str:
        """Write this sheet to print and return the sentence to show."""
        try:
            path = lesson_sheet.save_questions(self.shop.root, self.sheet)
        except BadInput as fault:
            return _fault(fault)
        return f"Written: {_link(path.name, 'the sheet, its answers overleaf')}."

    def print_progress(self) -> str:
        """Write the progress sheet to print and return the sentence to show."""
        try:
            who = name_of(self.who.box.value) if self.who.box.value.strip() else ""
            path = lesson_sheet.save_progress(self.shop.root, who)
        except BadInput as fault:
            return _fault(fault)
        return (
            f"Written: {_link(path.name, 'the progress sheet')}, of {escape(who) or 'everybody'}."
        )

    # what is shown -------------------------------------------------------------------------

    def _build(self) -> None:
        self.units = widgets.ToggleButtons(
            options=list(SYSTEMS), value=self.sheet.system, classes="etch-toggle"
        )
        self.units.observe(self._on_units, "value")
        title = html("etch-title", f"<h2>Lesson {list(LESSONS).index(self.lesson.key) + 1} of {len(LESSONS)}</h2><span>about 25 minutes</span>")  # fmt: skip
        idea = "".join(f"<p>{_together(line)}</p>" for line in self.lesson.idea)
        self.handles = [_Handle(knob, self._draw) for knob in self.play.knobs]
        self.picture = html("etch-lesson-picture")
        self.example = html("etch-body")
        self.asked = [_Asked(n, self.answer) for n in range(1, len(self.sheet.questions) + 1)]
        self.score = html("etch-lesson-score")
        self.answers = Fold("The answers, with their sums")
        parts = [
            style_sheet([]), widgets.HBox([title, self.units], classes="etch-head"),
            html("etch-lesson-others", _others(self.lesson.key)), html("etch-lesson-idea", idea),
            html("", f"<h3>{_together(self.play.heading)}</h3>"), self.picture,
            *(handle.row for handle in self.handles), html("", "<h3>A sum worked</h3>"), self.example,
            self._practice(), *(asked.body for asked in self.asked), self.score,
            *self.answers.widgets, *self._foot(),
        ]  # fmt: skip
        self.box = widgets.VBox(parts, classes="etch etch-lesson")

    def _practice(self) -> widgets.Widget:
        self.number = Word("sheet", self._on_number, "Sheet", "The same number, the same questions")
        styled(self.number.box, "etch-question")
        another = widgets.Button(description="Another sheet", classes="etch-plain")
        another.on_click(lambda _: self.turn_to(self.sheet.number % MOST + 1))
        row = widgets.HBox([self.number.box, another], classes="etch-foot")
        about = html("etch-small", "Type an answer with its unit, whichever you think in, and press Enter. The same number brings the same questions.")  # fmt: skip
        return widgets.VBox([html("", "<h3>Practise</h3>"), row, self.number.says, about])

    def _foot(self) -> list[widgets.Widget]:
        self.who = Word("who", lambda name, text, box: None, "Done by")
        styled(self.who.box, "etch-question")
        self.told = html("etch-small etch-saved")
        buttons = []
        for words, act in (
            ("Keep the score", self.keep), ("Print this sheet", self.print_questions),
            ("Print the progress sheet", self.print_progress),
        ):  # fmt: skip
            button = widgets.Button(description=words, classes="etch-plain")
            button.on_click(lambda _, act=act: setattr(self.told, "value", act()))
            buttons.append(button)
        return [
            html("", "<h3>When it is done</h3>"), self.who.box,
            widgets.HBox([*buttons, self.told], classes="etch-foot"),
        ]  # fmt: skip

    def _on_units(self, change) -> None:
        self.turn_to(self.sheet.number, change["new"])
        self._draw()

    def _on_number(self, name: str, text: str, box: Word) -> None:
        try:
            number = sheet_number(text)
        except BadInput as fault:
            box.say(str(fault))
            return
        self.turn_to(number)

    def _put(self) -> None:
        """Show the sheet: example, questions, answers."""
        self.number.put(str(self.sheet.number))
        example = self.sheet.example
        note = "" if self.sheet.system == "metric" else f" {lesson_sheet.METRIC}"
        self.example.value = (
            f"<p>{_together(example.text)}{note}</p>{_worked(example)}"
            f"<p class='etch-answer'>{escape(example.asked)}: {_together(example.shown(example.right))}</p>"
        )
        for asked, question in zip(self.asked, self.sheet.questions, strict=True):
            asked.ask(question)
        self.answers.body.value = "".join(
            f"<p class='etch-answer'>{n}. {escape(q.asked)}: {_together(q.shown(q.right))}</p>"
            f"{_worked(q)}"
            for n, q in enumerate(self.sheet.questions, 1)
        )
        self.told.value = ""
        self._score()

    def _score(self) -> None:
        right, all_of = sum(self.first.values()), len(self.sheet.questions)
        left = all_of - len(self.first)
        more = f"; {left} still to answer" if left else ""
        self.score.value = f"<p>{right} of {all_of} right at the first answer{more}.</p>"

    def _draw(self) -> None:
        """Draw the picture where the sliders stand."""
        for handle in self.handles:
            handle.say(self.sheet.system)
        svg, words = self.play.drawn([h.quantity for h in self.handles], self.sheet.system)
        self.picture.value = f"{svg}<p class='etch-lesson-says' aria-live='polite'>{_together(words)}</p>"  # fmt: skip


def _fault(fault: BadInput) -> str:
    return f"<b role='alert'>{escape(str(fault))}</b>"


def _link(name: str, words: str) -> str:
    return f"<a href='/files/{lesson_sheet.FOLDER}/{quote(name)}' target='_blank'>{escape(words)}</a>"  # fmt: skip


def _together(text: str) -> str:
    """Return text for the page, in which no number parts from its unit at a line's end."""
    return escape(_kept(text))


def _kept(text: str) -> str:
    return re.sub(r"(?<=[\d½¼¾]) (?=[a-zA-Zµ°%])", "\u00a0", text)


def _worked(question: Question) -> str:
    """Return the sums of a question for the page."""
    return f"<pre>{lines_html(_kept(lesson_sheet.sums(question)))}</pre>"


def _others(key: str) -> str:
    """Return links to the other lessons, which lie beside this one, whatever the server's root is."""
    found = [
        f"<b>{escape(other.title)}</b>" if other.key == key
        else f"<a href='{other.key}.ipynb'>{escape(other.title)}</a>"
        for other in LESSONS.values()
    ]  # fmt: skip
    return " · ".join(found)
