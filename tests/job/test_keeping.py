"""The record is kept for ever: whole at any moment, every version, with its files' digests."""

import json
import os
import subprocess
import sys
from hashlib import sha256
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from etchcalc.core.faults import BadInput
from etchcalc.job import drawing, files, keeping, past
from etchcalc.job.commission_file import opened, parsed
from etchcalc.job.plan import planned
from etchcalc.job.record import record
from etchcalc.job.shop import Shop, demo_files
from etchcalc.pages import sheet

SAVING = Path(__file__).parents[1] / "benchmarks" / "saving.py"
SCHEMA = json.loads((resources.files("etchcalc") / "data" / "record.schema.json").read_bytes())


def simple(mark, **more):
    return {"schema": 4, "title": mark, "words": {}, **more}


def mark_of(path):
    return json.loads(path.read_bytes())["title"]


def names(folder):
    return sorted(p.name for p in folder.iterdir())


# any moment


@pytest.mark.skipif(os.name == "nt", reason="nothing is forked there")
def test_killed_full_read_only_and_two_at_once_lose_nothing():
    said = subprocess.run([sys.executable, SAVING, "20", "10", "20"], capture_output=True, text=True, check=True).stdout  # fmt: skip
    found = dict(line.split(": ", 1) for line in said.splitlines())
    assert int(found["kills"]) == 20
    assert int(found["steps_killed"]) > 30
    for name in ("broken_records", "lost_versions", "full_disk_broken", "read_only_broken"):
        assert found[name].startswith("0"), said


def test_a_page_that_a_killed_save_left_beside_is_put_in_its_place(tmp_path):
    keeping.keep(tmp_path, simple("one"), "page one")
    kept = keeping.keep(tmp_path, simple("two"), "page two")
    # as it is between the two last steps of a save
    kept.page.rename(tmp_path / keeping.NEXT)
    kept.page.write_bytes(b"page one")
    assert keeping.settled(tmp_path)
    assert kept.page.read_text(encoding="utf-8").startswith("page two")
    kept.page.write_bytes(b"page one")
    assert not keeping.settled(tmp_path)


def test_left_overs_of_a_killed_save_are_swept_and_nothing_else(tmp_path):
    (tmp_path / "earlier").mkdir()
    left = [".record.json.ab12cd34", "..record.html.next.ab12cd34", "earlier/.record-0001.json.ab12cd34"]  # fmt: skip
    mine = [".record.json.bak", "record.json.ab12cd34", ".notes"]
    for name in left + mine:
        (tmp_path / name).write_bytes(b"x")
    keeping.keep(tmp_path, simple("one"), "page")
    assert [name for name in left if (tmp_path / name).exists()] == []
    assert [name for name in mine if not (tmp_path / name).exists()] == []


def test_old_left_overs_of_any_file_are_swept_and_young_ones_wait(tmp_path):
    old, young = (tmp_path / f".commission.toml.{n}" for n in ("abcdefgh", "ijklmnop"))
    for path in (old, young):
        path.write_bytes(b"half")
    os.utime(old, (1, 1))
    files.write_whole(tmp_path / "commission.toml", b"whole")
    assert not old.exists() and young.exists()


# versions


def test_every_version_stays(tmp_path):
    kept = [keeping.keep(tmp_path, simple(f"{n}"), f"page {n}").version for n in range(5)]
    assert kept == [1, 2, 3, 4, 5]
    found = keeping.versions(tmp_path)
    assert {n: mark_of(path) for n, path in found.items()} == dict(zip(kept, "01234", strict=True))
    assert names(tmp_path) == [".lock", "earlier", "record.html", "record.json"]


def test_the_same_saved_again_is_no_new_version(tmp_path):
    assert keeping.keep(tmp_path, simple("one"), "page").version == 1
    kept = keeping.keep(tmp_path, simple("one"), "page set anew")
    assert (kept.version, kept.told) == (1, "")
    assert kept.page.read_text(encoding="utf-8").startswith("page set anew")
    assert keeping.keep(tmp_path, simple("one", saved="2026-01-02"), "page").version == 2


def test_the_second_saver_of_a_version_is_told_and_both_are_kept(tmp_path):
    seen = keeping.keep(tmp_path, simple("both opened this"), "page").version
    left = keeping.keep(tmp_path, simple("left"), "page", seen)
    right = keeping.keep(tmp_path, simple("right"), "page", seen)
    assert left.told == ""
    assert right.told.count(".") == 2 and "record-0002.json" in right.told
    assert mark_of(tmp_path / "earlier" / "record-0002.json") == "left"
    assert mark_of(tmp_path / "record.json") == "right"
    assert keeping.keep(tmp_path, simple("on"), "page", right.version).told == ""


