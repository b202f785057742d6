"""Run the workbooks and commit their outputs without noise: the only way outputs are made.

    python tests/refresh_workbooks.py [--check]

Runs every workbook against a fresh shop that holds only the demonstration,
then drops what differs from run to run or belongs to one machine: widget
state and views, cell times, ids, the language's version. Two runs give
identical bytes. With --check nothing is written and a difference fails.
"""

import os
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient

WORKBOOKS = Path(__file__).resolve().parents[1] / "workbooks"
VIEW = "application/vnd.jupyter.widget-view+json"


def cleaned(notebook):
    """Return a notebook without what a run leaves behind."""
    notebook.metadata = {
        "etchcalc": {"live": True},
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    }
    for number, cell in enumerate(notebook.cells):
        cell["id"] = f"cell-{number}"
        cell.metadata.pop("execution", None)
        for output in cell.get("outputs", []):
            output.get("data", {}).pop(VIEW, None)
            if "metadata" in output:
                output["metadata"] = {}
    return notebook


def refreshed(path: Path) -> str:
    """Return the text of a workbook, run and cleaned."""
    notebook = nbformat.read(path, 4)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["ETCHCALC_SHOP"] = folder
        NotebookClient(
            notebook, timeout=120, kernel_name="python3", store_widget_state=False
        ).execute()
    return nbformat.writes(cleaned(notebook)) + "\n"


def main() -> int:
    """Refresh every workbook; return 1 where --check finds a difference."""
    check = "--check" in sys.argv
    stale = 0
    for path in sorted(WORKBOOKS.glob("**/*.ipynb")):
        if ".ipynb_checkpoints" in path.parts:
            continue
        text = refreshed(path)
        if text != path.read_text(encoding="utf-8"):
            stale += 1
            print(("stale: " if check else "refreshed: ") + path.name)
            if not check:
                path.write_text(text, encoding="utf-8", newline="\n")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
