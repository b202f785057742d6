"""Past jobs: every schema opens, the commission comes back as typed, figures are worked again."""

import copy
import json
from pathlib import Path

import numpy as np
import pytest
import tomlkit

import etchcalc
from etchcalc.core.faults import BadInput
from etchcalc.core.vocabulary import VOCABULARY
from etchcalc.job import corrections, done, drawing, files, keeping, past
from etchcalc.job.commission_file import opened, parsed
from etchcalc.job.known import known_to
from etchcalc.job.learning import file_of
from etchcalc.job.plan import planned
from etchcalc.job.record import SCHEMA, record
from etchcalc.job.shop import Shop, demo_files
from etchcalc.pages import sheet

# as earlier states of the package wrote them, of invented jobs; never to be changed
STORED = sorted((Path(__file__).parents[1] / "records").glob("*.json"))


def of(commission, **more):
    """The record of a commission as it comes back from its file."""
    found = {**record(planned(commission)), "version": 1}
    return past.present(json.loads(keeping.text(found | more)))


# every schema


def test_there_is_a_stored_record_of_every_schema():
    assert {json.loads(p.read_bytes())["schema"] for p in STORED} >= set(range(1, min(SCHEMA, 3) + 1))  # fmt: skip


@pytest.mark.parametrize("path", STORED, ids=lambda p: p.stem)
def test_every_stored_record_opens_prints_and_is_the_commission_it_was(path):
    said = json.loads(path.read_bytes())
    found = past.opened(path)
    assert {key: found[key] for key in said} == said
    order = past.commission_of(found)
    assert order.typed == said["typed"]
    assert {k: order.words[k] for k in said["words"]} == said["words"]
    assert order.metal == said["metal"]["key"]
    assert list(order.readings) == [r["typed"] for r in said.get("readings", [])]
    assert said["title"] in sheet.page(found)
    assert parsed(done.same_again(found).text).values["depth"] == order.values["depth"]


def test_a_commission_comes_back_exactly_as_it_was_typed(order):
    told = """
[[reading]]
reading_time = "30 min"
reading_depth = "2 thou"
[[section]]
section_film = "0.3 mm"
section_line = "0.5 mm"
section_depth = "0.15 mm"
[[wedge]]
test_exposure = "120 s"
held_step = "7"
[[blemish]]
blemish = "pinhole"
place = "left of the 7"
"""
    text = order.replace('"500 g/L"', '"27 °Bé"').replace('"0.40 mm"', '"15¾ thou"')
    commission = parsed(text + told)
    again = past.commission_of(of(commission))
    assert again == commission


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"", "is broken"), (b"{", "is broken"), (b"\xff\xfe", "is broken"), (b"[" * 100_000, "is broken"),
     (b"[]", "no record of etchcalc"), (b'{"schema": "3"}', "no record of etchcalc"), (b"null", "no record"),
     (b'{"schema": true}', "no record of etchcalc"), (b'{"schema": 3}', "its part “typed” is missing"),
     (b'{"schema": 99, "package_version": "7.1"}', "schema 99, written by etchcalc 7.1")],
)  # fmt: skip
def test_what_is_no_record_or_a_newer_one_is_refused_in_one_sentence(tmp_path, content, words):
    path = tmp_path / "record.json"
    path.write_bytes(content)
    with pytest.raises(BadInput, match=words) as fault:
        past.opened(path)
    assert str(fault.value).startswith(("record.json", "The record record.json"))
    assert "\n" not in str(fault.value) and len(str(fault.value)) < 250


def test_a_record_that_is_not_there(tmp_path):
    with pytest.raises(BadInput, match="cannot be read"):
        past.opened(tmp_path / "record.json")


# worked again


def test_worked_again_by_the_same_package_nothing_differs(commission, order):
    assert past.worked_again(of(commission)) == []
    read = parsed(order + '[[reading]]\nreading_time = "30 min"\nreading_depth = "0.05 mm"\n')
    assert past.worked_again(of(read)) == []


