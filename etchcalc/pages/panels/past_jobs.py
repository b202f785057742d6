"""Past jobs: found again, gone to, worked again, done again; what they taught; the shop backed up."""

import shutil
import tempfile
from collections.abc import Callable
from datetime import date
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import quote

from etchcalc.core.faults import BadInput
from etchcalc.job import backup, done, files, keeping, memory, past
from etchcalc.job import record as records
from etchcalc.job.commission_file import parsed
from etchcalc.job.memory import Job
from etchcalc.job.schema import FILES
from etchcalc.job.shop import folder_name
from etchcalc.pages.panels import past_words, widgets
from etchcalc.pages.panels.controls import Fold, Word, field, html
from etchcalc.pages.panels.desk import Desk

MOST = 50  # rows of the table
FIGURES, HISTORY = "figures.csv", "history.csv"
NONE_JUDGED = (
    "How good the forecasts were is drawn here once a job is done: type what it took under “As it "
    "was done”, and save its record."
)
BUTTONS = {
    "go": "Go to it",
    "worked": "Work it again",
    "again": "The same again",
    "figures": "This plan's figures (CSV)",
    "history": "All jobs (CSV)",
    "pack": "Back the whole shop up",
}


class PastJobs:
    """The shop's jobs by a search, and what can be done with one and with all.

    Parameters
    ----------
    desk : Desk
    """

    def __init__(self, desk: Desk):
        self.desk = desk
        self.controls: list = []
        self.jobs: list[Job] = []
        self.search = Word("search", lambda *_: self.show(), "Look for")
        self.which = widgets.Dropdown(description="Job", options=[], classes="etch-question")
        does: dict[str, Callable] = {
            "go": self._go, "worked": self._worked, "again": self._again, "figures": self._figures,
            "history": self._history, "pack": self._packed,
        }  # fmt: skip
        self.buttons, self.says = {}, {}
        for key, words in BUTTONS.items():
            self.buttons[key] = widgets.Button(description=words, classes="etch-plain")
            self.buttons[key].on_click(lambda _, key=key: self._shown(key, does[key]))
        self.found, self.told, self.all, self.picture = (html(c) for c in ("", "etch-told-again", "etch-small etch-saved", ""))  # fmt: skip
        self.says = {k: self.told if k in ("go", "worked", "again") else self.all for k in BUTTONS}
        self.baths, self.lessons = Fold("The baths and their lives"), Fold("What jobs taught")
        self.upload = widgets.FileUpload(
            accept=".zip",
            multiple=False,
            description="Bring a backup back",
            classes="etch-plain etch-upload etch-upload-backup",
        )
        self.upload.observe(self._uploaded, "value")
        self.body = self._laid_out()

    def _laid_out(self) -> widgets.Widget:
        look = field(self.search, "client, name, metal")
        one = widgets.VBox([self.which], classes="etch-field")
        parts = [
            widgets.VBox([look], classes="etch-grid"),
            self.found,
            one,
            self._foot("go", "worked", "again"),
            self.told,
            self.picture,
            *self.baths.widgets,
            *self.lessons.widgets,
            self._foot("figures", "history", "pack", more=[self.upload]),
            self.all,
        ]
        return widgets.VBox(parts, classes="etch-past")

    def _foot(self, *keys: str, more: list[Any] | None = None) -> widgets.Widget:
        return widgets.HBox([*(self.buttons[k] for k in keys), *(more or [])], classes="etch-foot")

    def show(self) -> None:
        """Draw the jobs found, the baths' lives and what the jobs taught."""
        self.jobs = self._found()
        more = len(self.jobs) - MOST
        self.found.value = past_words.table(self.desk.shop.root, self.jobs[:MOST]) + (
            f"<p>{more} more: type more of what you look for.</p>" if more > 0 else ""
        )
        options = [(past_words.called(job), job.name) for job in self.jobs]
        if list(self.which.options) != options:
            names, kept = [name for _, name in options], self.which.value
            self.which.options = options
            self.which.value = kept if kept in names else next(iter(names), None)
        for key in ("go", "worked", "again"):
            self.buttons[key].disabled = not self.jobs
        units = self.desk.commission.units
        self.baths.body.value = past_words.baths_html(self.desk.shop.root, units)
        self.lessons.body.value = past_words.lessons_html(self.desk.shop.root)

    def draw(self) -> None:
        """Draw how good the forecasts of the jobs found were."""
        rows = memory.forecasts(self._found())
        if not rows:
            self.picture.value = f"<p class='etch-small-print'>{NONE_JUDGED}</p>"
            return
        from etchcalc.pages import figures  # matplotlib: loaded after the page has opened

        heading = "<h3>How good the forecasts were</h3>"
        self.picture.value = heading + figures.past_forecasts(rows)

    def text(self) -> list[str]:
        """Return the titles of the jobs found."""
        return [job.title for job in self._found()]

    def _found(self) -> list[Job]:
        return memory.find(memory.jobs(self.desk.shop.root), self.search.box.value)

    # what the buttons do -------------------------------------------------------------------

    def _shown(self, key: str, do: Callable[[], str]) -> None:
        """Do it, and show what was done or in one sentence why not."""
        says = self.says[key]
        says.value = ""
        try:
            says.value = do()
        except BadInput as fault:
            says.value = f"<b role='alert'>{escape(str(fault))}</b>"

    def _chosen(self) -> tuple[str, Path]:
        name = self.which.value
        if not name:
            raise BadInput("No job is chosen; choose one of those that were found.")
        return name, self.desk.shop.folder(name)

    def _go(self) -> str:
        name, _ = self._chosen()
        self.desk.turn_to(name)
        return f"“{escape(self.desk.commission.title)}” lies open now."

    def _worked(self) -> str:
        _, folder = self._chosen()
        found = _of_record(folder, lambda record: past.worked_again(record, folder))
        if not found:
            return "<p>Worked again: every figure the same.</p>"
        count = f"{len(found)} figure{'s' if len(found) > 1 else ''}"
        return f"<p>Worked again, {count} would differ:</p>{past_words.listed(map(str, found))}"

    def _again(self) -> str:
        _, folder = self._chosen()
        again = _of_record(folder, lambda record: done.same_again(record, folder))
        title = parsed(again.text).title
        begun = self.desk.shop.free_name(title)
        _begun(again.text, folder, self.desk.shop.folder(begun))
        self.desk.turn_to(begun)
        changed = "What has changed since:" if again.changed else "Nothing has changed since."
        return (
            f"<p>“{escape(title)}” is begun again as {begun} and lies open now; what it took last "
            f"time stands at the head of its file. {changed}</p>{past_words.listed(again.changed)}"
        )

    def _figures(self) -> str:
        path = self.desk.shop.folder(self.desk.name) / FIGURES
        files.write_whole(path, backup.figures_csv(records.record(self.desk.plan)))
        return self._written(path)

    def _history(self) -> str:
        path = self.desk.shop.root / HISTORY
        files.write_whole(path, backup.history_csv(memory.jobs(self.desk.shop.root)))
        return self._written(path)

    def _packed(self) -> str:
        self.desk._keep.now()
        root = self.desk.shop.root.resolve()
        path = root / backup.BACKUPS / f"{folder_name(root.name)}-{date.today().isoformat()}.zip"
        count = backup.packed(root, path)
        return f"{self._written(path)} It holds {count} files. Keep a copy on another disk."

    def _written(self, path: Path) -> str:
        there = path.resolve().relative_to(self.desk.shop.root.resolve()).as_posix()
        return f"Written: <a href='/files/{quote(there)}' target='_blank'>{escape(path.name)}</a>."

    def _uploaded(self, change) -> None:
        if not change["new"]:
            return
        given = change["new"][0]
        self._shown("pack", lambda: self._brought_back(given["name"], bytes(given["content"])))
        self.upload.value = ()

    def _brought_back(self, name: str, content: bytes) -> str:
        """Unpack a backup into a new folder beside the shop; the shop itself stays as it is."""
        root = self.desk.shop.root.resolve()
        target = base = root.with_name(f"{root.name}-brought-back")
        number = 2
        while target.exists():
            target, number = base.with_name(f"{base.name}-{number}"), number + 1
        try:
            with tempfile.TemporaryDirectory(dir=root.parent, prefix=".backup-") as folder:
                path = Path(folder) / (Path(name.replace("\\", "/")).name[-60:] or "backup.zip")
                path.write_bytes(content)
                count = backup.unpacked(path, target)
        except OSError as fault:
            raise BadInput(
                f"The backup could not be brought back beside {root} ({fault.strerror}); nothing was "
                "written. Free some space, or use `etchcalc restore` with another folder."
            ) from None
        there = escape(str(target))
        return (
            f"{count} files are back in {there}, a shop of its own; this one is as it was. "
            f"Open it with: <code>etchcalc open --shop &quot;{there}&quot;</code>"
        )


