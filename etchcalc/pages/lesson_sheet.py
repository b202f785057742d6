"""Sheets of the lesson book to print: questions with answers overleaf, and who has done what.

Each is one HTML page, whole in itself: no script, nothing asked of anybody, everything that was
typed escaped.
"""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from etchcalc.job.files import write_whole
from etchcalc.job.lesson_progress import NAME as PROGRESS
from etchcalc.job.lesson_progress import Done, opened
from etchcalc.job.lesson_questions import Question
from etchcalc.job.lessons import LESSONS, Sheet
from etchcalc.pages.sheet import PAGES, sum_text

FOLDER = "lessons"  # of the shop's, beside the commissions
WIDTH = 182  # mm, of A4 between its margins
METRIC = "Sums stand in metric units."


def sums(question: Question) -> str:
    """Return how a question is worked, as plain text."""
    return "\n".join(
        s if isinstance(s, str) else sum_text(asdict(s.working())) for s in question.sums
    )


def questions_page(sheet: Sheet) -> str:
    """Return a sheet's questions with lines to write on, its answers and sums overleaf."""
    asked = [
        {"text": q.text, "asked": q.asked, "counts": q.counts, "right": q.shown(q.right), "sums": sums(q)}
        for q in sheet.questions
    ]  # fmt: skip
    head = _head(f"{sheet.lesson.title}: sheet {sheet.number}", sheet.system)
    return PAGES.get_template("lesson.html").render(
        head=head,
        idea=sheet.lesson.idea,
        asked=asked,
        rows=None,
        note="" if sheet.system == "metric" else METRIC,
    )


def progress_page(done: Sequence[Done], who: str = "") -> str:
    """Return the progress sheet: every lesson with the sheets done, and lines for names.

    Parameters
    ----------
    done : sequence of Done
    who : str
        Of whom; of everybody where nothing is said.
    """
    rows: list[tuple[str, Done | None]] = []
    for lesson in LESSONS.values():
        found = [d for d in done if d.lesson == lesson.key and who in ("", d.who)]
        rows += [(lesson.title, d) for d in found] or [(lesson.title, None)]
    head = _head("Progress sheet", who)
    return PAGES.get_template("lesson.html").render(head=head, rows=rows, who=who)


def _head(what: str, beside: str) -> dict[str, str | bool]:
    return {
        "what": what, "title": "Lesson book", "page": "A4", "width": f"{WIDTH}", "shop": beside,
        "date": "", "invented": False,
    }  # fmt: skip


def save_questions(root: Path, sheet: Sheet) -> Path:
    """Write a sheet of questions into the shop's folder and return its path."""
    path = root / FOLDER / f"{sheet.lesson.key}-{sheet.number}-{sheet.system.lower()}.html"
    write_whole(path, questions_page(sheet).encode())
    return path


def save_progress(root: Path, who: str = "") -> Path:
    """Write the progress sheet into the shop's folder and return its path.

    Raises
    ------
    BadInput
        What is kept cannot be read, or the folder cannot be written.
    """
    path = root / FOLDER / f"{Path(PROGRESS).stem}.html"
    write_whole(path, progress_page(opened(root), who).encode())
    return path