def test_a_record_put_back_or_broken_by_hand_is_set_aside_too(tmp_path):
    for mark in "abc":
        keeping.keep(tmp_path, simple(mark), "page")
    old = (tmp_path / "earlier" / "record-0001.json").read_bytes()
    (tmp_path / "record.json").write_bytes(old.replace(b'"a"', b'"A"'))
    assert keeping.keep(tmp_path, simple("d"), "page").version == 3
    (tmp_path / "record.json").write_bytes(b"{half")
    keeping.keep(tmp_path, simple("e"), "page")
    earlier = tmp_path / "earlier"
    assert names(earlier) == sorted(f"record-{n}.json" for n in ("0000", "0001", "0001-2", "0002"))
    assert mark_of(earlier / "record-0001-2.json") == "A"
    assert (earlier / "record-0000.json").read_bytes() == b"{half"


def test_a_record_without_a_version_is_kept_as_number_0(tmp_path):
    (tmp_path / "record.json").write_text('{"schema": 3, "title": "old"}', encoding="utf-8")
    assert keeping.keep(tmp_path, simple("new"), "page", seen=0).told == ""
    assert mark_of(tmp_path / "earlier" / "record-0000.json") == "old"


def test_a_lock_that_is_held_ends_in_a_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "_WAITS", 0.05)
    with (
        files.alone(tmp_path, "record.json"),
        pytest.raises(BadInput, match=r"record\.json could not be saved"),
    ):
        keeping.keep(tmp_path, simple("one"), "page")
    assert keeping.keep(tmp_path, simple("one"), "page").version == 1


# the whole record, as it is saved


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    shop = Shop(tmp_path_factory.mktemp("shop"))
    folder = shop.folder("job")
    for name, content in demo_files().items():
        files.write_whole(folder / name, content)
    order = opened(folder / "commission.toml").with_row(
        "section", {"section_film": "0.3 mm", "section_line": "0.5 mm", "section_depth": "0.15 mm"}
    )
    photograph = shop.attach("job", "../../<b>Dial 1.JPG", b"not really one")
    order.words["photographs"] = photograph
    sheet.save(planned(order, drawing.measured(order)), folder, "2026-03-04")
    return folder


def test_the_digest_of_every_file_stands_in_the_record(saved):
    found = past.opened(saved / "record.json")
    assert list(found["files"]) == ["artwork.svg", "photograph-b-dial-1.jpg"]
    for name, digest in found["files"].items():
        assert digest == sha256((saved / name).read_bytes()).hexdigest()
    assert keeping.altered(saved, found) == []
    assert keeping.settled(saved)


def test_an_altered_file_is_named(saved):
    path = saved / "photograph-b-dial-1.jpg"
    before = path.read_bytes()
    found = past.opened(saved / "record.json")
    path.write_bytes(b"another")
    assert "another file now" in keeping.altered(saved, found)[0]
    path.unlink()
    assert "no longer beside" in keeping.altered(saved, found)[0]
    path.write_bytes(before)


def test_a_file_that_is_not_there_is_refused_and_the_record_stays(tmp_path):
    keeping.keep(tmp_path, simple("one"), "page")
    words = {"photographs": "a.jpg, ../../etc/passwd"}
    with pytest.raises(BadInput, match="no file “a"):
        keeping.keep(tmp_path, simple("two") | {"words": words}, "page")
    assert mark_of(tmp_path / "record.json") == "one"


def test_no_photograph_by_its_name(tmp_path):
    with pytest.raises(BadInput, match="no photograph by its name"):
        Shop(tmp_path).attach("job", "x.exe", b"")


def checked(found):
    jsonschema.Draft202012Validator(SCHEMA).validate(found)


def test_the_schema_is_one_and_a_saved_record_keeps_to_it(saved):
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    checked(json.loads((saved / "record.json").read_bytes()))


def test_a_record_of_any_order_keeps_to_the_schema(order):
    read = parsed(order + '[[reading]]\nreading_time = "30 min"\nreading_depth = "0.05 mm"\n')
    for commission in (parsed(order), read, read.changed(units="US", metal="nickel silver")):
        whole = {**record(planned(commission)), "version": 1}
        checked(json.loads(keeping.text(whole)))


@pytest.mark.parametrize(
    ("path", "value"),
    [(("results", "etch_time", "value"), "72"), (("results", "etch_time", "more"), 1), (("metal",), "CW508L"),
     (("version",), -1), (("files", "a.svg"), "abc"), (("noted",), {}), (("typed", "depth"), 0.2),
     (("saved",), "yesterday")],
)  # fmt: skip
def test_what_is_no_record_does_not_keep_to_it(saved, path, value):
    found = json.loads((saved / "record.json").read_bytes())
    part = found
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        checked(found)