def _of_record(folder: Path, do: Callable[[dict], Any]) -> Any:
    """Return what is asked of a job's record; one sentence where it has none, or a damaged one."""
    path = folder / keeping.RECORD
    if not path.exists():
        raise BadInput("This job has no record yet; go to it and save the record first.")
    try:
        return do(past.opened(path))
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        if isinstance(fault, BadInput):
            raise
        raise BadInput(
            f"The record of this job is damaged; look among its earlier ones, in “{keeping.EARLIER}”."
        ) from None


def _begun(text: str, old: Path, new: Path) -> None:
    """Write a commission and the files that it names into a new folder; nothing where one is missing."""
    words, sources = parsed(text).words, {}
    for key, what in FILES.items():
        if not (name := words.get(key, "")):
            continue
        places = [p for p in (old / name, old / Path(name).name) if p.is_file()]
        inside = [p for p in places if p.resolve().is_relative_to(old.resolve())]
        target = (new / name).resolve()
        if not inside or not target.is_relative_to(new.resolve()):
            raise BadInput(
                f"The {what} “{name}” does not lie beside the old job; copy it there again, then begin."
            )
        sources[target] = inside[0]
    try:
        for target, source in sources.items():
            files.write_whole(target, source.read_bytes())
        files.write_whole(new / "commission.toml", text.encode())
    except (OSError, BadInput) as fault:
        shutil.rmtree(new, ignore_errors=True)
        if isinstance(fault, BadInput):
            raise
        raise BadInput(f"A file of the old job cannot be read ({fault.strerror}).") from None
