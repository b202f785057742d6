"""Working copies, and the sentences that opening may end in; no browser needed."""

import json
import socket

import nbformat
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.pages.live import opener, workbooks


def write(path, source, outputs=()):
    cell = nbformat.v4.new_code_cell(source, outputs=list(outputs))
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)


@pytest.fixture
def source(tmp_path):
    folder = tmp_path / "installed"
    (folder / "pictures").mkdir(parents=True)
    (folder / "lessons").mkdir()
    (folder / ".ipynb_checkpoints").mkdir()
    write(folder / "1-job-sheet.ipynb", "x = 1")
    write(folder / "lessons" / "1-time.ipynb", "y = 1")
    (folder / "pictures" / "plate.svg").write_text("<svg/>")
    (folder / ".ipynb_checkpoints" / "old.ipynb").write_text("{}")
    return folder


def names(folder):
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())


def test_copies_subfolders_and_leaves_hidden_files(source, tmp_path):
    target = tmp_path / "shop" / "workbooks"
    assert workbooks.make_working_copies(source, target) == []
    expected = ["1-job-sheet.ipynb", "lessons/1-time.ipynb", "pictures/plate.svg"]
    assert names(target) == sorted([workbooks.LEDGER, *expected])


def test_changed_outputs_are_overwritten(source, tmp_path):
    target = tmp_path / "copies"
    workbooks.make_working_copies(source, target)
    output = nbformat.v4.new_output("stream", text="live")
    write(target / "1-job-sheet.ipynb", "x = 1", [output])
    assert workbooks.make_working_copies(source, target) == []
    installed = (source / "1-job-sheet.ipynb").read_bytes()
    assert (target / "1-job-sheet.ipynb").read_bytes() == installed


def test_changed_cells_are_set_aside_each_time(source, tmp_path):
    target = tmp_path / "copies"
    workbooks.make_working_copies(source, target)
    kept = []
    for number in (2, 3):
        write(target / "1-job-sheet.ipynb", f"x = {number}")
        kept += workbooks.make_working_copies(source, target)
    assert len(set(kept)) == 2
    found = [nbformat.read(path, 4).cells[0].source for path in kept]
    assert found == ["x = 2", "x = 3"]
    assert nbformat.read(target / "1-job-sheet.ipynb", 4).cells[0].source == "x = 1"


def test_copy_of_an_older_version_is_not_taken_for_a_changed_one(source, tmp_path):
    target = tmp_path / "copies"
    workbooks.make_working_copies(source, target)
    write(source / "1-job-sheet.ipynb", "x = 1.1")
    assert workbooks.make_working_copies(source, target) == []


def test_unreadable_copy_and_ledger_are_survived(source, tmp_path):
    target = tmp_path / "copies"
    workbooks.make_working_copies(source, target)
    (target / workbooks.LEDGER).write_text("not json")
    (target / "1-job-sheet.ipynb").write_text("half a file")
    (kept,) = workbooks.make_working_copies(source, target)
    assert kept.read_text() == "half a file"
    assert json.loads((target / workbooks.LEDGER).read_text())


def test_read_only_originals_give_writable_copies(source, tmp_path):
    (source / "1-job-sheet.ipynb").chmod(0o444)
    workbooks.make_working_copies(source, tmp_path / "copies")
    assert (tmp_path / "copies" / "1-job-sheet.ipynb").stat().st_mode & 0o200


def test_folder_that_is_a_file_gives_a_sentence(source, tmp_path):
    (tmp_path / "shop").write_text("")
    with pytest.raises(BadInput, match="could not be copied"):
        workbooks.make_working_copies(source, tmp_path / "shop" / "workbooks")


def test_workbooks_are_looked_for_in_the_package_then_beside_it(source, tmp_path, monkeypatch):
    package = tmp_path / "etchcalc"
    (package / "workbooks").mkdir(parents=True)
    monkeypatch.setattr(workbooks, "_package_folder", lambda: package)
    with pytest.raises(BadInput, match="missing from this installation"):
        workbooks.workbooks_folder()
    source.rename(tmp_path / "workbooks")
    assert workbooks.workbooks_folder() == tmp_path / "workbooks"
    write(package / "workbooks" / "1-job-sheet.ipynb", "")
    assert workbooks.workbooks_folder() == package / "workbooks"


def test_unknown_workbook_lists_those_that_there_are(source):
    assert workbooks.find_workbook(source, "1-job-sheet") == "1-job-sheet.ipynb"
    for name in ("9-none", "../installed/1-job-sheet"):
        with pytest.raises(BadInput, match=r"There are: 1-job-sheet\.ipynb, lessons/1-time\.ipynb"):
            workbooks.find_workbook(source, name)


def test_port_in_use_gives_a_sentence(source, tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BadInput, match=f"Port {port} is used by another program"):
            opener.open_workbooks(tmp_path, source=source, port=port, browser=False)


@pytest.mark.parametrize("port", [-1, 70000])
def test_no_port_at_all_gives_a_sentence(source, tmp_path, port):
    with pytest.raises(BadInput, match="not a port"):
        opener.open_workbooks(tmp_path, source=source, port=port, browser=False)


def test_no_browser_is_said_in_one_sentence(monkeypatch):
    said = []
    monkeypatch.setattr(opener, "_has_screen", lambda: False)
    opener._show("http://127.0.0.1", said.append)
    assert said == [opener.NO_BROWSER]
