"""The process in which drawings are rendered, measured and offset, as its caller sees it.

A stranger's file may crash a renderer, hang it or eat all memory: then that
process ends, the caller gets one sentence, and the workbook's kernel lives. The
process stays for the next question and holds the last films; it starts again
when it has ended. What renders and measures is imported there only, so that the
kernel stays small.
"""

import atexit
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import etchcalc
from etchcalc.core.faults import BadInput

SILENCE = 60.0  # seconds without a word after which it is taken to hang
_COMMAND = (sys.executable, "-P", "-m", "etchcalc.artwork.child")
_SIMPLER = "simplify the drawing (fewer nodes and copies) and save it again"
Progress = Callable[[float], None]


class Cancelled(Exception):  # noqa: N818  it is no fault
    """What was asked was broken off by the person who had asked it."""


class Worker:
    """A process that answers questions about drawings, one after the other."""

    def __init__(self) -> None:
        self._child: subprocess.Popen | None = None
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._asking = threading.Lock()
        self._cancelled = self._ready = False

    def ask(
        self, question: dict[str, Any], progress: Progress | None = None, silence: float = SILENCE
    ) -> dict[str, Any]:
        """Return the answer to a question.

        Parameters
        ----------
        question : dict
            `do` names what is asked, as in `child`; the rest is its own.
        progress : callable, optional
            Told now and then what share is done, from the thread that asks.
        silence : float
            Seconds without a word after which the process is ended.

        Raises
        ------
        BadInput
            For anything a drawing can do wrong, a crash or a hang too.
        Cancelled
            `cancel` was called meanwhile.
        """
        name = Path(question["asked"]["path"]).name
        with self._asking:
            self._cancelled = False
            child = self._started()
            with suppress(OSError):  # one that has just ended is met below
                assert child.stdin
                child.stdin.write(json.dumps(question) + "\n")
                child.stdin.flush()
            while True:
                said = self._next(child, name, silence)
                if "ready" in said:
                    self._ready = True
                elif "share" in said:
                    if progress:
                        progress(said["share"])
                elif "refused" in said:
                    raise BadInput(said["refused"])
                else:
                    return said

    def cancel(self) -> None:
        """Break off what is asked just now; nothing half-written is left."""
        self._cancelled = True
        self._end()

    def close(self) -> None:
        """End the process."""
        self._end()

    def _next(self, child: subprocess.Popen, name: str, silence: float) -> dict[str, Any]:
        """Return what the process says next, or raise what became of it."""
        try:
            line = self._lines.get(timeout=silence)
        except queue.Empty:
            self._end()
            raise BadInput(
                f"The drawing {name} was not finished: nothing was heard of it for {silence:g} s. "
                f"{_SIMPLER.capitalize()}."
            ) from None
        if line is not None:
            with suppress(ValueError):
                said = json.loads(line)
                if isinstance(said, dict):
                    return said
        self._end()
        if self._cancelled:
            raise Cancelled
        if not self._ready:
            raise BadInput(
                f"The process that reads drawings could not start (exit {child.returncode}): install "
                "etchcalc again."
            )
        raise BadInput(
            f"The drawing {name} made the renderer break off (exit {child.returncode}): {_SIMPLER}."
        )

    def _started(self) -> subprocess.Popen:
        """Return the process, started where there is none."""
        if self._child is not None and self._child.poll() is None:
            return self._child
        self._child = begun(_COMMAND)
        self._lines, self._ready = queue.Queue(), False
        threading.Thread(target=_heard, args=(self._child, self._lines), daemon=True).start()
        return self._child

    def _end(self) -> None:
        child = self._child
        if child is None:
            return
        child.kill()
        child.wait()
        for pipe in (child.stdin, child.stdout):
            with suppress(OSError):
                if pipe and pipe is child.stdin:
                    pipe.close()


def begun(command: tuple[str, ...]) -> subprocess.Popen:
    """Start a process that is asked and answers line by line; it finds this package, wherever it lies."""
    package = str(Path(etchcalc.__file__).parent.parent)
    seen = [package, *filter(None, [os.environ.get("PYTHONPATH")])]
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(seen),
        "PYTHONIOENCODING": "utf-8",
        "OPENBLAS_NUM_THREADS": "1",  # each thread reserves memory
    }
    return subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        errors="replace",
        env=environment,
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )


def _heard(child: subprocess.Popen, lines: "queue.Queue[str | None]") -> None:
    """Put each line that the process says into a queue, and None when it has ended."""
    assert child.stdout
    with child.stdout:
        for line in child.stdout:
            lines.put(line)
    child.wait()
    lines.put(None)


SHARED = Worker()
atexit.register(SHARED.close)
