"""Who has done which lesson: kept in the shop's `progress.toml`, written whole."""

import re
from dataclasses import asdict, dataclass
from pathlib import Path

import tomlkit

from etchcalc.core.faults import BadInput
from etchcalc.job.files import alone, text_of, toml_of, write_whole
from etchcalc.job.lessons import LESSONS, MOST

NAME = "progress.toml"
LONGEST = 60  # letters of a name


@dataclass(frozen=True)
class Done:
    """One sheet of one lesson, answered.

    Parameters
    ----------
    who : str
    lesson : str
        Key of `LESSONS`.
    sheet : int
        Its number.
    right, of : int
        Right at the first answer, of how many questions.
    date : str
        ISO 8601.
    """

    who: str
    lesson: str
    sheet: int
    right: int
    of: int
    date: str


def name_of(typed: str) -> str:
    """Return an apprentice's name as it was typed; raise BadInput in one sentence."""
    name = " ".join(typed.split())
    if not name:
        raise BadInput("Done by: nothing was typed; type the name of who did the sheet.")
    if len(name) > LONGEST or not name.isprintable():
        raise BadInput(f"Done by: that is no name here; type one of at most {LONGEST} letters.")
    return name


def opened(root: Path) -> list[Done]:
    """Return what is kept in a shop's folder, in order; none where there is no file yet.

    Raises
    ------
    BadInput
        The file cannot be read; the row is named by its number.
    """
    path = root / NAME
    if not path.is_file():
        return []
    rows = toml_of(text_of(path, "The progress file"), NAME, "[[done]]").get("done", [])
    if not isinstance(rows, list):
        raise BadInput(f"{NAME}: each sheet is a part of its own; write [[done]] above its lines.")
    return [_row(row, number) for number, row in enumerate(rows, 1)]


def _row(row, number: int) -> Done:
    whole = isinstance(row, dict) and set(row) == set(Done.__dataclass_fields__)
    if not (whole and all(isinstance(row[n], int) for n in ("sheet", "right", "of"))):
        raise BadInput(
            f"{NAME}, sheet {number}: it needs who, lesson, sheet, right, of and date, as the others have them."
        )
    done = Done(**{**row, "who": str(row["who"]), "date": str(row["date"])})
    counted = 0 <= done.right <= done.of and 1 <= done.sheet <= MOST
    if done.lesson not in LESSONS or not counted or not re.fullmatch(r"\d{4}-\d\d-\d\d", done.date):
        raise BadInput(
            f"{NAME}, sheet {number}: lesson, score or date cannot be meant; put it right or take it away."
        )
    return done


def keep(root: Path, done: Done) -> None:
    """Add a sheet that was done to the shop's file; remarks in it stay.

    Raises
    ------
    BadInput
        The file cannot be read or written, or that sheet is kept already.
    """
    with alone(root, NAME):
        before = opened(root)
        if any((d.who, d.lesson, d.sheet) == (done.who, done.lesson, done.sheet) for d in before):
            raise BadInput(
                f"Sheet {done.sheet} of this lesson is kept for {done.who} already; take another sheet."
            )
        path = root / NAME
        text = path.read_text(encoding="utf-8") if before else "# Who has done which lesson.\n"
        rows = tomlkit.parse(text)
        if "done" not in rows:
            rows["done"] = tomlkit.aot()
        rows["done"].append(tomlkit.item(asdict(done)))
        write_whole(path, tomlkit.dumps(rows).encode())