def test_a_start_value_that_was_another_is_the_reason_given(commission, monkeypatch):
    then = of(commission)
    word = VOCABULARY["waste_margin"]
    other = copy.copy(word)
    object.__setattr__(other, "start", 2 * word.start)
    monkeypatch.setitem(VOCABULARY, "waste_margin", other)
    found = {d.name: d for d in past.worked_again(then)}
    # larger blanks leave less room for liquor; how far it undercuts hangs on the depth alone
    assert "etchant_volume" in found and "undercut" not in found
    assert found["etchant_volume"].why.startswith("a start value or table: waste margin")
    assert str(found["etchant_volume"]).startswith("etchant volume: ")


def test_a_formula_that_was_another_and_a_package_that_was_older(commission):
    then = of(commission, package_version="0.0.9")
    then["results"]["undercut"]["value"] *= 2
    for step in then["steps"]:
        for working in step["workings"]:
            if working["name"] == "undercut":
                working["lines"][0]["words"] = "2 · depth / etch factor"
    (found,) = past.worked_again(then)
    assert found.name == "undercut"
    assert found.why == f"etchcalc 0.0.9 then, {etchcalc.__version__} now: another formula for undercut"  # fmt: skip


def test_a_figure_that_differs_for_no_told_reason(commission):
    then = of(commission)
    then["results"]["etch_time"]["high"] *= 1.01
    (found,) = past.worked_again(then)
    assert (found.name, found.why) == ("etch_time", "the package's way of working it out")


def test_a_figure_that_is_no_more(commission):
    then = of(commission)
    then["results"]["glue_needed"] = {"value": 2.0, "unit": "g", "low": 1.0, "high": 3.0, "basis": "assumed"}  # fmt: skip
    (found,) = past.worked_again(then)
    assert (found.then, found.now) == ("2.00 g (1.00 g to 3.00 g)", "–")


@pytest.fixture
def job(tmp_path, commission):
    """A commission in a shop, with its drawing."""
    folder = Shop(tmp_path).folder("job")
    for name, content in demo_files().items():
        files.write_whole(folder / name, content)
    return folder


def test_what_the_shop_has_learnt_since_is_the_reason(job):
    order = opened(job / "commission.toml")
    sheet.save(planned(order, drawing.measured(order)), job, "2026-01-02")
    then = past.opened(job / "record.json")
    entry = corrections.Entry("other", "2026-02-01", "polypropylene 330 × 250 mm", "tilted by hand",
                              "face down", "brass", "0.4 mm", 0.7, 0.05, 3)  # fmt: skip
    corrections.kept(file_of(job.parents[1]), entry)
    assert known_to(job.parents[1], order, "job")
    found = {d.name: d for d in past.worked_again(then, job)}
    assert "the shop's jobs have taught since" in found["etch_time"].why
    assert "undercut" not in found


def test_the_baths_log_is_the_reason_and_that_it_is_gone(tmp_path, order):
    folder = Shop(tmp_path).folder("job")
    text = order.replace(
        "[bath]", '[bath]\nbath_is = "used and written down"\nbath_name = "Left tub"'
    )
    log = 'name = "Left tub"\nmixed = "2026-01-01"\nstrength = "500 g/L"\nvolume = "4 L"\n'
    files.write_whole(folder / "commission.toml", text.encode())
    files.write_whole(tmp_path / "baths" / "left-tub.toml", log.encode())
    commission = opened(folder / "commission.toml")
    sheet.save(planned(commission, known=known_to(tmp_path, commission, "job")), folder)
    then = past.opened(folder / "record.json")
    assert past.worked_again(then, folder) == []
    more = '[[job]]\ndate = "2026-02-01"\ncommission = "other"\nmetal = "brass"\nmetal_removed = "60 g"\n'
    files.write_whole(tmp_path / "baths" / "left-tub.toml", (log + more).encode())
    assert "the bath's log" in {d.name: d for d in past.worked_again(then, folder)}["etch_time"].why
    (tmp_path / "baths" / "left-tub.toml").unlink()
    assert "no log of" in " ".join(d.why for d in past.worked_again(then, folder))


