"""What is known of a job so far: values by name, what each rests on, the formulas that gave them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from etchcalc import process  # noqa: F401  registers the formulas
from etchcalc.core import formula, tables
from etchcalc.core.units import first
from etchcalc.core.vocabulary import term
from etchcalc.job import ranges
from etchcalc.job.tolerances import Tolerance


@dataclass(frozen=True)
class Use:
    """One formula in a plan, under its own name or another, some inputs renamed."""

    formula: str
    name: str
    inputs: dict[str, str] = field(default_factory=dict)

    @property
    def sources(self) -> tuple[str, ...]:
        """The names by which the formula's inputs are known in the plan, in its order."""
        return tuple(self.inputs.get(key, key) for key in formula.REGISTERED[self.formula].inputs)


def use(name: str, named: str = "", **inputs: str) -> Use:
    """Return the use of a formula by its name, its result named otherwise where that is said."""
    return Use(name, named or name, inputs)


class Values(dict):
    """Values by name, of which some are worked only when they are first asked for.

    A slider's move asks for few; what the bench takes beside them waits until it is read.
    """

    def __init__(self, known: dict[str, Any] | None = None) -> None:
        super().__init__(known or {})
        self.waiting: dict[str, Callable[[], None]] = {}

    def __contains__(self, name: object) -> bool:
        """Tell whether there is a value, worked or waiting."""
        return super().__contains__(name) or name in self.waiting

    def __missing__(self, name: str):
        """Work a value that waits."""
        self.waiting.pop(name)()
        return self[name]

    def get(self, name: str, default: Any = None) -> Any:
        """Return a value, worked now where it waits; the default where there is none."""
        return self[name] if name in self.waiting else super().get(name, default)


