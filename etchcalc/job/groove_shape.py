"""The shape of a groove, asked of the process that works it out.

Numba stays out of the workbook's kernel. The process starts with the first
question and stays for the next: a slider then waits a hundredth of a second.
"""

import atexit
import json
import subprocess
import sys
import threading
from contextlib import suppress
from typing import Any

from etchcalc.artwork.worker import begun
from etchcalc.core.faults import BadInput
from etchcalc.job.plan import Plan
from etchcalc.process import groove as grooves
from etchcalc.process import rates, undercut

_OF_THE_PLAN = (
    "depth", "transport_velocity", "reaction_velocity", "ferric_diffusivity",
    "ferric_concentration", "ferric_demand",
)  # fmt: skip
_TURNOVER = ("density_rise", "viscosity", "groove_turning")
RESTS_ON = ("finest_line", *_OF_THE_PLAN, *_TURNOVER)  # of a plan, whatever film it would draw
_ROUNDS, _ENOUGH, _FARTHEST = 10, 0.005, 12
_COMMAND = (sys.executable, "-P", "-m", "etchcalc.process.groove")


class Shaper:
    """The process that works out grooves, one after the other."""

    def __init__(self) -> None:
        self._child: subprocess.Popen | None = None
        self._asking = threading.Lock()

    def groove(self, **quantities: Any) -> grooves.Groove:
        """Return a groove; inputs are those of `process.groove.numbers`.

        Raises
        ------
        BadInput
            Where the numbers cannot be used, or the process ended at its work.
        """
        said = grooves.numbers(**quantities)
        with self._asking:
            child = self._started()
            line = ""
            with suppress(OSError):  # one that has just ended answers nothing
                assert child.stdin and child.stdout
                child.stdin.write(json.dumps(said) + "\n")
                child.stdin.flush()
                line = child.stdout.readline()
        if not line:
            self.close()
            raise BadInput("The shape of the groove could not be worked out: try again.")
        found = json.loads(line)
        if "refused" in found:
            raise BadInput(found["refused"])
        return grooves.told(said, found)

    def close(self) -> None:
        """End the process."""
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        for pipe in (child.stdin, child.stdout):
            with suppress(OSError):
                if pipe:
                    pipe.close()

    def _started(self) -> subprocess.Popen:
        """Return the process, started where there is none."""
        if self._child is not None and self._child.poll() is None:
            return self._child
        self.close()
        self._child = begun(_COMMAND)
        return self._child


SHARED = Shaper()
atexit.register(SHARED.close)


def of_plan(plan: Plan, shaper: Shaper | None = None, **more: Any) -> grooves.Groove:
    """Return the groove of a plan's finest line, its film as wide as the groove itself asks.

    The undercut says how wide to draw the line, and the width of the line how much it
    is undercut: both are found together, from the width that the usual etch factor asks for.

    Parameters
    ----------
    plan : Plan
    shaper : Shaper, optional
        The process that is asked; the shared one when not said.
    **more
        `shown`, `cells`, `land` of `process.groove.numbers`.

    Raises
    ------
    BadInput
        Where the line closes before it is as deep as ordered: no film is narrow enough.
    """
    known = {name: plan.middle(name) for name in _OF_THE_PLAN}
    line = plan.middle("finest_line")
    # from the usual start, whatever factor the plan has taken since: asked again, the same answer
    film = undercut.film_line(
        finest_line=line,
        undercut=undercut.undercut(
            depth=known["depth"], etch_factor=plan.middle("usual_etch_factor")
        ),
    )
    known["turning"] = grooves.turning_share(
        recess_number=rates.recess_number(
            depth=known["depth"] / 2,  # on the way there
            line_width=line,
            ferric_diffusivity=known["ferric_diffusivity"],
            **{name: plan.middle(name) for name in _TURNOVER},
        )
    )
    least, gain, before = line / 20, 1.0, None
    for _ in range(_ROUNDS):
        found = (shaper or SHARED).groove(film_line=max(film, least), **known, **more)
        asked = undercut.film_line(finest_line=line, undercut=found.undercut[-1])
        if before is not None:
            # a narrow film asks for little else than itself: the way to go is far longer than the
            # difference, by what that has shrunk on the way
            shrunk = float((before[1] - (asked - film)) / (film - before[0]))
            gain = 1 / min(max(shrunk, 1 / _FARTHEST), 1.0)
        before = film, asked - film
        film += gain * before[1]
        if gain * abs(before[1]) < _ENOUGH * line:
            break
    if film < least:
        raise BadInput(
            "The shape of the groove cannot be worked out: the line is too narrow for its depth. "
            "Order it wider or shallower."
        )
    return found
