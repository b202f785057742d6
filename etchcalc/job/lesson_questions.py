"""Questions for apprentices: fresh round numbers, the right answer, the usual wrong ones, judged.

Every answer, right or wrong, is worked by the formulas of the bench; a wrong one by the same
formula with the slip made in what goes into it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import pairwise
from random import Random
from typing import Any

from etchcalc.core import formula
from etchcalc.core.term import Term
from etchcalc.core.units import KINDS, MM, ONE, Quantity, first, read, show, unit
from etchcalc.job.prices import money

LEAST = 0.6  # of the most that is taken for right, the least: 0.04 mm within 0.01 mm
TRIES = 1000  # draws until right and wrong answers lie apart; a handful is mostly enough
US_GALLON = float(Quantity(1.0, unit("US_liquid_gallon")).to("imperial_gallon").magnitude)
OTHERS = {"imperial": US_GALLON, "US": 1 / US_GALLON}  # the other gallon over the page's own
OTHER_GALLON = "That is with the other gallon: an imperial gallon is 4.546 L, a US gallon 3.785 L."
_meant = cache(read)  # the same few numbers are drawn again and again
# An answer that may be typed, so that the sentence for a bad one gives nothing away.
EXAMPLES = {"fine": 0.3, "film": 7.0, "number": 1.5, "money": 150.0, "little volume": 3.0, "mass": 120.0,
            "strength": 250.0, "share": 12.0, "time": 90.0}  # fmt: skip


@dataclass(frozen=True)
class Given:
    """A number of a question, as it stands there and as it is meant."""

    text: str
    quantity: Any

    def __str__(self) -> str:
        """Return it as it stands in the question."""
        return self.text


class Draw:
    """Draws a question's numbers, round in the page's own units.

    Parameters
    ----------
    random : Random
    system : {"metric", "imperial", "US"}
    """

    def __init__(self, random: Random, system: str):
        self.random, self.system = random, system

    def other_gallon(self, right, turned: bool = False) -> list["Slip"]:
        """Return the slip of one who takes the other country's gallon; none on a metric page.

        Parameters
        ----------
        right : Quantity
            The right answer; it grows with the gallon, unless it is ``turned``.
        turned : bool
            The answer is a strength, whose number is the less, the less the gallon is.
        """
        if self.system not in OTHERS:
            return []
        share = OTHERS[self.system]
        return [Slip(OTHER_GALLON, right / share if turned else right * share)]

    def one(self, *choices: str) -> Given:
        """Return one of several, each as it is typed: metric, then ``|`` and imperial where it differs.

        American units are the imperial ones with the word changed.
        """
        metric, _, imperial = self.random.choice(choices).partition(" | ")
        text = imperial if imperial and self.system != "metric" else metric
        return self.typed(text.replace("imperial", "US") if self.system == "US" else text)

    def typed(self, text: str) -> Given:
        """Return a number from its text."""
        return Given(text, _meant(text))

    def shown(self, quantity, kind: str, **how) -> Given:
        """Return a worked number as it is shown, so that it is meant as it stands in the question."""
        return self.typed(show(quantity, kind, self.system, **how))


class Sum:
    """One formula worked: its value, and its working when it is asked for.

    Parameters
    ----------
    function : callable
        A registered formula.
    **inputs : Quantity
    """

    def __init__(self, function: Callable, **inputs):
        self.name, self.inputs = function.__name__, inputs
        self.value = first(function(**inputs))

    def working(self) -> formula.Working:
        """Return the working behind the value."""
        return formula.working(self.name, self.inputs)


@dataclass(frozen=True)
class Slip:
    """A usual wrong answer, and the hint for one who gives it."""

    hint: str
    wrong: Any


@dataclass(frozen=True)
class Question:
    """One question.

    Parameters
    ----------
    text : str
        Sentences, the last of which asks.
    asked : str
        What is asked for, as a name: "finished width".
    kind : str
        A key of `units.KINDS`, or ``money``.
    right : Quantity
    slips : tuple of Slip
    sums : tuple of Sum or str
        How the answer is worked.
    within : Quantity
        How far off still counts as right: a share of it, or a length.
    system : str
    as_good : tuple of Quantity
        What other ways of working it give: it is asked only where these are right too.
    """

    text: str
    asked: str
    kind: str
    right: Any
    slips: tuple[Slip, ...]
    sums: tuple[Sum | str, ...]
    within: Any
    system: str
    as_good: tuple[Any, ...] = ()

    @property
    def term(self) -> Term:
        """How the answer is read."""
        kind = "number" if self.kind == "money" else self.kind
        return Term(self.asked.replace(" ", "_"), kind, self.asked, start=EXAMPLES[self.kind])

    def shown(self, quantity) -> str:
        """Return an answer as it stands on the page."""
        if self.kind == "money":
            return money(Decimal(f"{quantity.to(ONE).magnitude:.4f}"))
        return show(quantity, self.kind, self.system, fixed=self.kind == "time")

    @property
    def counts(self) -> str:
        """How near is near enough, as a sentence."""
        kind = "fine" if self.within.units == MM else "share"
        near = show(self.within, kind, self.system, 1, fixed=False)
        return f"Right within {near}."

    def bare(self, quantity) -> float:
        """Return an answer as a number, in the metric unit of its kind."""
        return float(
            quantity.to(KINDS["number" if self.kind == "money" else self.kind].unit()).magnitude
        )

    def ends(self, quantity) -> tuple[float, float]:
        """Return between which bare numbers an answer is taken for this one."""
        middle = self.bare(quantity)
        share = self.within.units != MM
        reach = middle * self.within.to(ONE).magnitude if share else self.within.magnitude
        return middle - reach, middle + reach


@dataclass(frozen=True)
class Verdict:
    """What is said of a typed answer: whether it is right, and a sentence."""

    right: bool
    said: str


@dataclass(frozen=True)
class Lesson:
    """One lesson of about 25 minutes.

    Parameters
    ----------
    key : str
        Name of its workbook.
    title : str
    idea : tuple of str
        A few lines.
    asks : tuple of callable
        Each makes a question from a `Draw`.
    example : int
        Which of them is worked as the example.
    """

    key: str
    title: str
    idea: tuple[str, ...]
    asks: tuple[Callable[[Draw], Question], ...]
    example: int = 0


def question(
    draw: Draw, text: str, asked: str, kind: str, *sums: Sum | str,
    slips: list[Slip], right=None, within: str = "3 %", as_good: Sequence = (),
) -> Question:  # fmt: skip
    """Return a question whose right answer is the last sum's value, unless it is given."""
    worked = [s for s in sums if isinstance(s, Sum)]
    answer = right if right is not None else worked[-1].value
    possible = tuple(slip for slip in slips if _positive(slip.wrong))
    near = _meant(within)
    return Question(text, asked, kind, answer, possible, sums, near, draw.system, tuple(as_good))


