"""The log of a bath: read with every fault named, kept with its remarks, atoms conserved throughout."""

import re
from dataclasses import replace

import numpy as np
import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read, unit
from etchcalc.job.baths import (
    Bath,
    Entry,
    keep,
    opened,
    parsed,
    path_of,
    said,
    state,
    with_job,
    written,
)
from etchcalc.process import mixture, solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=60)
LOG = """# the bottle behind the door
name = "Big bottle"
mixed = "2026-02-01"  # with Jo
strength = "500 g/L"
volume = "3 L"

[[job]]
date = "2026-02-03"
commission = "tide-table"  # the first
metal = "CuZn37"
metal_removed = "3.4 g"

# it was low
[[topped]]
date = 2026-02-10
taken_out = "25 %"
crystals = "200 g"
water = "300 g"

[[job]]
date = "2026-02-12"
commission = "rain-gauge"
metal = "copper"
metal_removed = "10 g"  # by weight

[[water]]
date = "2026-02-20"
water = "120 mL"
"""
BREW = Bath("Brew", "500 g/L", "3 L", "2026-01-01")
ALLOYS = sorted(tables.load("alloys.toml"))
METALS = {"copper": "Cu", "zinc": "Zn", "nickel": "Ni", "tin": "Sn", "lead": "Pb"}
HEXAHYDRATE = periodictable.formula("FeCl3(H2O)6").mass


def job(commission, metal, grams, date="2026-01-02"):
    return Entry("job", {"date": date, "commission": commission, "metal": metal,
                         "metal_removed": f"{grams!r} g"})  # fmt: skip


def topped(taken_out, crystals, water, date="2026-01-02"):
    return Entry("topped", {"date": date, "taken_out": f"{taken_out!r} %",
                            "crystals": f"{crystals!r} g", "water": f"{water!r} g"})  # fmt: skip


def after(*entries, bath=BREW, without=""):
    return state(replace(bath, entries=entries), without)


def value(quantity, name=""):
    return float(quantity.to(unit(name or "dimensionless")).magnitude)


def numbers(now):
    return (value(now.strength, "g/L"), value(now.volume, "L"), value(now.bath_spent_share),
            value(now.copper_atom_share), value(now.metal_dissolved, "g"))  # fmt: skip


def refusal(function, *arguments, **more):
    with pytest.raises(BadInput) as fault:
        function(*arguments, **more)
    sentence = str(fault.value)
    assert sentence.endswith(".") and "\n" not in sentence
    assert not re.search(r"Quantity|Error|None|dimensionless|nan", sentence)
    return sentence.replace(" ", " ")


# what a bath is


def test_a_bath_without_entries_is_as_it_was_mixed():
    assert numbers(state(BREW)) == pytest.approx((500, 3, 0, 1, 0))
    assert value(after(bath=replace(BREW, strength="27.3 °Bé")).strength, "g/L") == pytest.approx(
        500, abs=2
    )


def test_what_a_litre_can_dissolve():
    # 58.8 g of copper, 59.4 g of CuZn37 use up 500 g of crystals (published/bath_limits.csv,
    # molar masses of the library chemicals)
    for metal, limit in (("copper", 58.8), ("CuZn37", 59.4)):
        spent = value(after(job("a", metal, 1.5 * limit)).bath_spent_share)
        assert spent == pytest.approx(0.5, rel=1e-3)
        after(job("a", metal, 3 * (limit - 0.05)))
        sentence = refusal(after, job("a", metal, 3 * (limit + 0.05)))
        assert (
            sentence.startswith("job 1: 17") and "of metal is more than the ferric left" in sentence
        )
        assert re.search(r"which is 17\d g; type less, or enter first how the bath was topped up\.$", sentence)  # fmt: skip


def test_a_used_bath_of_the_published_table():
    # 13 g of CuZn37 in a litre of 500 g/L: 22 % spent (published/used_baths.csv)
    now = after(job("a", "CuZn37", 39.0))
    assert value(now.bath_spent_share) == pytest.approx(0.22, abs=0.005)
    # CuZn37 by number of atoms: (0.63/63.546) / (0.63/63.546 + 0.37/65.38)
    assert value(now.copper_atom_share) == pytest.approx(0.6366, abs=1e-4)
    assert value(now.metal_dissolved, "g") == pytest.approx(39)


def test_taking_out_alone_leaves_a_smaller_bath_of_the_same():
    before = after(job("a", "CuZn37", 30.0))
    now = after(job("a", "CuZn37", 30.0), topped(25.0, 0.0, 0.0))
    strength, volume, spent, copper, metal = numbers(before)
    assert numbers(now) == pytest.approx((strength, 0.75 * volume, spent, copper, 0.75 * metal))


