"""Generic controls, made from the vocabulary: a typed box, a slider with its box, a folded sum."""

import asyncio
from collections.abc import Callable
from html import escape
from importlib import resources

from etchcalc.core.term import Term
from etchcalc.core.units import show
from etchcalc.core.vocabulary import term
from etchcalc.pages.drawings import COLOURS
from etchcalc.pages.panels import widgets


def styled(widget, *classes: str):
    """Return a widget with more style classes, told to the page at once."""
    widget._dom_classes = (*widget._dom_classes, *filter(None, classes))
    return widget


def html(classes: str = "", value: str = "") -> widgets.HTML:
    """Return an HTML widget; what was typed must be escaped by the caller."""
    return widgets.HTML(value, classes=classes)


def style_sheet(terms: list[Term]) -> widgets.HTML:
    """Return the style sheet: colours for light and dark, and each slider's usual band."""
    css = (resources.files("etchcalc.pages.panels") / "sheet.css").read_text(encoding="utf-8")
    light = ";".join(f"--e-{name}:{pair[0]}" for name, pair in COLOURS.items())
    dark = ";".join(f"--e-{name}:{pair[1]}" for name, pair in COLOURS.items())
    bands = "".join(_band(t) for t in terms if t.usual and t.reach)
    return html(
        "etch-style",
        f"<style>.etch{{{light}}}body[data-jp-theme-light='false'] .etch{{{dark}}}{css}{bands}</style>",
    )


def _band(entry: Term) -> str:
    assert entry.usual and entry.reach
    low, high = entry.reach
    ends = [(end - low) / (high - low) for end in entry.usual]
    return f".etch-band-{entry.name}{{--low:{ends[0]:.2%};--high:{ends[1]:.2%}}}"


def usual_words(entry: Term, system: str) -> str:
    """Return a slider's usual range in words."""
    assert entry.usual
    ends = [show(entry.quantity(end), entry.kind, system, fixed=False) for end in entry.usual]
    number = ends[0].split(" ")[0]
    return f"usual {number} to {ends[1]}"


class Word:
    """A box for a word of the commission, with one sentence under it where it cannot be taken.

    Parameters
    ----------
    name : str
    changed : callable
        Called with (name, text, this control) when a person has typed.
    words : str
        Label; none where the box stands on a picture.
    meaning : str
        What is shown where the pointer rests on it.
    """

    def __init__(self, name: str, changed: Callable, words: str = "", meaning: str = ""):
        self.name = name
        self.box = widgets.Text(
            continuous_update=False, description=words, tooltip=meaning, classes=f"etch-in-{name}"
        )
        self.says = html("etch-say")
        self._shown = self._stands = self._refused = ""
        self._changed = changed
        self.box.observe(self._typed, "value")

    def _typed(self, change) -> None:
        if change["new"] != self._shown:
            self._shown = change["new"]
            self._changed(self.name, change["new"], self)

    def put(self, text: str) -> None:
        """Show a text without taking it for typed."""
        self._shown = text
        self.box.value = text
        self.take(text)

    def take(self, text: str) -> None:
        """Leave what was typed in the box: it was taken, and `text` now stands."""
        self._stands = text
        self.say("")

    def show(self, text: str) -> None:
        """Show what stands, unless what was typed was refused and nothing else stands since.

        So that what could not be taken is not lost, nor its sentence, while another box is typed in.
        """
        refused = self.says.value and self.box.value == self._refused
        if not (refused and text == self._stands):
            self.put(text)

    def say(self, sentence: str) -> None:
        """Show one sentence under the box, or none: why what stands in it was refused."""
        self._refused = self.box.value
        self.says.value = f"<b role='alert'>{escape(sentence)}</b>" if sentence else ""


class Typed(Word):
    """A box for one quantity, a term of the vocabulary."""

    def __init__(self, name: str, changed: Callable, words: str = ""):
        self.term = term(name)
        super().__init__(name, changed, words, self.term.meaning)


