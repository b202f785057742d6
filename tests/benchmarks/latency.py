"""From the key pressed on a slider to the number and the picture, in a real browser.

Two contenders, each with its own server, kernel and browser profile, move in
turns, so that a machine which is busy for a while is so for both:

- the job sheet, opened as ``etchcalc open`` does;
- a plain ``interact`` figure, four curves, drawn anew at each move.

``number_ms_median``
    To the new text of the three answers.
``picture_ms_median``, ``picture_ms_p95``
    To the groove's new outline, painted: the end of the frame that shows it.
``ratio_to_plain``
    The plain figure's median to its picture over ours.
``compute_ms``
    Median of Python's share of a move, in a process without a browser: slider,
    plan, drawing, values put back into the controls. What the panel does later,
    and the way to the browser, are not in it.
``draw_ms``, ``encode_ms``
    Of that, the drawing of sentence, groove and fan; and, beside it, the messages
    of a move written as bytes, as the kernel does.
``transport_ms``
    What is left of the number's time: the key to the kernel and the text back.
``paint_ms``
    Median from the number to the picture.
``outside_requests``
    How many requests went beyond this machine; 0 is the only good answer.
"""

import asyncio
import statistics
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path
from typing import Any
from unittest import mock

import measuring
import nbformat
from ipywidgets import Widget
from jupyter_client.session import Session

ROUNDS, MOVES_IN_A_ROUND = 5, 10
WARMING_MOVES = 4
SETTLING = 720  # ms between moves: the panel's later tasks are done by then
COMPUTED_PAIRS = 40  # of moves, to and fro

PLAIN = """
import matplotlib.pyplot as plt
import numpy as np
from ipywidgets import FloatSlider, interact

minutes = np.linspace(0, 360, 256)


def show(depth):
    figure, axes = plt.subplots(figsize=(8, 5), dpi=100)
    for rate in (0.7, 0.9, 1.1, 1.4):
        axes.plot(minutes, rate * depth * minutes / 120, label=f"{rate} of the rate")
    axes.set_xlabel("minutes")
    axes.set_ylabel("depth in mm")
    axes.set_title(f"depth {depth:.2f} mm")
    axes.legend()
    plt.show()


interact(show, depth=FloatSlider(value=0.2, min=0.02, max=0.8, step=0.01))
"""

OPEN_PLAIN = """
import pathlib, sys
from etchcalc.pages.live.opener import open_workbooks
shop, source = map(pathlib.Path, sys.argv[1:])
open_workbooks(shop, workbook="plain.ipynb", source=source, browser=False)
"""

# Arms the page for one move; `window.move` then comes to the ms from the key to each change.
ARM = """
({number, picture, attribute}) => {
  const text = () => document.querySelector(number)?.textContent;
  const shape = () => document.querySelector(picture)?.getAttribute(attribute);
  const before = {text: text(), shape: shape()};
  const isNew = (value, old) => value != null && value !== old;
  const painted = async () => {
    await document.querySelector(picture).decode?.();
    await new Promise(requestAnimationFrame);
    const channel = new MessageChannel();  // its message comes when the frame is done
    await new Promise(done => { channel.port1.onmessage = done; channel.port2.postMessage(0); });
    return performance.now();
  };
  window.move = new Promise((resolve, reject) => {
    let pressed, changed;
    const pressing = event => { pressed ??= event.timeStamp; };
    addEventListener('keydown', pressing, {capture: true, once: true});
    const tooLate = setTimeout(() => reject(new Error('nothing changed')), 20000);
    const observer = new MutationObserver(async () => {
      if (changed === undefined && isNew(text(), before.text)) changed = performance.now();
      if (changed === undefined || !isNew(shape(), before.shape)) return;
      observer.disconnect();
      clearTimeout(tooLate);
      resolve({number: changed - pressed, picture: await painted() - pressed});
    });
    const watched = {subtree: true, childList: true, characterData: true};
    observer.observe(document.body, {...watched, attributes: true, attributeFilter: [attribute]});
  });
  window.move.catch(() => {});
}
"""


@dataclass
class Contender:
    """A page with a slider, where its number and picture stand, and what was measured.

    Parameters
    ----------
    page
        A page of the browser.
    handle, number, picture : str
        Selectors: what takes the key, whose text changes, which picture changes.
    attribute : str
        The attribute of the picture that a new one alters.
    """

    page: Any
    handle: str
    number: str
    picture: str
    attribute: str
    numbers: list[float] = field(default_factory=list)
    pictures: list[float] = field(default_factory=list)

    def __post_init__(self):
        self._keys = cycle(["ArrowLeft", "ArrowRight"])

    def open(self, address: str) -> None:
        """Open the page; move a few times, uncounted."""
        measuring.open_live(self.page, address, self.handle)
        self.page.wait_for_selector(self.picture, timeout=measuring.LIVE_WITHIN)
        self.focus()
        for _ in range(WARMING_MOVES):
            self.move()

    def move(self) -> dict[str, float]:
        """Press one key and return the milliseconds to number and picture."""
        self.page.wait_for_timeout(SETTLING)
        watched = {"number": self.number, "picture": self.picture, "attribute": self.attribute}
        self.page.evaluate(ARM, watched)
        self.page.keyboard.press(next(self._keys))
        return self.page.evaluate("() => window.move")

    def round(self) -> None:
        """Move some times and keep what was measured."""
        self.focus()
        for _ in range(MOVES_IN_A_ROUND):
            moved = self.move()
            self.numbers.append(moved["number"])
            self.pictures.append(moved["picture"])

    def focus(self) -> None:
        """Bring the page to the front and give its slider the keyboard."""
        self.page.bring_to_front()
        self.page.locator(self.handle).first.focus()


