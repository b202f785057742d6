"""The lesson book: its lessons by name, and a sheet of fresh questions by its number.

A sheet's number stands for its questions: the same number asks the same again, so that a sheet
can be printed with its answers overleaf.
"""

from dataclasses import dataclass
from random import Random

from etchcalc.core.faults import BadInput, listed
from etchcalc.core.units import SYSTEMS
from etchcalc.job.lesson_of_baths import USED_BATH
from etchcalc.job.lesson_of_lines import CLOSING_COUNTER, GUESS_THE_WIDTH
from etchcalc.job.lesson_of_mixing import MIX_FROM_THE_WRONG_PACKET
from etchcalc.job.lesson_of_price import PRICE_A_PLATE
from etchcalc.job.lesson_of_ranges import HOW_SURE
from etchcalc.job.lesson_of_readings import THREE_READINGS
from etchcalc.job.lesson_questions import Draw, Lesson, Question, made

LESSONS = {
    lesson.key: lesson
    for lesson in (
        GUESS_THE_WIDTH, CLOSING_COUNTER, MIX_FROM_THE_WRONG_PACKET, THREE_READINGS, USED_BATH,
        PRICE_A_PLATE, HOW_SURE,
    )
}  # fmt: skip
EXAMPLE, MOST = 0, 9999  # the example's number is no sheet's


@dataclass(frozen=True)
class Sheet:
    """The questions of one lesson under one number."""

    lesson: Lesson
    number: int
    system: str
    example: Question
    questions: tuple[Question, ...]


def lesson_named(key: str) -> Lesson:
    """Return a lesson by the name of its workbook; raise BadInput where there is none."""
    if key not in LESSONS:
        raise BadInput(f"There is no lesson “{key[:60]}”; there are {listed(list(LESSONS))}.")
    return LESSONS[key]


def sheet_number(typed: str) -> int:
    """Return the number of a sheet as it was typed; raise BadInput in one sentence."""
    text = typed.strip()
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST and len(text) < 9):
        raise BadInput(
            f"Sheet: “{text[:20]}” is no number of a sheet; type a whole number from 1 to {MOST}."
        )
    return int(text)


def sheet(key: str, number: int = 1, system: str = "metric") -> Sheet:
    """Return the questions of a lesson under a number, in one system of units.

    Raises
    ------
    BadInput
        There is no such lesson, number or system.
    """
    lesson = lesson_named(key)
    sheet_number(str(number))
    if system not in SYSTEMS:
        raise BadInput(f"There are no units “{system[:20]}”; there are {listed(SYSTEMS)}.")
    asked = tuple(
        made(ask, Draw(Random(f"{key} {place} {number}"), system))
        for place, ask in enumerate(lesson.asks)
    )
    example = made(lesson.asks[lesson.example], Draw(Random(f"{key} {EXAMPLE}"), system))
    return Sheet(lesson, number, system, example, asked)