def test_water_for_what_evaporated_changes_nothing():
    water = Entry("water", {"date": "2026-01-03", "water": "500 mL"})
    assert numbers(after(job("a", "CuZn37", 30.0), water)) == numbers(
        after(job("a", "CuZn37", 30.0))
    )


def test_dates_rule_and_of_one_day_the_job_comes_first():
    first, later = job("a", "CuZn37", 30.0), topped(50.0, 400.0, 200.0)
    assert numbers(after(later, first)) == numbers(after(first, later))
    # in the other order of days, none of the metal is taken out
    day_after = job("a", "CuZn37", 30.0, "2026-01-03")
    assert value(after(later, day_after).metal_dissolved, "g") == pytest.approx(30)
    assert value(after(first, later).metal_dissolved, "g") == pytest.approx(15)


def test_a_commission_left_out_is_as_if_it_had_not_been():
    entries = (
        job("a", "CuZn37", 30.0),
        topped(10.0, 100.0, 50.0),
        job("b", "copper", 9.0, "2026-01-04"),
    )
    assert numbers(after(*entries, without="a")) == numbers(after(*entries[1:]))
    assert numbers(after(*entries, without="b")) == numbers(after(*entries[:2]))
    assert numbers(after(*entries, without="c")) == numbers(after(*entries))
    # even one that no bath could do
    assert numbers(after(job("a", "copper", 900.0), without="a")) == numbers(state(BREW))


def test_more_or_less_than_makes_a_bath():
    assert "topped 1: the bath would hold" in refusal(after, topped(90.0, 3000.0, 0.0))
    sentence = refusal(after, topped(90.0, 0.0, 5000.0))
    assert "and a bath is of 50 to 1150 g/L; type what was put in anew." in sentence


# laws


grams = st.floats(0, 25)
jobs = st.tuples(st.just("job"), st.sampled_from(ALLOYS), grams)
toppings = st.tuples(st.floats(0, 90), st.floats(0, 500), st.floats(0, 600))


def atoms_of(now):
    """Moles of iron, chlorine, copper and all dissolved metal, from the salts and their formulas."""
    strength, litres, spent, copper, _ = numbers(now)
    w = value(solutions.etchant_mass_fraction(
        strength=Quantity(strength, unit("g/L")), mixing_temperature=read("20 °C")))  # fmt: skip
    fresh = 1000 * litres * mixture.density({"FeCl3": w}, 20) / 1000
    moles = {}
    four = mixture.used(w, spent, copper)
    # what is dissolved counts as copper and zinc, an atom for an atom, and makes the bath heavier
    iron = fresh * w / periodictable.formula("FeCl3").mass
    heavier = iron * spent / 2 * (copper * 63.546 + (1 - copper) * 65.38)
    for salt, fraction in four.items():
        moles[salt] = (fresh + heavier) * fraction / periodictable.formula(salt).mass
    metal = moles["CuCl2"] + moles["ZnCl2"]
    iron = moles["FeCl3"] + moles["FeCl2"]
    chlorine = 3 * moles["FeCl3"] + 2 * moles["FeCl2"] + 2 * metal
    return np.array([iron, chlorine, moles["CuCl2"], metal]), fresh


@TRIED
@given(st.lists(st.one_of(jobs, toppings), max_size=6), st.floats(300, 800), st.floats(1, 10))
def test_every_atom_is_conserved(acts, strength, litres):
    bath = replace(BREW, strength=f"{strength!r} g/L", volume=f"{litres!r} L")
    ledger, weight = atoms_of(state(bath))
    iron = litres * strength / HEXAHYDRATE
    assert ledger == pytest.approx([iron, 3 * iron, 0, 0], rel=1e-4)
    ledger, mass, entries = np.array([iron, 3 * iron, 0, 0]), 0.0, []
    for number, act in enumerate(acts):
        date = f"2026-01-{number + 2:02}"
        if act[0] == "job":
            alloy = tables.load("alloys.toml")[act[1]]
            moles = {
                m: act[2] * alloy.get(m, 0) / getattr(periodictable, METALS[m]).mass for m in METALS
            }
            ledger = ledger + np.array([0, 0, moles["copper"], sum(moles.values())])
            mass += act[2]
            entries.append(job(f"order-{number}", act[1], act[2], date))
        else:
            kept, iron = 1 - act[0] / 100, act[1] / HEXAHYDRATE
            ledger = ledger * kept + np.array([iron, 3 * iron, 0, 0])
            weight, mass = weight * kept + act[1] + act[2], mass * kept
            entries.append(topped(*act, date))
        try:
            now = after(*entries, bath=bath)
        except BadInput as fault:
            # two ferric ions an atom: refused only where they are not there
            impossible = 2 * ledger[3] > ledger[0] * (1 - 1e-4)
            assert impossible if act[0] == "job" else "of crystals, and a bath is of" in str(fault)
            return
        found, fresh = atoms_of(now)
        assert found == pytest.approx(ledger, rel=2e-4, abs=1e-9)
        assert fresh == pytest.approx(weight, rel=1e-9)
        assert value(now.metal_dissolved, "g") == pytest.approx(mass, rel=1e-9, abs=1e-9)
        assert 0 <= value(now.bath_spent_share) <= 1
        assert 0 <= value(now.copper_atom_share) <= 1 + 1e-12


