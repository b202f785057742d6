"""One physical quantity of the trade: what it is, what can be meant, how it is read and said."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.units import DIFFERENCE, KINDS, ONE, Quantity, read, show

PRACTICE: dict[str, Any] = {"status": "common practice", "source": "practice"}


@dataclass(frozen=True)
class Term:
    """One quantity.

    Parameters
    ----------
    name : str
        Its name in code and in a commission.
    kind : str
        Key of `units.KINDS`.
    meaning : str
        One clause without a full stop.
    low, high : float
        What can be meant, ends included, in the kind's metric unit.
    start : float or None
        Value taken when nothing is said.
    step : float or None
        Step of its slider.
    reach : tuple of float or None
        Ends of its slider; more can be typed.
    usual : tuple of float or None
        The band on the slider's track.
    spread : float
        Standard uncertainty of a value that is not otherwise known better:
        a share of the value, or a difference where `additive`.
    additive : bool
    status, source : str
        What `start` and `spread` rest on.
    refusal : str
        Why more than `high` is refused for safety.
    """

    name: str
    kind: str
    meaning: str
    low: float = 0.0
    high: float = np.inf
    start: float | None = None
    step: float | None = None
    reach: tuple[float, float] | None = None
    usual: tuple[float, float] | None = None
    spread: float = 0.0
    additive: bool = False
    status: str = "assumed"
    source: str = "assumed"
    refusal: str = ""

    @property
    def words(self) -> str:
        """The name as it stands in a sentence or a sum."""
        return self.name.replace("_", " ")

    @property
    def unit(self):
        """The metric unit object."""
        return KINDS[self.kind].unit()

    def quantity(self, value: float):
        """Return a value in the metric unit as a quantity."""
        return Quantity(value, self.unit)

    def accepted(self, system: str = "metric") -> str:
        """Return what may be typed, as the end of a sentence."""
        ends = [self._end(self.low, 1, system), self._end(self.high, -1, system)]
        example = show(self.quantity(self._example()), self.kind, system, fixed=False)
        if not np.isfinite(self.high):
            return f"type {KINDS[self.kind].name} of {ends[0]} or more, such as {example}"
        return f"type {KINDS[self.kind].name} from {ends[0]} to {ends[1]}, such as {example}"

    def _end(self, value: float, toward: int, system: str) -> str:
        """Return an end of the range to three figures, on the inner side, so that it is accepted."""
        return show(self.quantity(value), self.kind, system, fixed=False, toward=toward)

    def _example(self) -> float:
        if self.start is not None:
            return self.start
        return (
            float(np.sqrt(max(self.low, 1e-3) * self.high))
            if np.isfinite(self.high)
            else self.low + 1
        )

    def read(self, typed, system: str = "metric"):
        """Return what a person typed as a quantity of this kind.

        Parameters
        ----------
        typed : str
        system : str
            In which units the sentence says what is accepted.

        Raises
        ------
        BadInput
            One sentence: what was wrong, what is accepted, what to type.
        """
        written = str(typed).strip()
        try:
            quantity = read(written)
        except BadInput as fault:
            raise BadInput(f"{self.words}: {fault}; {self.accepted(system)}.") from None
        if quantity.units == ONE and self.unit != ONE:
            raise BadInput(
                f"{self.words}: {written} of what? {self._units()}; {self.accepted(system)}."
            )
        if DIFFERENCE.match(written):
            raise BadInput(f"{self.words}: {written} is a difference; {self.accepted(system)}.")
        counted = self.kind == "number" and quantity.units != ONE
        if quantity.dimensionality != self.unit.dimensionality or counted:
            name = KINDS[self.kind].name
            raise BadInput(f"{self.words}: “{written}” is not {name}; {self.accepted(system)}.")
        return self.check(quantity, written, system)

    def check(self, quantity, written: str = "", system: str = "metric"):
        """Return a quantity unchanged if it can be meant, else raise BadInput."""
        magnitude = np.asarray(quantity.to(self.unit).magnitude, dtype=float)
        slack = 1e-9 * max(abs(self.low), abs(self.high) if np.isfinite(self.high) else 0, 1e-12)
        good = np.isfinite(magnitude) & (magnitude >= self.low - slack)
        if not np.all(good & (magnitude <= self.high + slack)):
            given = written or show(quantity, self.kind, fixed=False)
            if self.refusal and np.all(np.isfinite(magnitude)) and np.any(magnitude > self.high):
                raise BadInput(
                    f"{self.words}: {given} is refused, {self.refusal}; {self.accepted(system)}."
                )
            raise BadInput(f"{self.words}: {given} cannot be meant; {self.accepted(system)}.")
        return quantity

    def _units(self) -> str:
        words = dict.fromkeys(KINDS[self.kind].words)
        return f"say {' or '.join(words)}"
