"""The command line, in its own process, as a shell sees it."""

import json
import os
import subprocess
import sys

import pint
import pytest

from etchcalc.core import formula
from etchcalc.job import commission_file
from etchcalc.pages import cli

NAMES = [
    "open_area",
    "open_fraction",
    "narrowest_line",
    "narrowest_land",
    "lines_lost",
    "islands_lost",
    "undercut",
    "film_line_compensation",
    "greatest_depth",
    "etchant_volume",
    "etchant_crystals",
    "etchant_water",
    "etchant_density",
    "etchant_baume",
    "etch_rate",
    "etch_time",
    "gauge_time",
    "metal_removed",
    "ferric_used",
    "ferric_left",
    "stop_out_paint",
    "fill_paint",
]

GOOD = """
[plate]
metal = "brass"
plate_width = "120 mm"
plate_height = "45 mm"
[lines]
finest_line = "0.4 mm"
depth = "0.2 mm"
"""


def run(*words):
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "etchcalc.pages.cli", *map(str, words)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    done = run("plan", "--out", folder, "--json")
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout)


def test_plan_of_the_demo_carries_every_result_with_range_and_basis(demo):
    _, plan = demo
    registry = pint.UnitRegistry()
    for name in NAMES:
        result = plan["results"][name]
        assert set(result) == {"value", "unit", "low", "high", "basis"}
        registry.Unit(result["unit"])
        assert result["basis"]
        if name == "gauge_time":
            assert result["low"] is None and result["high"] is None
        else:
            assert result["low"] <= result["value"] <= result["high"]


