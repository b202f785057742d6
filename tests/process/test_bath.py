"""What a job takes out of the bath, against stoichiometry worked elsewhere."""

from pathlib import Path

import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.tables import constant, load
from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import bath, solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
PERCENT, KG_M3, GRAM, LITRE = unit("percent"), unit("kg/m^3"), unit("g"), unit("L")
METALS = ("copper", "zinc", "nickel", "tin", "lead")
CRYSTALS, ANHYDROUS = 270.295, 162.204  # g/mol, library chemicals


def value(quantity, name):
    return float(quantity.to(unit(name)).magnitude)


def demand(density, **shares):
    parts = {f"{m}_share": Quantity(float(shares.get(m, 0.0)), PERCENT) for m in METALS}
    return bath.ferric_demand(metal_density=Quantity(density * 1000.0, KG_M3), **parts)


def crystals_for(grams, density, **shares):
    """Hexahydrate that dissolving so many grams takes."""
    return bath.ferric_used(
        metal_removed=Quantity(float(grams), GRAM),
        metal_density=Quantity(density * 1000.0, KG_M3),
        ferric_demand=demand(density, **shares),
    )


@pytest.mark.published("ferric_demand.csv")
def test_ferric_demand(row, printed):
    shares = {metal: float(row[metal]) for metal in ("copper", "zinc", "tin", "lead")}
    density = float(row["density"])
    per_volume = demand(density, **shares)
    assert value(per_volume, "mol/L") == printed(row["mol_per_litre"])
    per_gram = per_volume / Quantity(density, unit("g/cm^3"))
    assert value(per_gram, "mol/g") == printed(row["mol_per_g"])
    crystals = value(crystals_for(1, density, **shares), "g")
    # the printed digits of the last two columns were rounded from the molar masses' own digits
    assert crystals == printed(row["hexahydrate_per_g"], 1)
    assert crystals * ANHYDROUS / CRYSTALS == printed(row["anhydrous_per_g"], 1)


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("ferric_chloride", "FeCl3"),
        ("hexahydrate", "FeCl3(H2O)6"),
        ("copper", "Cu"),
        ("zinc", "Zn"),
        ("nickel", "Ni"),
        ("tin", "Sn"),
        ("lead", "Pb"),
    ],
)
def test_molar_masses_are_the_librarys(name, formula):
    # library periodictable; atomic-weight tables of different years differ by 6e-5
    theirs = periodictable.formula(formula).mass
    assert value(constant(f"{name}_molar_mass"), "g/mol") == pytest.approx(theirs, rel=1e-4)


@pytest.mark.parametrize(
    ("metal", "symbol"), [("copper", "Cu"), ("zinc", "Zn"), ("nickel", "Ni"), ("tin", "Sn")]
)
def test_an_element_takes_two_ferric_ions_an_atom(metal, symbol):
    element = getattr(periodictable, symbol)
    expected = 2 * element.density / element.mass * 1000
    assert value(demand(element.density, **{metal: 100}), "mol/L") == pytest.approx(
        expected, rel=1e-4
    )


def test_copper_by_number_of_atoms():
    # CuZn37: (0.63/63.546) / (0.63/63.546 + 0.37/65.38)
    share = bath.copper_atom_share(
        metal_density=read("8.44 g/cm3"),
        copper_share=read("63 %"),
        ferric_demand=demand(8.44, copper=63, zinc=37),
    )
    assert value(share, "") == pytest.approx(0.6366, abs=5e-5)


def test_a_worked_plate():
    # 100 × 100 mm, 40 % open, 0.20 mm, CuZn37 (8.44): from the molar masses of chemicals
    area = bath.open_area_of_all(open_area=read("40 cm2"), plate_count=read("1"))
    removed = bath.metal_removed(
        open_area_of_all=area, depth=read("0.20 mm"), metal_density=read("8.44 g/cm3")
    )
    assert value(removed, "g") == pytest.approx(6.752, abs=5e-4)
    assert value(removed, "g") * 0.63 == pytest.approx(4.254, abs=5e-4)
    used = value(crystals_for(6.752, 8.44, copper=63, zinc=37), "g")
    assert used == pytest.approx(56.8, abs=0.05)
    assert used * ANHYDROUS / CRYSTALS == pytest.approx(34.11, abs=0.005)
    # and back: that loss over 40 cm² is 0.200 mm
    depth = removed / (read("8.44 g/cm3") * area)
    assert value(depth, "mm") == pytest.approx(0.200, abs=5e-4)


@pytest.mark.parametrize(
    ("crystals_per_litre", "density", "shares", "limit", "within"),
    [
        (500, 8.96, {"copper": 100}, 58.8, 0.05),  # 500/270.295 × 63.546/2
        (500, 8.44, {"copper": 63, "zinc": 37}, 59.4, 0.05),
        # 3.75 mol/L: Sharpe & Garn, Ind. Eng. Chem. 51 (1959) 293, twice their discard point
        (3.75 * CRYSTALS, 8.96, {"copper": 100}, 119, 0.5),
    ],
)
def test_what_a_litre_can_dissolve_in_all(crystals_per_litre, density, shares, limit, within):
    per_gram = value(crystals_for(1, density, **shares), "g")
    assert crystals_per_litre / per_gram == pytest.approx(limit, abs=within)


