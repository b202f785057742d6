"""Slow work of a panel, beside the page: the newest wish is done, those it overtook are not."""

import asyncio
from collections.abc import Callable
from typing import Any

from etchcalc.artwork.worker import Cancelled
from etchcalc.core.faults import BadInput


class Latest:
    """Does one piece of work at a time in a thread; at once where no event loop runs.

    Parameters
    ----------
    work : callable
        Runs in the thread; its last parameter is told what share is done, 0 to 1.
    done : callable
        Called on the page's side with what the work returned.
    refused : callable
        Called with the sentence of a BadInput, or "" where the work was cancelled.
    told : callable, optional
        Called with the share.
    """

    def __init__(
        self,
        work: Callable[..., Any],
        done: Callable[[Any], None],
        refused: Callable[[str], None],
        told: Callable[[float], None] | None = None,
    ):
        self._work, self._done, self._refused = work, done, refused
        self._told = told or (lambda share: None)
        self._next: tuple | None = None
        self._busy = False

    def __call__(self, *wish) -> None:
        """Do the work for a wish, or next when another is being done."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._finish(_tried(self._work, *wish, self._told))
            return
        if self._busy:
            self._next = wish
            return
        self._busy = True

        def tell(share: float) -> None:
            loop.call_soon_threadsafe(self._told, share)

        future = loop.run_in_executor(None, lambda: _tried(self._work, *wish, tell))
        future.add_done_callback(lambda done: self._finish(done.result()))

    def _finish(self, found: tuple[bool, Any]) -> None:
        self._busy = False
        good, what = found
        wish, self._next = self._next, None
        if wish is not None:
            self(*wish)
        elif good:
            self._done(what)
        else:
            self._refused(what)


def _tried(work: Callable[..., Any], *given) -> tuple[bool, Any]:
    """Return whether the work could be done, and its result or the sentence why not."""
    try:
        return True, work(*given)
    except BadInput as fault:
        return False, str(fault)
    except Cancelled:
        return False, ""