def test_plan_writes_the_record_and_its_drawing(demo):
    folder, plan = demo
    record = json.loads((folder / "record.json").read_text(encoding="utf-8"))
    assert record["results"] == plan["results"]
    assert (folder / "record.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert (folder / "artwork.svg").exists()
    assert [s["title"] for s in plan["steps"]] and all("cautions" in s for s in plan["steps"])


def test_demo_is_measured_on_its_drawing(demo):
    # the demonstration's small ticks are drawn 0.40 mm wide; a pixel of 1200 dpi is 0.021 mm
    assert demo[1]["results"]["narrowest_line"]["value"] == pytest.approx(0.40, abs=0.022)


def test_a_record_made_twice_is_the_same_file(tmp_path):
    (tmp_path / "job.toml").write_text(GOOD, encoding="utf-8")
    for folder in ("a", "b"):
        assert cli.main(["plan", str(tmp_path / "job.toml"), "--out", str(tmp_path / folder)]) == 0
    for name in ("record.json", "record.html"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


BAD = {
    "negative": ('depth = "0.2 mm"', 'depth = "-0.2 mm"'),
    "zero": ('depth = "0.2 mm"', 'depth = "0 mm"'),
    "nan": ('depth = "0.2 mm"', 'depth = "nan mm"'),
    "wrong unit": ('depth = "0.2 mm"', 'depth = "0.2 kg"'),
    "no unit": ('depth = "0.2 mm"', "depth = 0.2"),
    "absurd": ('plate_width = "120 mm"', 'plate_width = "120 km"'),
    "missing": ('depth = "0.2 mm"', ""),
    "unknown alloy": ('metal = "brass"', 'metal = "unobtainium"'),
    "through the plate": ('depth = "0.2 mm"', 'depth = "2 mm"'),
    "stainless tray": ("[lines]", '[tray]\ntray_material = "stainless steel"\n[lines]'),
    "too hot": ("[lines]", '[bath]\ntemperature = "75 °C"\n[lines]'),
    "misspelt": ("plate_width", "plate_widht"),
    "no drawing": ("[lines]", '[artwork]\nfile = "nowhere.svg"\n[lines]'),
    "outside": ("[lines]", '[artwork]\nfile = "../../etc/passwd"\n[lines]'),
    "drawing larger than the plate": ("[lines]", '[artwork]\nfile = "big.svg"\n[lines]'),
    "not TOML": ("[lines]", "[lines"),
}
BIG = '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200"/>'


@pytest.mark.parametrize("case", BAD)
def test_bad_commissions_are_answered_in_one_sentence_and_write_nothing(case, tmp_path, capsys):
    old, new = BAD[case]
    assert old in GOOD
    (tmp_path / "big.svg").write_text(BIG, encoding="utf-8")
    file = tmp_path / "job.toml"
    file.write_text(GOOD.replace(old, new), encoding="utf-8")
    assert cli.main(["plan", str(file), "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err and len(said.err.splitlines()) == 1
    assert 30 < len(said.err) < 600
    assert not (tmp_path / "out").exists()


WISHES = {
    "too fine": ('finest_line = "0.4 mm"', 'finest_line = "0.15 mm"', "too fine"),
    "too deep": ('depth = "0.2 mm"', 'depth = "0.9 mm"', "too fine"),
    "tray too small": ("[lines]", '[tray]\ntray_length = "60 mm"\n[lines]', "tray"),
    "bath too weak": (
        "[lines]",
        '[bath]\nstrength = "50 g/L"\n[artwork]\nopen_fraction = "90 %"\n[lines]',
        "bath",
    ),
}


@pytest.mark.parametrize("case", WISHES)
def test_impossible_wishes_get_a_plan_with_the_way_out(case, tmp_path, capsys):
    old, new, key = WISHES[case]
    text = GOOD.replace(old, new)
    if case == "bath too weak":
        text = text.replace('plate_height = "45 mm"', 'plate_height = "400 mm"\nplate_count = "9"')
    file = tmp_path / "job.toml"
    file.write_text(text, encoding="utf-8")
    assert cli.main(["plan", str(file), "--json", "--out", str(tmp_path / "out")]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert key in [a["key"] for a in plan["advice"] if a["way_out"]]
    assert all(r["value"] is not None for r in plan["results"].values())
    assert (tmp_path / "out" / "record.html").exists()


@pytest.mark.parametrize("name", sorted(formula.REGISTERED))
def test_work_answers_every_formula(name, capsys):
    entry = formula.REGISTERED[name]
    words = [f"{n}={cli.example(n)}" for n in entry.inputs]
    assert cli.main(["work", name, *words, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["value"] == answer["value"]
    assert answer["sources"]
    assert cli.main(["work", name, *words]) == 0
    assert answer["result"] in capsys.readouterr().out


def test_work_says_what_is_missing_or_wrong(capsys):
    assert cli.main(["work", "undercut", "depth=12 bananas", "width=3 mm"]) == 2
    said = capsys.readouterr().err
    assert "bananas" in said and "width" in said
    assert cli.main(["work", "nonsense"]) == 2
    assert "etchcalc work" in capsys.readouterr().err
    assert cli.main(["work", "ferric_left", "ferric_used=3 g"]) == 2
    assert "crystals_when_fresh is missing" in capsys.readouterr().err


def test_work_without_a_name_lists_all(capsys):
    assert cli.main(["work", "--json"]) == 0
    assert set(json.loads(capsys.readouterr().out)) == set(formula.REGISTERED)
    assert cli.main(["work"]) == 0
    assert "etch_time" in capsys.readouterr().out


def test_new_writes_a_commission_that_plans_and_never_overwrites(tmp_path, capsys):
    file = tmp_path / "mine.toml"
    assert cli.main(["new", str(file)]) == 0
    assert cli.main(["plan", str(file)]) == 0
    assert "Name of the job" in capsys.readouterr().out
    assert cli.main(["new", str(file)]) == 2


@pytest.mark.parametrize("zone", ["Pacific/Auckland", ""])
def test_new_says_the_computer_s_zone_where_it_can_be_told(tmp_path, monkeypatch, zone):
    monkeypatch.setattr(cli.clocks, "own_zone", lambda: zone)
    assert cli.main(["new", str(tmp_path / "mine.toml")]) == 0
    said = commission_file.opened(tmp_path / "mine.toml").words["zone"]
    assert said == zone


def test_a_folder_that_cannot_be_written_is_said(tmp_path, capsys):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    assert cli.main(["plan", "--out", str(blocked / "out")]) == 2
    assert "could not be saved" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="pipes of this shell")
def test_a_reader_that_has_read_enough_gets_no_traceback():
    command = f"{sys.executable} -m etchcalc.pages.cli work | head -1"
    run = subprocess.run(command, shell=True, capture_output=True, text=True, check=True)
    assert run.stderr == "" and len(run.stdout.splitlines()) == 1


def test_the_record_is_saved_though_only_the_first_line_is_read(tmp_path):
    """`etchcalc plan --out DIR | head -1` must not lose the record."""
    command = [sys.executable, "-m", "etchcalc.pages.cli", "plan", "--out", str(tmp_path / "out")]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as process:
        process.stdout.readline()
        process.stdout.close()
        assert process.wait(timeout=120) == 0
    assert (tmp_path / "out/record.json").exists()