def test_the_usual_discard_point_is_half_of_a_strong_bath():
    # Sharpe & Garn 1959: 60 g of copper to a litre of 3.75 mol/L
    fresh = Quantity(3.75 * CRYSTALS, GRAM)
    left = bath.ferric_left(
        crystals_when_fresh=fresh,
        bath_spent_share=Quantity(0.0, PERCENT),
        ferric_used=crystals_for(60, 8.96, copper=100),
    )
    share = bath.spent_share(ferric_left=left, crystals_when_fresh=fresh)
    assert value(share, "") == pytest.approx(0.5, abs=0.005)


def test_an_ounce_of_copper_to_a_square_foot():
    # trade nominal 35 µm; 28.3495 g / 929.0304 cm² / 8.96 g/cm³ = 34.1 µm
    depth = read("1 oz/ft2") / read("8.96 g/cm3")
    assert value(depth, "um") == pytest.approx(34.1, abs=0.05)


@pytest.mark.published("alloys.csv")
def test_alloys_are_the_data_sheets(row, printed):
    alloy = load("alloys.toml")[row["alloy"]]
    if row["density"]:
        assert alloy["density"] == printed(row["density"])
    least, most = float(row["copper_least"]), float(row["copper_most"])
    assert least <= 100 * alloy["copper"] <= most
    assert sum(alloy.get(metal, 0.0) for metal in METALS) == pytest.approx(1.0)


def test_every_alloy_is_in_the_published_table():
    text = (Path(__file__).parents[1] / "published" / "alloys.csv").read_text(encoding="utf-8")
    listed = {line.split(",")[0] for line in text.splitlines() if line.startswith("CW")}
    assert listed == set(load("alloys.toml"))


grams = st.floats(1, 1e4)


@TRIED
@given(st.floats(0.1, 50), st.floats(50, 1100), st.floats(0, 100), grams)
def test_ferric_used_and_left_are_what_was_in_the_bath(litres, strength, spent, used):
    of = {"etchant_volume": Quantity(litres, LITRE), "strength": Quantity(strength, unit("g/L"))}
    fresh, before = solutions.etchant_crystals(**of), Quantity(spent, PERCENT)
    in_bath = bath.ferric_in_bath(**of, bath_spent_share=before)
    used = Quantity(used, GRAM)
    left = bath.ferric_left(crystals_when_fresh=fresh, bath_spent_share=before, ferric_used=used)
    assert value(left + used, "g") == pytest.approx(value(in_bath, "g"))
    assert value(in_bath, "g") == pytest.approx(litres * strength * (1 - spent / 100))
    share = bath.spent_share(ferric_left=left, crystals_when_fresh=fresh)
    assert value(share, "") + value(left, "g") / value(fresh, "g") == pytest.approx(1)


@TRIED
@given(st.integers(1, 50), st.floats(1, 500), st.floats(0.02, 0.6))
def test_more_plates_use_more_ferric_in_proportion(count, area, depth):
    def used(plates):
        removed = bath.metal_removed(
            open_area_of_all=bath.open_area_of_all(
                open_area=Quantity(area, unit("cm^2")), plate_count=Quantity(float(plates))
            ),
            depth=Quantity(depth, unit("mm")),
            metal_density=read("8440 kg/m3"),
        )
        return value(crystals_for(value(removed, "g"), 8.44, copper=63, zinc=37), "g")

    assert used(count + 1) > used(count)
    assert used(count) == pytest.approx(count * used(1))


@TRIED
@given(st.integers(1, 20), st.floats(5, 95), st.floats(0.5, 40), st.floats(0, 90))
def test_plates_to_come_bring_the_bath_just_to_the_stop(count, stop, per_plate, before):
    fresh, used = Quantity(1500.0, GRAM), Quantity(per_plate * count, GRAM)
    to_come = bath.plates_to_come(
        ferric_left=bath.ferric_left(
            crystals_when_fresh=fresh, bath_spent_share=Quantity(before, PERCENT), ferric_used=used
        ),
        crystals_when_fresh=fresh,
        practical_stop=Quantity(stop, PERCENT),
        ferric_used=used,
        plate_count=Quantity(float(count)),
    )
    spent = before / 100 * 1500 + (count + value(to_come, "")) * per_plate
    assert spent == pytest.approx(stop / 100 * 1500)


def test_copper_in_the_bath_is_the_copper_dissolved():
    # 4.254 g of copper of the worked plate, in two litres
    # its 34.11 g of FeCl3 are 56.84 g of crystals; 0.6343 of the atoms of CuZn37 are copper
    after = bath.bath_copper_after(
        crystals_when_fresh=read("1000 g"),
        ferric_left=read("1000 g") - Quantity(34.11 / ANHYDROUS * CRYSTALS, GRAM),
        copper_atom_share=Quantity(100 * (63 / 63.546) / (63 / 63.546 + 37 / 65.38), PERCENT),
        whole_bath=read("2 L"),
    )
    assert value(after, "g/L") == pytest.approx(2.127, abs=1e-3)