@TRIED
@given(st.lists(st.floats(0, 30), min_size=2, max_size=5), st.sampled_from(ALLOYS), st.randoms())
def test_the_order_of_jobs_of_one_metal_does_not_matter(amounts, metal, random):
    entries = [job(f"order-{n}", metal, g) for n, g in enumerate(amounts)]
    as_one = after(job("order", metal, sum(amounts)))
    random.shuffle(entries)
    assert numbers(after(*entries)) == pytest.approx(numbers(as_one), rel=1e-9, abs=1e-12)


@TRIED
@given(st.sampled_from(ALLOYS), st.floats(0.01, 25), st.floats(0.01, 25))
def test_a_job_entered_twice_is_entered_once(metal, right, wrong):
    first = replace(BREW, entries=(job("other", "copper", 5.0), topped(10.0, 50.0, 50.0)))

    def entered(bath, amount):
        mass = Quantity(amount, unit("g"))
        return with_job(bath, commission="mine", date="2026-01-02", metal=metal, metal_removed=mass)

    once = entered(first, right)
    assert entered(once, right) == once
    assert entered(entered(first, wrong), right) == once
    assert numbers(state(once, "mine")) == numbers(state(first))
    # shown with four figures
    assert value(state(once).metal_dissolved, "g") - value(state(first).metal_dissolved, "g") == (
        pytest.approx(0.9 * right, rel=1e-3)
    )


# the file


def test_a_log_and_its_sentences():
    bath = parsed(LOG)
    assert (bath.name, bath.mixed, len(bath.entries)) == ("Big bottle", "2026-02-01", 4)
    lines = said(bath)
    assert lines[0] == "2026-02-01: made up, 3 L of 500 g/L."
    assert re.fullmatch(
        r"2026-02-03: tide-table dissolved 3\.4 g of Brass sheet, CuZn37; 1\.9 % of the ferric is spent\.",
        lines[1].replace(" ", " "),
    )  # 3.4 / (3 × 59.4) by published/bath_limits.csv
    assert re.fullmatch(
        r"2026-02-10: 25 % taken out, 200 g of crystals put in, 300 g of water put in; it is \d\.\d\d L of "
        r"\d{3} g/L as if fresh; \d\.\d+ % of the ferric is spent\.",
        lines[2].replace(" ", " "),
    )
    assert lines[3].startswith("2026-02-12: rain-gauge dissolved 10 g of Copper, Cu-DHP; ")
    assert lines[4].startswith("2026-02-20: 120 mL of water put in for what had evaporated; ")
    assert "oz/US gal" in said(bath, "US")[2]


def test_written_back_it_is_the_same_to_the_letter():
    assert written(parsed(LOG), LOG) == LOG


def test_a_job_entered_keeps_remarks_and_order():
    bath = with_job(parsed(LOG), commission="tide-table", date="2026-02-04", metal="CuZn37",
                    metal_removed=read("4.2 g"))  # fmt: skip
    text = written(bath, LOG)
    changed = [(a, b) for a, b in zip(LOG.splitlines(), text.splitlines(), strict=True) if a != b]
    assert changed == [
        ('date = "2026-02-03"', 'date = "2026-02-04"'),
        ('metal_removed = "3.4 g"', 'metal_removed = "4.200 g"'),
    ]
    more = with_job(bath, commission="new-one", date="2026-03-01", metal="CW024A",
                    metal_removed=read("0.5 oz"))  # fmt: skip
    longer = written(more, text)
    assert longer.startswith(text) and longer.count("[[job]]") == 3
    assert parsed(longer) == replace(more, entries=parsed(longer).entries)
    assert numbers(state(parsed(longer))) == pytest.approx(numbers(state(more)))


def test_what_is_no_longer_said_is_taken_out_of_the_file():
    bath = parsed(LOG)
    less = Entry("topped", {"date": "2026-02-10", "taken_out": "25 %"})
    bath = replace(bath, entries=tuple(less if e.part == "topped" else e for e in bath.entries))
    text = written(bath, LOG)
    assert parsed(text) == bath and "crystals" not in text and "# it was low" in text


def test_a_log_in_one_line_is_written_out():
    text = LOG.partition("[[job]]")[0] + 'water = [{date = "2026-02-02", water = "1 L"}]'
    bath = parsed(text)
    assert parsed(written(bath, text)) == bath
    assert parsed(written(bath)) == bath


