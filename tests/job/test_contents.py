"""What a bottle holds: masses that close with what went in, hazards of what is in it."""

import periodictable
import pytest

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import unit
from etchcalc.job import contents
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned

CLOSES = 1e-9
ALLOYS = sorted(tables.load("alloys.toml"))


def mass(formula):
    """Molar mass from the library periodictable."""
    return float(periodictable.formula(formula).mass)


def grams(quantity, name="g"):
    return float(quantity.to(unit(name)).magnitude)


@pytest.fixture(scope="module")
def plan_of(order):
    """Give a function: the plan of the tests' order, of a metal, with more said of its bath."""

    def made(metal="CuZn37", **changes):
        plain = parsed(order.replace("CuZn37", metal))
        return planned(plain.changed(**changes) if changes else plain)

    return made


USED = {"bath_is": "used and written down", "bath_volume": "5 L", "metal_dissolved": "60 g"}


@pytest.mark.parametrize("metal", ALLOYS)
@pytest.mark.parametrize("kind", ["etchant", "used", "spent"])
def test_the_parts_add_up_to_the_whole(plan_of, metal, kind):
    for plan in (plan_of(metal), plan_of(metal, **USED)):
        held = contents.contents(plan, kind)
        parts = sum(grams(part.mass) for part in held.parts)
        assert grams(held.mass) == pytest.approx(parts, rel=CLOSES)


def test_what_went_in_is_in_the_bottle(plan_of):
    # crystals and water as weighed out, and the metal that the plates lost: masses are conserved
    plan = plan_of()
    went_in = [plan.number(n) for n in ("etchant_crystals", "etchant_water", "metal_removed")]
    held = contents.contents(plan)
    assert grams(held.mass) == pytest.approx(sum(went_in), rel=CLOSES)
    parts = {part.name: grams(part.mass) for part in held.parts}
    assert parts["copper"] == pytest.approx(0.63 * went_in[2], rel=CLOSES)  # CuZn37
    assert parts["zinc"] == pytest.approx(0.37 * went_in[2], rel=CLOSES)
    # shares of FeCl3·6H2O by the atomic masses of the library periodictable
    crystals = mass("FeCl3(H2O)6")
    assert parts["iron"] == pytest.approx(went_in[0] * mass("Fe") / crystals, rel=1e-4)
    assert parts["chloride"] == pytest.approx(went_in[0] * mass("Cl3") / crystals, rel=1e-4)


def test_before_the_job_a_used_bath_holds_what_it_dissolved_before(plan_of):
    assert contents.contents(plan_of(), "etchant").metals == ()
    plan = plan_of(**USED)
    before = sum(grams(p.mass) for p in contents.contents(plan, "etchant").metals)
    after = sum(grams(p.mass) for p in contents.contents(plan, "spent").metals)
    assert before == pytest.approx(60, rel=1e-9)
    assert after - before == pytest.approx(plan.number("metal_removed"), rel=1e-9)


def test_a_litre_and_the_whole_agree_and_the_range_holds_the_middle(plan_of):
    held = contents.contents(plan_of(**USED))
    for part in held.parts:
        whole = grams(part.in_litre, "g/L") * grams(held.volume, "L")
        assert whole == pytest.approx(grams(part.mass), rel=CLOSES)
        assert grams(part.low) <= grams(part.mass) <= grams(part.high)


def test_the_rinse_is_the_bath_thinned(plan_of):
    plan = plan_of()
    bath, rinse = (contents.contents(plan, k) for k in ("spent", "rinse"))
    there = {part.name: grams(part.in_litre, "g/L") for part in rinse.parts}
    # as much goes out as comes in: V c = v (b - c), so c = b v / (V + v), by hand
    liquid, water = plan.number("carried_over") / 1000, plan.number("rinse_volume")
    for part in bath.parts:
        if part.name != "water":
            thin = grams(part.in_litre, "g/L") * liquid / (water + liquid)
            assert there[part.name] == pytest.approx(thin, rel=CLOSES)
    assert 1000 * there["copper"] == pytest.approx(plan.number("rinse_copper"), rel=CLOSES)


def test_the_bath_is_used_until_it_is_spent(plan_of):
    assert contents.after_job(plan_of()) == "used"
    assert contents.after_job(plan_of(**USED, practical_stop="5 %")) == "spent"


def test_what_the_carrier_is_told_that_it_would_take_up(plan_of):
    plan = plan_of()
    told = contents.carrier_figures(plan)
    # 2 FeCl3 + 3 Na2CO3 + 3 H2O → 2 Fe(OH)3 + 6 NaCl + 3 CO2, molar masses of periodictable
    moles = plan.number("etchant_crystals") / mass("FeCl3(H2O)6")
    assert grams(told["soda_taken_up"]) == pytest.approx(1.5 * moles * mass("Na2CO3"), rel=1e-4)
    # 22.414 L/mol at 0 °C and 1 atm, as an ideal gas, carried to 20 °C
    assert grams(told["carbon_dioxide"], "L") == pytest.approx(
        1.5 * moles * 22.414 * 293.15 / 273.15, rel=1e-4
    )
    assert grams(told["sludge_when_dry"]) > moles * mass("Fe(OH)3") * 0.99


def codes(held):
    return {statement.code for statement in held.statements}


def test_hazards_are_those_of_what_is_in_it(plan_of):
    # codes as the sheets of the substances have them (data/sources.toml)
    assert codes(contents.contents(plan_of(), "etchant")) == {"H290", "H302", "H315", "H317", "H318"}  # fmt: skip
    assert "H410" in codes(contents.contents(plan_of("copper")))
    assert "H314" not in codes(contents.contents(plan_of("copper")))
    assert "H314" in codes(contents.contents(plan_of("copper"), acid_added=True))
    assert "H360Df" in codes(contents.contents(plan_of("leaded brass")))
    assert "H360Df" not in codes(contents.contents(plan_of()))
    assert {"H301", "H334", "H350i"} <= codes(contents.contents(plan_of("nickel silver")))
    assert "H335" in codes(contents.contents(plan_of("bronze")))


def test_the_weaker_of_two_that_say_the_same_is_left_out(plan_of):
    brass = codes(contents.contents(plan_of()))
    assert "H314" in brass and not {"H315", "H318"} & brass
    nickel = codes(contents.contents(plan_of("nickel silver")))
    assert "H301" in nickel and "H302" not in nickel


def test_signal_word_and_pictograms(plan_of):
    lead = contents.contents(plan_of("leaded brass"))
    assert lead.signal == "Danger"
    assert set(lead.pictograms) == {"corrosion", "exclamation", "health", "environment"}
    soda = contents.contents(plan_of(), "developer")
    assert (soda.signal, soda.pictograms, codes(soda)) == ("Warning", ("exclamation",), {"H319"})


def test_every_statement_has_its_signs_and_every_sign_a_source():
    signs = {row["statement"]: row for row in tables.rows("hazard_signs.csv")}
    for row in tables.rows("hazard_statements.csv"):
        assert row["statement"][:4] in signs
    for row in signs.values():
        assert None not in row and all(row.values())
        assert tables.source(row["source"]).citation
        assert row["signal"] in ("Danger", "Warning", "none")


def test_an_unknown_bottle(plan_of):
    with pytest.raises(BadInput, match="“soup” is nothing that is bottled here; say etchant, used"):
        contents.contents(plan_of(), "soup")