def test_a_drawing_that_is_gone_or_another_is_said(job):
    order = opened(job / "commission.toml")
    sheet.save(planned(order, drawing.measured(order)), job, "2026-01-02")
    then = past.opened(job / "record.json")
    (job / "artwork.svg").unlink()
    assert past.worked_again(then, job) == past.worked_again(then)
    wide = demo_files()["artwork.svg"].replace(b"</svg>", b'<rect x="1" y="1" width="30" height="20"/></svg>')  # fmt: skip
    (job / "artwork.svg").write_bytes(wide)
    found = {d.name: d for d in past.worked_again(then, job)}
    assert "artwork.svg is another file now" in found["open_area"].why


# what was done


def did(commission, **said):
    found = of(commission)
    found["typed"] |= {k: v for k, v in said.items() if k in done.DONE}
    found["words"] |= {k: v for k, v in said.items() if k in done.DONE_WORDS}
    return found


def test_planned_against_actual(commission):
    found = did(commission, done_time="90 min", done_depth="0.165 mm", done_temperature="40 °C",
                done_notes="the lamp was new")  # fmt: skip
    known = done.as_done(found)
    # 0.165 over the ordered 0.15, and 40 against 42 °C: by hand
    assert known.row("done_depth").off == "+10 %"
    assert known.row("done_temperature").off == "−2.0 °C"
    assert known.row("done_width") is None
    assert known.words == {"done_notes": "the lamp was new"}
    curve = found["depth_against_time"]
    wanted = np.interp(0.165, curve["depth"], curve["middle"])
    assert float(known.row("done_time").planned.magnitude) == pytest.approx(wanted)
    assert known.forecast[0] < known.forecast[1] < known.forecast[2]


def test_the_forecast_is_that_before_any_reading_and_at_the_ordered_depth(order):
    commission = parsed(order + '[[reading]]\nreading_time = "30 min"\nreading_depth = "0.02 mm"\n')
    unread = of(parsed(order))
    middle = done.foretold(of(commission))[1]
    assert middle == pytest.approx(unread["results"]["etch_time"]["value"], rel=1e-2)
    assert done.foretold(unread, 5.0) is None


def test_done_in_a_unit_that_cannot_be_meant(commission):
    with pytest.raises(BadInput, match="etch time"):
        done.as_done(did(commission, done_time="90 mm"))


# the same again


def test_the_same_again_with_what_it_really_did(order):
    grooves = """
[[section]]
section_film = "0.3 mm"
section_line = "0.5 mm"
section_depth = "0.15 mm"
[[wedge]]
test_exposure = "120 s"
held_step = "7"
[[reading]]
reading_time = "30 min"
reading_depth = "0.05 mm"
"""
    found = did(parsed(order + grooves), done_time="90 min", done_temperature="40 °C",
                done_notes='\x1b\x00"]\n[plate]\nmetal = "lead')  # fmt: skip
    again = done.same_again(found)
    new = parsed(again.text)
    assert new.typed["temperature"] == "40 °C"
    # 0.15 / ((0.5 - 0.3) / 2) = 1.5 measured on a line of 0.5 mm; the usual one rises with the width
    assert 1.3 < float(new.values["etch_factor"].magnitude) < 1.6
    assert new.wedges and not new.readings and not new.sections
    assert new.metal == "CW508L"
    assert "# It took 1 h 30 min: the rate was" in again.text
    assert "# Reading: 30 min, 0.05 mm." in again.text
    assert again.changed == ()
    assert tomlkit.parse(again.text)


@pytest.mark.parametrize("title", ["<script>x</script>", "../../x", "🕰️", "a" * 300, '=cmd|"x"!A1', 'q"\n[plate]'])  # fmt: skip
def test_a_hard_title_is_the_same_again(commission, title):
    commission = parsed('commission.title = "x"\n' + tomlkit.dumps({"plate": {"metal": "brass", "plate_width": "9 cm", "plate_height": "9 cm"}, "lines": {"finest_line": "0.4 mm", "depth": "0.2 mm"}})).changed(title=title, client=title)  # fmt: skip
    assert parsed(done.same_again(of(commission)).text).words["client"] == title.strip()