def test_kept_and_opened(tmp_path):
    path = path_of(tmp_path, "Big bottle")
    assert path == tmp_path / "baths" / "big-bottle.toml"
    assert "big-bottle.toml cannot be read" in refusal(opened, path)
    keep(parsed(LOG), path)
    assert opened(path) == parsed(LOG)
    path.write_text(LOG, encoding="utf-8")
    keep(parsed(LOG), path)
    assert path.read_text(encoding="utf-8") == LOG
    # a name that makes the same file is not that bath
    assert "big-bottle.toml is the log of the bath “Big bottle”" in refusal(
        keep, replace(BREW, name="Big bottle!"), path
    )
    wrong = replace(parsed(LOG), volume="lots")
    refusal(keep, wrong, path)
    assert path.read_text(encoding="utf-8") == LOG
    path.write_text("name = ", encoding="utf-8")
    assert refusal(keep, parsed(LOG), path).startswith("big-bottle.toml: the log cannot be read")
    assert path.read_text(encoding="utf-8") == "name = "
    path.write_bytes(b"\xff\xfe")
    assert "it is not text" in refusal(opened, path)


def changed(*lines):
    """The log with the first place of each line changed, or a line added at its end."""
    text = LOG
    for before, now in lines:
        assert before in text
        text = text.replace(before, now, 1)
    return text


FAULTS = [
    (('name = "Big bottle"', ""), "name is missing; type what is written on the bottle"),
    (('mixed = "2026-02-01"', ""), "mixed is missing; type year, month and day, such as 2026-02-01"),
    (('"2026-02-01"', '"1 Feb"'), "mixed: “1 Feb” is not a date; type year, month and day"),
    (("2026-02-10", '"2026-02-30"'), "topped 1, date: “2026-02-30” is not a date"),
    (('"500 g/L"', '"40 %"'), "strength: 40 % by mass of what? type 40 % FeCl3"),
    (('"3 L"', "3"), "volume: 3 of what?"),
    (('"3 L"', '"0 L"'), "volume: 0 L is no bath; type a volume, such as 3 L."),
    (('"2026-02-03"', '"2026-01-03"'), "job 1: 2026-01-03 is before the bath was mixed, on 2026-02-01"),
    (('"CuZn37"', '"gold"'), "job 1, metal: “gold” is not a metal that is known here; type CuZn37"),
    (('"3.4 g"', '"3.4 mm"'), "job 1, metal_removed: “3.4 mm” is not a mass; type a mass"),
    (('metal_removed = "3.4 g"', ""), "job 1, metal_removed: nothing was typed; type a mass"),
    (('commission = "tide-table"', ""), "job 1, commission is missing"),
    (('"rain-gauge"', '"tide-table"'), "job 2: “tide-table” is job 1 already; write one job"),
    (('"25 %"', '"99 %"'), "topped 1, taken_out: 99 % cannot be meant; type a share from 0 % to 95 %"),
    (('"300 g"', '"300 mL"'), "topped 1, water: “300 mL” is not a mass"),
    (('"120 mL"', '"120 g"'), "water 1, water: “120 g” is not a volume"),
    (('taken_out = "25 %"\ncrystals = "200 g"\nwater = "300 g"', ""), "topped 1, nothing is said; type taken_out"),
    (("taken_out", "take_out"), "topped 1 knows no “take_out”; did you mean taken_out?"),
    (("[[water]]", "[[waters]]"), "the log knows no “waters”; did you mean water?"),
    (("[[water]]", "[water]"), "water is a part of its own: write [[water]] and its lines below it"),
    (('"10 g"', '"10 kg"'), "job 2: 10000 g of metal is more than the ferric left can dissolve, which is"),
    (('"200 g"', '"20 kg"'), "topped 1: the bath would hold"),
    (("[[job]]", "[[job]"), "the log cannot be read as TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "sentence"), FAULTS, ids=[f[1][:40] for f in FAULTS])
def test_a_faulty_log_gets_one_sentence(change, sentence):
    assert sentence in refusal(parsed, changed(change))


def test_every_fault_is_named_at_once():
    sentence = refusal(parsed, changed(*(FAULTS[n][0] for n in (0, 3, 4, 5, 8, 9))))
    for named in ("name is missing", "topped 1, date:", "strength:", "volume:", "job 1, metal:",
                  "job 1, metal_removed:"):  # fmt: skip
        assert sentence.count(named) == 1


def test_a_job_that_cannot_be_entered():
    said_so = refusal(with_job, BREW, commission="", date="soon", metal="tin foil",
                      metal_removed=read("-3 g"))  # fmt: skip
    for named in (
        "job 1, date:",
        "job 1, commission is missing",
        "job 1, metal:",
        "metal_removed:",
    ):
        assert named in said_so
