"""Etchant make-up against printed tables, and the balances and round trips it must keep."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
ONE, CELSIUS, LITRE = unit("dimensionless"), unit("degC"), unit("L")
TWENTY = Quantity(20.0, CELSIUS)
SIXTY_FAHRENHEIT = Quantity(15.5556, CELSIUS)
# molar masses of FeCl3 and its hexahydrate: library chemicals
ANHYDROUS, CRYSTALS = 162.204, 270.295


def share(value):
    return Quantity(value, ONE)


def value(quantity, name):
    return float(quantity.to(unit(name)).magnitude)


def density(w, temperature=TWENTY):
    return solutions.etchant_density(mass_fraction=w, temperature=temperature)


def fraction_at(baume):
    gravity = solutions.specific_gravity(baume=share(float(baume)))
    return solutions.mass_fraction(specific_gravity=gravity)


def made_up(strength):
    return solutions.etchant_mass_fraction(strength=strength, mixing_temperature=TWENTY)


@pytest.mark.published("ferric_chloride.csv")
def test_density_is_the_handbooks_within_a_quarter_of_a_percent(row):
    ours = density(share(float(row["percent"]) / 100))
    assert value(ours, "g/mL") == pytest.approx(float(row["g_per_millilitre"]), rel=0.0025)


@pytest.mark.published("ferric_chloride.csv", "mol_per_kg")
def test_molality_and_molarity_are_the_handbooks(row, printed):
    w = share(float(row["percent"]) / 100)
    assert value(solutions.molality(mass_fraction=w), "mol/kg") == printed(row["mol_per_kg"], 1)
    published = Quantity(float(row["g_per_millilitre"]), unit("g/mL"))
    ours = solutions.ferric_concentration(mass_fraction=w, etchant_density=published)
    assert value(ours, "mol/L") == printed(row["mol_per_litre"], 1)


@pytest.mark.published("baume.csv")
def test_specific_gravity_of_the_baume_scale(row, printed):
    gravity = solutions.specific_gravity(baume=share(float(row["baume"])))
    assert value(gravity, "") == printed(row["specific_gravity"])
    assert value(solutions.baume(specific_gravity=gravity), "") == pytest.approx(
        float(row["baume"])
    )


@pytest.mark.published("baume.csv")
def test_strength_at_a_baume(row, printed):
    w = fraction_at(row["baume"])
    assert value(w, "percent") == printed(row["percent_model"], 1)
    assert value(w, "percent") == pytest.approx(float(row["percent_table"]), abs=0.25)
    assert value(w, "percent") * CRYSTALS / ANHYDROUS == printed(row["hexahydrate_percent"])
    assert value(solutions.etchant_baume(mass_fraction=w), "") == pytest.approx(float(row["baume"]))


@pytest.mark.published("baume.csv")
def test_concentrations_at_a_baume(row):
    w = share(float(row["percent_table"]) / 100)
    rho = density(w)
    # 1 %, since the handbook column was recalled
    concentration = solutions.ferric_concentration(mass_fraction=w, etchant_density=rho)
    assert value(concentration, "mol/L") == pytest.approx(float(row["mol_per_litre"]), rel=0.01)
    assert value(w * rho, "g/L") == pytest.approx(float(row["g_per_litre"]), rel=0.01)
    molality = value(solutions.molality(mass_fraction=w), "mol/kg")
    assert molality == pytest.approx(float(row["mol_per_kg"]), rel=0.01)


@pytest.mark.published("mixes.csv")
def test_a_mix_of_crystals_and_water(row, printed):
    crystals, water = (Quantity(float(row[key]), unit("g")) for key in ("crystals", "water"))
    within = solutions.crystal_water(etchant_crystals=crystals)
    w = ((crystals - within) / (crystals + water)).to(ONE)
    assert value(w, "") == printed(row["mass_fraction"], 1)
    rho = density(w)
    assert value(rho, "kg/m^3") == pytest.approx(float(row["density"]), rel=0.0025)
    volume = (crystals + water) / rho
    assert value(volume, "mL") == printed(row["millilitres"], 1)
    concentration = solutions.ferric_concentration(mass_fraction=w, etchant_density=rho)
    assert value(concentration, "mol/L") == printed(row["mol_per_litre"], 1)
    # SG 20/20 °C in this table; water at 20 °C 998.2 kg/m³
    gravity = (rho / Quantity(998.2, unit("kg/m^3"))).to(ONE)
    assert value(solutions.baume(specific_gravity=gravity), "") == printed(row["baume"], 1)
    assert value(made_up(crystals / volume), "") == printed(row["mass_fraction"], 1)


def test_half_a_kilogram_made_up_to_a_litre():
    # Laliberté & Cooper 2004 with the molar masses of the library chemicals
    w = made_up(read("500 g/L"))
    assert value(w, "") == pytest.approx(0.2441, abs=5e-5)
    rho = density(w)
    assert value(rho, "kg/m^3") == pytest.approx(1229, rel=0.0025)
    assert value(solutions.etchant_baume(mass_fraction=w), "") == pytest.approx(27.3, abs=0.05)
    litre = Quantity(1.0, LITRE)
    crystals = solutions.etchant_crystals(etchant_volume=litre, strength=read("500 g/L"))
    water = solutions.etchant_water(
        etchant_volume=litre, etchant_density=rho, etchant_crystals=crystals
    )
    assert value(water, "g") == pytest.approx(729, abs=0.5)
    # avoirdupois: 500 / 28.349523125
    assert value(crystals, "oz") == pytest.approx(17.64, abs=0.005)


@pytest.mark.parametrize(
    ("molar", "percent", "rho", "per_litre", "molal", "degrees"),
    # strength of Sharpe & Garn 1959; Laliberté & Cooper 2004; Baumé from SG 20/20 °C
    [(2.25, 28.6, 1276, 365, 2.47, 31.6)],
)
def test_a_strength_in_moles(molar, percent, rho, per_litre, molal, degrees):
    w = made_up(Quantity(molar * CRYSTALS, unit("g/L")))
    assert value(w, "percent") == pytest.approx(percent, abs=0.05)
    assert value(density(w), "kg/m^3") == pytest.approx(rho, abs=1)
    assert value(w * density(w), "g/L") == pytest.approx(per_litre, abs=0.5)
    assert value(solutions.molality(mass_fraction=w), "mol/kg") == pytest.approx(molal, abs=0.005)
    gravity = (density(w) / Quantity(998.2, unit("kg/m^3"))).to(ONE)
    assert value(solutions.baume(specific_gravity=gravity), "") == pytest.approx(degrees, abs=0.1)


def test_two_molal_the_strength_of_the_rate_maximum():
    # 2 mol/kg (Bryce & Berk 1995): w = 2 M / (1 + 2 M), Laliberté & Cooper 2004
    w = share(0.245)
    assert value(solutions.molality(mass_fraction=w), "mol/kg") == pytest.approx(2.0, abs=0.005)
    concentration = solutions.ferric_concentration(mass_fraction=w, etchant_density=density(w))
    assert value(concentration, "mol/L") == pytest.approx(1.86, abs=0.005)
    assert value(solutions.etchant_baume(mass_fraction=w), "") == pytest.approx(27.4, abs=0.1)


@pytest.mark.published("dilutions.csv")
def test_dilution(row, printed):
    stock, wanted = fraction_at(row["from_baume"]), fraction_at(row["to_baume"])
    kilogram = Quantity(1.0, unit("kg"))
    water = solutions.dilution_water(
        etchant_mass=kilogram, mass_fraction=stock, wanted_mass_fraction=wanted
    )
    assert value(water, "kg") == printed(row["kg_per_kg"], 1)
    pure = density(share(0.0), SIXTY_FAHRENHEIT)
    litres = (water / pure) / (kilogram / density(stock, SIXTY_FAHRENHEIT))
    assert value(litres, "") == printed(row["litre_per_litre"], 1)


def test_dilution_measured_at_twenty_degrees():
    # 42 to 30 °Bé, volumes at 20 °C: Laliberté & Cooper 2004
    stock, wanted = fraction_at(42), fraction_at(30)
    water = solutions.dilution_water(
        etchant_mass=density(stock) * Quantity(1.0, LITRE),
        mass_fraction=stock,
        wanted_mass_fraction=wanted,
    )
    assert value(water / density(share(0.0)), "L") == pytest.approx(0.6304, abs=1e-4)


def test_ferric_chloride_at_forty_two_baume_as_industry_says():
    # "42 °Bé (1.41)": slides on high-temperature ferric chloride etching (Markle)
    assert value(solutions.specific_gravity(baume=share(42.0)), "") == pytest.approx(
        1.41, abs=0.005
    )


def test_beyond_what_ferric_chloride_reaches_the_fraction_is_nan():
    assert np.isnan(value(solutions.mass_fraction(specific_gravity=share(1.95)), ""))
    assert np.isnan(value(solutions.mass_fraction(specific_gravity=share(0.9)), ""))


strengths = st.floats(50, 1100)
fractions = st.floats(0.005, 0.5)


@TRIED
@given(strengths, st.floats(0.1, 100), st.floats(5, 40))
def test_crystals_and_water_weigh_what_the_volume_weighs(strength, litres, celsius):
    strength, volume = Quantity(strength, unit("g/L")), Quantity(litres, LITRE)
    cool = Quantity(celsius, CELSIUS)
    w = solutions.etchant_mass_fraction(strength=strength, mixing_temperature=cool)
    rho = density(w, cool)
    crystals = solutions.etchant_crystals(etchant_volume=volume, strength=strength)
    water = solutions.etchant_water(
        etchant_volume=volume, etchant_density=rho, etchant_crystals=crystals
    )
    assert value(crystals + water, "g") == pytest.approx(value(volume * rho, "g"))
    # and the ferric chloride in the crystals is the ferric chloride in the bath
    within = solutions.crystal_water(etchant_crystals=crystals)
    assert value(crystals - within, "g") == pytest.approx(value(volume * rho * w, "g"))


@TRIED
@given(fractions, fractions, st.floats(1, 1e5))
def test_dilution_keeps_the_ferric_chloride(one, other, grams):
    stock, wanted = share(max(one, other)), share(min(one, other))
    mass = Quantity(grams, unit("g"))
    water = solutions.dilution_water(
        etchant_mass=mass, mass_fraction=stock, wanted_mass_fraction=wanted
    )
    assert value(water, "g") >= 0
    assert value((mass + water) * wanted, "g") == pytest.approx(value(mass * stock, "g"))


@TRIED
@given(st.floats(0, 70))
def test_baume_and_specific_gravity_undo_each_other(degrees):
    gravity = solutions.specific_gravity(baume=share(degrees))
    assert value(solutions.baume(specific_gravity=gravity), "") == pytest.approx(degrees, abs=1e-9)


@TRIED
@given(st.floats(0.001, 0.599))
def test_mass_fraction_and_density_undo_each_other(w):
    water = Quantity(999.02, unit("kg/m^3"))  # water at 60 °F, by the scale's definition
    gravity = (density(share(w), SIXTY_FAHRENHEIT) / water).to(ONE)
    assert value(solutions.mass_fraction(specific_gravity=gravity), "") == pytest.approx(
        w, abs=1e-6
    )


@TRIED
@given(strengths)
def test_stronger_is_denser_and_reads_higher(strength):
    weak, strong = (made_up(Quantity(s, unit("g/L"))) for s in (strength, strength * 1.02))
    assert value(weak, "") < value(strong, "")
    assert value(density(weak), "kg/m^3") < value(density(strong), "kg/m^3")
    read_weak, read_strong = (solutions.etchant_baume(mass_fraction=w) for w in (weak, strong))
    assert value(read_weak, "") < value(read_strong, "")