def made(ask: Callable[[Draw], Question], draw: Draw) -> Question:
    """Return a question of which no two answers could be taken for one another, save those of one hint."""
    for _ in range(TRIES):
        found = ask(draw)
        if found.slips and _positive(found.right) and _clear(found):
            return found
    raise RuntimeError(f"{ask.__name__} asks nothing that has a clear answer")


def _positive(quantity) -> bool:
    return bool(0 < quantity.magnitude < float("inf"))


def _clear(found: Question) -> bool:
    """Tell whether nothing typed could be near two of the answers, or near nothing at all."""
    right = found.ends(found.right)
    ends = sorted([(*right, ""), *((*found.ends(slip.wrong), slip.hint) for slip in found.slips)])
    apart = all(low > high or one == two for (_, high, one), (low, _, two) in pairwise(ends))
    as_good = all(_near(found, one, found.right) for one in found.as_good)
    return right[0] > LEAST * right[1] and apart and as_good


def judged(asked: Question, typed: str) -> Verdict:
    """Return what is said of a typed answer.

    Raises
    ------
    BadInput
        It cannot be read, in one sentence.
    """
    answer = asked.term.read(typed, asked.system)
    if _near(asked, answer, asked.right):
        return Verdict(True, f"Right. Worked out it is {asked.shown(asked.right)}.")
    near = [slip for slip in asked.slips if _near(asked, answer, slip.wrong)]
    if near:
        return Verdict(False, f"Not yet. {near[0].hint}")
    return Verdict(False, "Not yet, and none of the usual slips: go through the sum once more.")


def _near(asked: Question, answer, one) -> bool:
    low, high = asked.ends(one)
    return low <= asked.bare(answer) <= high
