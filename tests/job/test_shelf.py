"""What the shop holds, what a job takes of it, and what is to be bought."""

import pytest

from etchcalc.core.faults import BadInput
from etchcalc.core.units import read, show
from etchcalc.job import shelf
from etchcalc.job.plan import planned
from etchcalc.job.shelf import Item, keep, makes, opened, takes, to_buy

TEXT = """# the shelf over the sink
[[item]]
name = "ferric chloride hexahydrate"  # lumps
kind = "crystals"
amount = "1.2 kg"
package = "2.5 kg"
opened = "2026-01-02"
best_before = "2027-06-01"
[[item]]
name = "washing soda"
kind = "soda"
amount = "5 kg"
"""


@pytest.fixture
def path(tmp_path):
    found = tmp_path / shelf.NAME
    found.write_text(TEXT, encoding="utf-8")
    return found


def test_a_tub_of_two_and_a_half_kilograms_is_five_litres():
    # 2500 g over 500 g/L, by hand
    litres = makes(read("2.5 kg"), read("500 g/L"))
    assert litres.to("L").magnitude == pytest.approx(5.0)
    assert show(litres, "volume", count=2, fixed=False) == "5 L"


def test_the_shelf_is_read_and_written_with_its_remarks(path):
    items = opened(path)
    assert [(i.name, i.amount) for i in items] == [("ferric chloride hexahydrate", "1.2 kg"), ("washing soda", "5 kg")]  # fmt: skip
    keep(path, [items[0], Item("black paint", "paint", "200 mL")])
    text = path.read_text(encoding="utf-8")
    assert "# the shelf over the sink" in text and "# lumps" in text and "washing" not in text
    assert opened(path) == (items[0], Item("black paint", "paint", "200 mL"))
    keep(path, [])
    assert opened(path) == ()
    assert opened(path.with_name("none.toml")) == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [(('"1.2 kg"', '"1.2 L"'), "item 1, amount: “1.2 L” cannot be meant; type a mass, such as 2.5 kg"),
     (('"1.2 kg"', '"-1 kg"'), "cannot be meant"), (('"1.2 kg"', '"lots"'), "does not begin with a number"),
     (('"crystals"', '"acid"'), "item 1, kind: “acid” is not known; type crystals, soda"),
     (("opened", "openned"), "did you mean opened"), (('"2026-01-02"', '"2 January"'), "is not a date"),
     (('"2.5 kg"', '"0 kg"'), "holds nothing"), (('"5 kg"', '""'), "item 2: amount is missing"),
     (("[[item]]", "[item]"), r"\[\[item\]\]|cannot be read"), (('"soda"', '"metal"'), "metal: “washing soda” is not a metal"),
     (("[[item]]", "[[thing]]"), "“thing” is not known")],
)  # fmt: skip
def test_faults_are_named_in_one_sentence(path, change, words):
    path.write_text(TEXT.replace(*change, 1), encoding="utf-8")
    with pytest.raises(BadInput, match=words) as fault:
        opened(path)
    assert "\n" not in str(fault.value)


def test_a_faulty_item_is_not_written(path):
    with pytest.raises(BadInput, match="is not known"):
        keep(path, [Item("x", "acid", "1 L")])
    assert path.read_text(encoding="utf-8") == TEXT


def test_what_a_job_takes(plan):
    found = takes(plan)
    assert found["crystals"].to("g").magnitude == pytest.approx(plan.middle("etchant_crystals").to("g").magnitude)  # fmt: skip
    soda = plan.middle("developer_soda") + plan.middle("stripper_soda")
    assert found["soda"].to("g").magnitude == pytest.approx(soda.to("g").magnitude)
    assert set(found) <= set(shelf.TAKEN)


def test_a_used_bath_takes_no_crystals(commission):
    used = commission.changed(bath_is="used and written down", metal_dissolved="20 g")
    assert "crystals" not in takes(planned(used))


def bought(plan, items, today="2026-03-01"):
    return {p.kind: p for p in to_buy(plan, items, today)}


def test_what_is_missing_is_bought_in_whole_packages(plan):
    needed = plan.middle("etchant_crystals").to("g").magnitude
    tub = Item("crystals", "crystals", "0 g", "500 g")
    assert bought(plan, [tub])["crystals"].packages == -(-needed // 500)
    exact = Item("crystals", "crystals", "0 g", f"{needed / 2} g")
    assert bought(plan, [exact])["crystals"].packages == 2
    all_there = Item("crystals", "crystals", f"{needed} g", "500 g")
    assert "crystals" not in bought(plan, [all_there])
    halves = Item("half", "crystals", f"{needed / 2} g")
    assert "crystals" not in bought(plan, [halves, halves])
    none = bought(plan, [])["crystals"]
    assert none.packages is None and "are missing" in none.text


def test_what_is_past_its_best_does_not_count(plan):
    old = Item("old crystals", "crystals", "90 kg", "2.5 kg", best_before="2026-02-28")
    found = bought(plan, [old])["crystals"]
    assert found.held.magnitude == 0 and "old crystals is past its best before" in found.text
    assert "crystals" not in bought(plan, [old], "2026-02-28")


def test_only_the_jobs_own_metal_counts(plan):
    others = [Item("copper", "metal", "90 kg"), Item("brass", "metal", "90 kg", thickness="1.0 mm")]
    assert "metal" in bought(plan, others)
    assert "metal" not in bought(plan, [Item("brass", "metal", "90 kg", thickness="1.6 mm")])