def job_sheet(page: Any) -> Contender:
    """Return the job sheet as a contender."""
    return Contender(page, ".etch-band-depth .noUi-handle", ".etch-sentence", ".etch-wall", "d")


def plain_figure(page: Any) -> Contender:
    """Return the plain figure as a contender; its number is drawn, so the slider's is watched."""
    return Contender(
        page, ".widget-interact .noUi-handle", ".widget-readout", ".jp-OutputArea img", "src"
    )


def write_plain(folder: Path) -> Path:
    """Write the plain figure's notebook and return its folder."""
    cell = nbformat.v4.new_code_cell(PLAIN, metadata={"jupyter": {"source_hidden": True}})
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    notebook = nbformat.v4.new_notebook(
        metadata={"kernelspec": kernel, "etchcalc": {"live": True}}, cells=[cell]
    )
    nbformat.write(notebook, folder / "plain.ipynb")
    return folder


def in_the_browser() -> tuple[Contender, Contender, int]:
    """Return the job sheet and the plain figure, measured in turns, and the outside requests."""
    with ExitStack() as stack:
        shop, plain_shop, source = (stack.enter_context(measuring.fresh_folder()) for _ in range(3))
        plain_command = [sys.executable, "-c", OPEN_PLAIN, plain_shop, write_plain(source)]
        browser = stack.enter_context(measuring.chromium())
        ours, plain = (
            _opened(stack, browser, command, contender)
            for command, contender in (
                (measuring.open_command(shop), job_sheet),
                (plain_command, plain_figure),
            )
        )
        for _ in range(ROUNDS):
            ours.round()
            plain.round()
        return ours, plain, len(measuring.outside_requests(ours.page))


def _opened(
    stack: ExitStack, browser: Any, command: list, contender: Callable[[Any], Contender]
) -> Contender:
    """Return a contender on a server and a page of its own, which end with the stack."""
    server = stack.enter_context(measuring.served(command))
    made = contender(stack.enter_context(measuring.fresh_page(browser)))
    made.open(server.address)
    return made


def in_python() -> dict[str, float]:
    """Return the medians of Python's milliseconds for one whole move of the depth slider."""
    from etchcalc.job.shop import Shop
    from etchcalc.pages.panels.job_sheet import JobSheet

    async def moves(sheet: JobSheet) -> list[tuple[float, float, float]]:
        # in a running loop, as in a kernel, what is put off does not run within the move
        return [_timed(sheet, depth) for depth in [0.19, 0.2] * COMPUTED_PAIRS]

    with measuring.fresh_folder() as shop:
        taken = asyncio.run(moves(JobSheet(Shop(shop))))
    names = ("compute_ms", "draw_ms", "encode_ms")
    return dict(zip(names, map(statistics.median, zip(*taken, strict=True)), strict=True))


def _timed(sheet: Any, depth: float) -> tuple[float, float, float]:
    """Return the milliseconds of one move of the depth slider, of its drawing, of its messages."""
    sent: list[dict] = []
    with mock.patch.object(
        Widget, "_send", lambda widget, message, buffers=None: sent.append(message)
    ):
        whole = _taken_by(lambda: setattr(sheet.sliders["depth"].slider, "value", depth))
    session = Session(key=b"of this measurement")
    encode = _taken_by(
        lambda: [session.serialize(session.msg("comm_msg", content={"data": m})) for m in sent]
    )
    return whole, _taken_by(sheet._draw_answers), encode


def _taken_by(work: Callable[[], Any]) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def main() -> None:
    """Measure and print."""
    ours, plain, outside = in_the_browser()
    median = statistics.median(ours.pictures)
    number, python = statistics.median(ours.numbers), measuring.apart(in_python)
    measuring.tell("number_ms_median", number)
    measuring.tell("picture_ms_median", median)
    measuring.tell("picture_ms_p95", statistics.quantiles(ours.pictures, n=20)[-1])
    measuring.tell("ratio_to_plain", statistics.median(plain.pictures) / median, 2)
    for name, value in python.items():
        measuring.tell(name, value, 2)
    measuring.tell("transport_ms", number - python["compute_ms"] - python["encode_ms"])
    later = [p - n for n, p in zip(ours.numbers, ours.pictures, strict=True)]
    measuring.tell("paint_ms", statistics.median(later))
    measuring.tell("outside_requests", outside, 0)


if __name__ == "__main__":
    main()
