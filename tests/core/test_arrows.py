"""The rooms of the house: imports run one way, files stay small."""

import ast
import io
import tokenize
from pathlib import Path

import pytest

import etchcalc

HOUSE = Path(etchcalc.__file__).parent
FILES = sorted(path for path in HOUSE.rglob("*.py") if "workbooks" not in path.parts)
NAMES = [str(path.relative_to(HOUSE)) for path in FILES]
# what each room may import of the house
MAY = {
    "core": {"core"},
    "process": {"core", "process"},
    "artwork": {"core", "artwork"},
    "job": {"core", "process", "artwork", "job"},
    "pages": {"core", "process", "artwork", "job", "pages"},
}


def room(path):
    return path.relative_to(HOUSE).parts[0] if path.parent != HOUSE else ""


def imported(source):
    """Every module that a file imports, wherever in it."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def rooms_of(names):
    return {n.split(".")[1] for n in names if n.startswith("etchcalc.") and n.split(".")[1] in MAY}


def code_lines(text):
    """Lines of code: blanks, comments and docstrings not counted."""
    docs = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            first = node.body[0] if node.body else None
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                docs |= set(range(first.lineno, first.end_lineno + 1))
    skipped = (
        tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT,
        tokenize.ENDMARKER,
    )  # fmt: skip
    lines = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in skipped:
            lines |= set(range(token.start[0], token.end[0] + 1))
    return len(lines - docs)


def test_counting_lines():
    text = '"""Doc\n\nmore."""\n# remark\n\nx = 1\n\n\ndef f():\n    """Doc."""\n    return (\n        1\n    )\n'
    assert code_lines(text) == 5


def test_an_arrow_back_is_seen():
    assert rooms_of(imported("from etchcalc.job import plan\nimport numpy")) == {"job"}
    assert rooms_of(imported("def f():\n    import etchcalc.pages.sheet")) == {"pages"}
    assert rooms_of(imported("from etchcalc import process")) == {"process"}


@pytest.mark.parametrize("path", FILES, ids=NAMES)
def test_arrows_run_one_way(path):
    text = path.read_text(encoding="utf-8")
    if room(path):
        assert rooms_of(imported(text)) <= MAY[room(path)]
    else:
        assert not rooms_of(imported(text)), "the package itself imports no room"


@pytest.mark.parametrize("path", FILES, ids=NAMES)
def test_who_may_import_what(path):
    names = {name.split(".")[0] for name in imported(path.read_text(encoding="utf-8"))}
    place = path.relative_to(HOUSE).as_posix()
    if place not in ("pages/figures.py", "pages/map_figures.py"):
        assert "matplotlib" not in names
    if place != "pages/panels/widgets.py":
        assert not {"ipywidgets", "anywidget"} & names
    if room(path) in ("core", "process", "job"):
        assert not {"IPython", "jinja2", "jupyterlab"} & names


@pytest.mark.parametrize("path", FILES, ids=NAMES)
def test_no_file_is_long(path):
    assert code_lines(path.read_text(encoding="utf-8")) <= 300


def test_the_mechanism_and_the_process_stay_thin():
    assert code_lines((HOUSE / "core" / "formula.py").read_text(encoding="utf-8")) < 150
    process = {
        path.name: code_lines(path.read_text(encoding="utf-8"))
        for path in FILES
        if room(path) == "process"
    }
    # the simulation of the groove is a solver, no formula: counted by itself
    solver = sum(process.pop(name) for name in ("groove.py", "groove_front.py"))
    assert sum(process.values()) < 1500 and solver < 380
