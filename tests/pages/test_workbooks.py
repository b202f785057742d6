"""The workbooks as committed: thin, executed, clean, and a real check of their figures."""

import json
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

WORKBOOKS = Path(__file__).parents[2] / "workbooks"
BOOKS = sorted(p for p in WORKBOOKS.glob("**/*.ipynb") if ".ipynb_checkpoints" not in p.parts)


@pytest.mark.parametrize("path", BOOKS, ids=lambda p: p.name)
def test_cells_are_thin_and_without_logic(path):
    for cell in nbformat.read(path, 4).cells:
        if cell.cell_type == "code":
            lines = [line for line in cell.source.splitlines() if line.strip()]
            assert len(lines) <= 10
            assert not re.search(
                r"^\s*(def|class|for|while|if|lambda)\b", cell.source, re.MULTILINE
            )


@pytest.mark.parametrize("path", BOOKS, ids=lambda p: p.name)
def test_outputs_are_committed_and_clean(path):
    text = path.read_text(encoding="utf-8")
    book = json.loads(text)
    assert set(book["metadata"]) == {"etchcalc", "kernelspec"}
    assert "widget-view" not in text
    for number, cell in enumerate(book["cells"]):
        assert cell["id"] == f"cell-{number}"
        assert "execution" not in cell["metadata"]
        if cell["cell_type"] == "code":
            assert cell["execution_count"] is not None and cell["outputs"]


def nbval(path):
    words = [
        sys.executable,
        "-m",
        "pytest",
        "--nbval",
        "--nbval-current-env",
        "-q",
        "-c",
        "/dev/null",
        str(path),
    ]
    return subprocess.run(words, capture_output=True, text=True, check=False, timeout=300)


def test_an_altered_last_figure_fails(tmp_path):
    book = json.loads((WORKBOOKS / "1-job-sheet.ipynb").read_text(encoding="utf-8"))
    code = next(cell for cell in book["cells"] if cell["cell_type"] == "code")
    lines = code["outputs"][0]["data"]["text/plain"]
    at = re.search(r"\d(?=\D*$)", lines[-1]).start()
    lines[-1] = lines[-1][:at] + str((int(lines[-1][at]) + 1) % 10) + lines[-1][at + 1 :]
    altered = tmp_path / "altered.ipynb"
    altered.write_text(json.dumps(book), encoding="utf-8")
    result = nbval(altered)
    assert result.returncode == 1 and "1 failed" in result.stdout, result.stdout