class Choice:
    """Toggles for one word of the commission, with one sentence under them.

    Parameters
    ----------
    name : str
    options : dict of str to str
        Words shown, and the answers that they stand for.
    changed : callable
        Called with (name, answer, this control) when a person has chosen.
    words : str
        Label.
    """

    def __init__(self, name: str, options: dict[str, str], changed: Callable, words: str = ""):
        self.name = name
        self.box = widgets.ToggleButtons(
            options=options,
            value=None,
            description=words,
            classes=f"etch-toggle etch-wrap etch-in-{name}",
        )
        self.says = html("etch-say")
        self._shown: str | None = None
        self._changed = changed
        self.box.observe(self._chosen, "value")

    def _chosen(self, change) -> None:
        if change["new"] not in (None, self._shown):
            self._shown = change["new"]
            self._changed(self.name, change["new"], self)

    def put(self, answer: str) -> None:
        """Show an answer without taking it for chosen."""
        self._shown = answer
        self.box.value = answer
        self.say("")

    def take(self, answer: str) -> None:
        """Leave what was chosen: it was taken."""
        self.say("")

    show = put

    def say(self, sentence: str) -> None:
        """Show one sentence under the toggles, or none."""
        self.says.value = f"<b role='alert'>{escape(sentence)}</b>" if sentence else ""


def kept(name: str, text: str, control: Word | Choice) -> None:
    """Keep what is typed or chosen where it stands until a button takes it."""


def field(control: Word | Choice, hint: str = "") -> widgets.VBox:
    """Return a control with its sentence under it, to be shown and hidden together."""
    if isinstance(control, Word):
        control.box.placeholder = hint
        styled(control.box, "etch-question")
    return widgets.VBox([control.box, control.says], classes="etch-field")


def shown(widget, wanted: bool) -> None:
    """Show or hide a widget, which keeps what stands in it."""
    (widget.remove_class if wanted else widget.add_class)("etch-hidden")


class Slider(Typed):
    """A slider with a typed box beside it; what was typed is never rounded by the step."""

    def __init__(self, name: str, changed: Callable, words: str):
        super().__init__(name, changed)
        entry = self.term
        assert entry.reach and entry.step
        low, high = entry.reach
        self.slider = widgets.FloatSlider(
            min=low, max=high, step=entry.step, value=low, description=words, readout=False,
            classes=f"etch-slider etch-band-{name}",
        )  # fmt: skip
        self.note = html("etch-small")
        self._put, self._off = low, ""
        self.slider.observe(self._moved, "value")
        self.row = widgets.HBox([self.slider, self.box, self.note], classes="etch-row")

    def _moved(self, change) -> None:
        # the view sends back what it was given, snapped to its step: that is nobody's wish
        if abs(change["new"] - self._put) < float(self.term.step or 0) / 2:
            return
        self._put = change["new"]
        quantity = self.term.quantity(round(change["new"], 6))
        said = show(quantity, self.term.kind, "metric", fixed=False) + self._off
        self._changed(self.term.name, said, self)

    def place(self, value: float, off: str = "") -> None:
        """Put the handle where a value in the metric unit stands, on the nearest step.

        Moved, it keeps how far off the value was said to be.
        """
        self._off = off
        low, high = self.term.reach or (0.0, 1.0)
        step = float(self.term.step or 1)
        near = low + round((min(max(value, low), high) - low) / step) * step
        self._put = near
        if abs(self.slider.value - near) > step / 1000:
            self.slider.value = near


class Fold:
    """A heading that opens, and its body in a widget of its own, so that it stays open."""

    def __init__(self, words: str, body: widgets.Widget | None = None):
        # a <details> that is sent anew closes: the heading is constant, the body changes
        self.head = html("etch-fold", f"<details><summary>{escape(words)}</summary></details>")
        self.body = html() if body is None else body
        styled(self.body, "etch-body")  # by which it is hidden while the heading is closed

    @property
    def widgets(self) -> list:
        """Heading and body, to stand one after the other."""
        return [self.head, self.body]


class Later:
    """Runs a task a moment after the last call; at once where no event loop runs."""

    def __init__(self, task: Callable[[], None], seconds: float):
        self._task, self._seconds = task, seconds
        self._handle: asyncio.TimerHandle | None = None

    def __call__(self) -> None:
        """Run the task soon, once, however often this is called before."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._task()
            return
        if self._handle:
            self._handle.cancel()
        self._handle = loop.call_later(self._seconds, self.now)

    @property
    def waiting(self) -> bool:
        """Whether the task is still to be run."""
        return self._handle is not None

    def now(self) -> None:
        """Run the task at once and forget what was waiting."""
        if self._handle:
            self._handle.cancel()
            self._handle = None
        self._task()