class Book:
    """The values of a plan by name, as arrays whose element 0 is the middle.

    Parameters
    ----------
    before : Book, optional
        The book of a plan that differs in little. A value all of whose inputs are the very same
        objects is taken from it instead of being worked again.
    """

    def __init__(self, before: "Book | None" = None) -> None:
        self.values = Values()
        self.basis: dict[str, str] = {}
        self.uses: dict[str, Use] = {}
        self.bounds: dict[str, Any] = {}
        self.methods: dict[str, str] = {}  # how a value came about that no formula gave
        self.measured: dict[str, str] = {}  # formulas whose result the shop has measured itself
        self.tolerances: dict[str, Tolerance] = {}  # of what was said, by name
        self._said: dict[str, Any] = {}
        self.width_shares: tuple[float, ...] | None = None  # of the open area, by line width
        self._before = before
        self._middles: dict[str, tuple[Any, Any]] = dict(before._middles) if before else {}

    def say(self, name: str, quantity, status: str, tolerance: Tolerance | None = None) -> None:
        """Enter a value that no formula gives, spread out over its ways.

        Parameters
        ----------
        name : str
        quantity : Quantity
        status : str
        tolerance : Tolerance, optional
            How far off it may be, where that was said; else the vocabulary's own spread counts.
        """
        before = self._before
        same = (
            before
            and before._said.get(name) is quantity
            and before.tolerances.get(name) == tolerance
        )
        old = before.values.get(name) if same and before else None
        self.values[name] = spread_out(name, quantity, tolerance) if old is None else old
        self.basis[name] = status
        self._said[name] = quantity
        self.tolerances.pop(name, None)
        if tolerance is not None:
            self.tolerances[name] = tolerance

    def middle(self, name: str):
        """Return the middle of a value, a scalar in the metric unit of its kind."""
        value = self.values[name]
        of, middle = self._middles.get(name, (None, None))
        if of is not value:  # asked for some sixty times while a slider moves once
            middle = first(value).to(term(name).unit)
            self._middles[name] = value, middle
        return middle

    def forget(self, name: str) -> None:
        """Take out a value that was said, so that a formula may give it."""
        for known in (self.values, self.basis, self._said, self.tolerances):
            known.pop(name, None)

    def put(self, name: str, ways, status: str) -> None:
        """Enter a value already spread out, in the place of one that was said."""
        self.values[name], self.basis[name] = ways, status
        for known in (self._said, self.tolerances):  # no later plan may take it for what was said
            known.pop(name, None)

    def inputs(self, used: Use) -> dict[str, Any]:
        """Return the keyword arguments of a use, from what is known."""
        keys = formula.REGISTERED[used.formula].inputs
        return {key: self.values[name] for key, name in zip(keys, used.sources, strict=True)}

    def work(self, used: Use) -> None:
        """Run one formula and enter its result, unless the maker has said it."""
        if used.name in self.values:
            return
        entry = formula.REGISTERED[used.formula]
        old = self._worked_before(used)
        self.values[used.name] = entry.function(**self.inputs(used)) if old is None else old
        self.basis[used.name] = self.measured.get(used.formula) or tables.weakest(
            {entry.status, *_constant_statuses(entry.function)}
            | {self.basis[name] for name in used.sources}
        )
        self.uses[used.name] = used

    def work_later(self, used: Use) -> None:
        """Let a formula wait until its result is asked for, or until `finish`."""
        if used.name not in self.values:
            self.values.waiting[used.name] = lambda: self._work_quietly(used)

    def _work_quietly(self, used: Use) -> None:
        with np.errstate(divide="ignore", invalid="ignore"):  # a drawing may leave nothing open
            self.work(used)

    def works(self, name: str) -> bool:
        """Tell whether a formula or an integration gives a value, now or when it is asked for."""
        return name in self.uses or name in self.methods or name in self.values.waiting

    def finish(self) -> None:
        """Work everything that waits."""
        while self.values.waiting:
            self.values[next(iter(self.values.waiting))]

    def _worked_before(self, used: Use) -> Any:
        before = self._before
        if before is None or before.uses.get(used.name) is not used:
            return None
        same = all(before.values.get(name) is self.values[name] for name in used.sources)
        return before.values[used.name] if same else None

    def reworked(self, replaced: dict[str, Any], wanted: Sequence[str]) -> dict[str, Any]:
        """Return some values worked again with others in the place of what they rest on.

        Parameters
        ----------
        replaced : dict of str to Quantity
        wanted : sequence of str
            What does not rest on what was replaced comes back as it is.
        """
        known = dict(replaced)

        def value(name: str):
            if name not in known:
                used = self.uses.get(name)
                inputs = [value(source) for source in used.sources] if used else []
                same = used is None or all(
                    v is self.values[s] for v, s in zip(inputs, used.sources, strict=True)
                )
                known[name] = self.values[name] if same else _run(used, inputs)
            return known[name]

        return {name: value(name) for name in wanted}

    def middled(self) -> "Book":
        """Return the book of the middles alone, but of what waits: `reworked` then runs over any arrays."""
        other = Book()
        other.uses, other.methods = self.uses, self.methods
        other.values = Values({name: first(value) for name, value in self.values.items()})
        return other

    def rests_on(self, name: str) -> set[str]:
        """Return all the names that a value is worked from, its own among them."""
        found, left = set(), [name]
        while left:
            if (one := left.pop()) not in found:
                found.add(one)
                self.values[one]  # worked now, where it waits
                left += self.uses[one].sources if one in self.uses else ()
        return found

    def close(self) -> None:
        """Let the book before go, when the plan is whole."""
        self._before = None


def number(book: Book, name: str) -> float:
    """Return the middle of a value of the book in its metric unit."""
    return float(book.middle(name).magnitude)


def spread_out(name: str, quantity, tolerance: Tolerance | None = None):
    """Return a value that was said as its middle and its ways: by its tolerance, where it has one."""
    if tolerance is None:
        return ranges.ways(term(name), quantity)
    return ranges.within(
        term(name), quantity, tolerance.half_width, tolerance.name, tolerance.shape
    )


def _run(used: Use | None, inputs: list) -> Any:
    assert used is not None
    entry = formula.REGISTERED[used.formula]
    return entry.function(**dict(zip(entry.inputs, inputs, strict=True)))


@cache
def _constant_statuses(function: Callable) -> frozenset[str]:
    return frozenset(value.status for value in formula.constants_used(function))
