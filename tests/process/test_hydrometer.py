"""What a bath is now: mixtures and readings against libraries, balances, and the ways back."""

import numpy as np
import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from thermo.electrochem import Laliberte_density, Laliberte_viscosity

from etchcalc.core.faults import BadInput
from etchcalc.core.units import Quantity, read, unit
from etchcalc.core.vocabulary import term
from etchcalc.process import bath, hydrometer, mixture, rates, solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
ONE, PER_LITRE = unit("dimensionless"), unit("g/L")
TWENTY = read("20 °C")
# library chemicals
FERRIC, CRYSTALS, COPPER, ZINC, CHLORINE = 162.204, 270.295, 63.546, 65.38, 35.453
NUMBERS = {
    "FeCl3": "7705-08-0",
    "FeCl2": "7758-94-3",
    "CuCl2": "7447-39-4",
    "ZnCl2": "7646-85-7",
}
# CuZn37 by number of atoms: (0.63/63.546) / (0.63/63.546 + 0.37/65.38)
BRASS = 0.6366
FOUR = ("ferric_fraction", "ferrous_fraction", "cupric_fraction", "zinc_fraction")

strengths = st.floats(150, 900)
shares = st.floats(0, 1)
celsius = st.floats(15, 50)


def q(value, name=""):
    return Quantity(np.asarray(value, dtype=float), unit(name) if name else ONE)


def value(quantity, name=""):
    return float(quantity.to(unit(name) if name else ONE).magnitude)


def fresh(strength):
    w = solutions.etchant_mass_fraction(strength=q(strength, "g/L"), mixing_temperature=TWENTY)
    return w, solutions.etchant_density(mass_fraction=w, temperature=TWENTY)


def fractions(w, spent, copper=BRASS):
    """The four mass fractions, and the metal over the etchant, of a bath by its formulas."""
    spent, copper = q(spent), q(copper)
    metal = hydrometer.metal_to_etchant(
        mass_fraction=w, bath_spent_share=spent, copper_atom_share=copper
    )
    iron = {"mass_fraction": w, "bath_spent_share": spent, "metal_to_etchant": metal}
    both = {**iron, "copper_atom_share": copper}
    four = (
        hydrometer.ferric_fraction(**iron),
        hydrometer.ferrous_fraction(**iron),
        hydrometer.cupric_fraction(**both),
        hydrometer.zinc_fraction(**both),
    )
    return dict(zip(FOUR, four, strict=True)), metal


def gravity_of(strength, spent, copper=BRASS):
    return hydrometer.used_specific_gravity(**fractions(fresh(strength)[0], spent, copper)[0])


def spent_by(grams, copper=63.0, zinc=37.0):
    """Crystals in a litre that so much of an alloy has used up."""
    none = q(0, "percent")
    demand = bath.ferric_demand(
        metal_density=read("8.44 g/cm3"),
        copper_share=q(copper, "percent"),
        zinc_share=q(zinc, "percent"),
        nickel_share=none,
        tin_share=none,
        lead_share=none,
    )
    return hydrometer.strength_spent(
        metal_in_bath=q(grams, "g/L"), metal_density=read("8.44 g/cm3"), ferric_demand=demand
    )


def share_spent(strength, grams, **alloy):
    return hydrometer.bath_spent_share(
        strength=q(strength, "g/L"), strength_spent=spent_by(grams, **alloy)
    )


def atoms(mass, four):
    """Moles of each kind of atom, and grams of water, in a mass of bath."""
    ferric, ferrous, cupric, zinc = (value(four[name]) * mass for name in FOUR)
    moles = [
        ferric / FERRIC,
        ferrous / (FERRIC - CHLORINE),
        cupric / (COPPER + 2 * CHLORINE),
        zinc / (ZINC + 2 * CHLORINE),
    ]
    return np.array(
        [
            moles[0] + moles[1],
            moles[2],
            moles[3],
            3 * moles[0] + 2 * sum(moles[1:]),
            mass - ferric - ferrous - cupric - zinc,
        ]
    )


# strength: any in, all out


@pytest.mark.published("baume.csv")
def test_strength_from_baume_molarity_and_crystals(row):
    gravity = solutions.specific_gravity(baume=q(float(row["baume"])))
    w = solutions.mass_fraction(specific_gravity=gravity)
    rho = solutions.etchant_density(mass_fraction=w, temperature=TWENTY)
    strength = solutions.strength_at_mass_fraction(mass_fraction=w, etchant_density=rho)
    # 1 %, since the handbook column was recalled
    per_litre = float(row["g_per_litre"]) * CRYSTALS / FERRIC
    assert value(strength, "g/L") == pytest.approx(per_litre, rel=0.01)
    molar = solutions.strength_at_concentration(
        ferric_concentration=q(float(row["mol_per_litre"]), "mol/L")
    )
    assert value(molar, "g/L") == pytest.approx(value(strength, "g/L"), rel=0.01)
    crystals = q(float(row["hexahydrate_percent"]), "percent")
    from_crystals = solutions.mass_fraction_of_crystals(crystal_share=crystals)
    assert value(from_crystals, "percent") == pytest.approx(float(row["percent_model"]), abs=0.31)


@pytest.mark.published("mixes.csv")
def test_crystals_and_water_weighed_together(row, printed):
    w = solutions.mixed_mass_fraction(
        etchant_crystals=q(float(row["crystals"]), "g"), etchant_water=q(float(row["water"]), "g")
    )
    assert value(w) == printed(row["mass_fraction"], 1)


@TRIED
@given(strengths)
def test_strength_comes_back_from_all_that_it_gives(strength):
    w, rho = fresh(strength)
    back = solutions.strength_at_mass_fraction(mass_fraction=w, etchant_density=rho)
    assert value(back, "g/L") == pytest.approx(strength, rel=1e-9)
    molar = solutions.ferric_concentration(mass_fraction=w, etchant_density=rho)
    back = solutions.strength_at_concentration(ferric_concentration=molar)
    assert value(back, "g/L") == pytest.approx(strength, rel=1e-9)
    degrees = solutions.etchant_baume(mass_fraction=w)
    gravity = solutions.specific_gravity(baume=degrees)
    assert value(solutions.mass_fraction(specific_gravity=gravity)) == pytest.approx(value(w))


# a used bath


@pytest.mark.published("used_baths.csv")
def test_what_a_used_bath_reads(row):
    alloy = {"copper": float(row["copper"]), "zinc": float(row["zinc"])}
    spent = share_spent(float(row["strength"]), float(row["metal"]), **alloy)
    assert value(spent, "percent") == pytest.approx(float(row["spent"]), abs=0.5)
    gravity = gravity_of(float(row["strength"]), value(spent))
    read_as = solutions.baume(specific_gravity=gravity)
    assert value(read_as) == pytest.approx(float(row["baume"]), abs=0.1)


@pytest.mark.published("bath_limits.csv")
def test_what_a_litre_can_dissolve_in_all(row, printed):
    alloy = {"copper": float(row["copper"]), "zinc": float(row["zinc"])}
    strength = float(row["strength"])
    per_gram = value(spent_by(1, **alloy), "g/L")
    limit = strength / per_gram
    assert limit == printed(row["limit"], 1)
    # to the last ion, and not a gram more
    assert value(share_spent(strength, limit, **alloy)) == pytest.approx(1)
    assert np.isnan(value(share_spent(strength, limit + 0.1, **alloy)))
    left = hydrometer.strength_left(
        strength=q(strength, "g/L"), bath_spent_share=share_spent(strength, limit / 2, **alloy)
    )
    assert value(left, "g/L") == pytest.approx(strength / 2)


def test_where_more_metal_is_said_than_the_ferric_can_take_nothing_is_told():
    w, _ = fresh(500)
    spent = share_spent(500, [0, 30, 59, 60, 200])
    four, _ = fractions(w, spent.magnitude)
    gravity = hydrometer.used_specific_gravity(**four)
    expected = [False, False, False, True, True]
    for told in (spent, gravity, *four.values()):
        assert list(np.isnan(told.magnitude)) == expected
    for name in ("used_density", "used_viscosity"):
        told = getattr(hydrometer, name)(temperature=TWENTY, **four)
        assert list(np.isnan(told.magnitude)) == expected


def test_density_rises_by_the_metal():
    # 1.02 kg/m³ to a gram a litre of CuZn37, volume kept to 0.06 %: Laliberté & Cooper 2004
    w, rho = fresh(500)
    four, metal = fractions(w, value(share_spent(500, 13)))
    now = hydrometer.used_density(temperature=TWENTY, **four)
    assert value((now - rho) / 13, "kg/m^3") == pytest.approx(1.02, abs=0.005)
    volume = value((1 + metal) * rho / now)
    assert volume == pytest.approx(1, abs=6e-4)


@TRIED
@given(strengths, st.floats(5, 60))
def test_with_no_metal_it_is_the_fresh_etchant_exactly(strength, t):
    w, _ = fresh(strength)
    warm = q(t, "degC")
    four, metal = fractions(w, 0.0)
    assert value(metal) == 0 and value(four["ferric_fraction"]) == value(w)
    assert [value(four[name]) for name in FOUR[1:]] == [0, 0, 0]
    now = hydrometer.used_density(temperature=warm, **four)
    assert now == solutions.etchant_density(mass_fraction=w, temperature=warm)
    thick = hydrometer.used_viscosity(temperature=warm, **four)
    assert thick == rates.viscosity(mass_fraction=w, temperature=warm)
    gravity = hydrometer.used_specific_gravity(**four)
    reads = solutions.baume(specific_gravity=gravity)
    assert reads == solutions.etchant_baume(mass_fraction=w)


@TRIED
@given(strengths, shares, shares, celsius)
def test_density_and_viscosity_are_the_librarys(strength, spent, copper, t):
    # the mixture worked from moles with atomic weights of periodictable, the fits by thermo
    n = strength / CRYSTALS
    moles = {
        "FeCl3": n * (1 - spent),
        "FeCl2": n * spent,
        "CuCl2": n * spent * copper / 2,
        "ZnCl2": n * spent * (1 - copper) / 2,
    }
    w, rho = fresh(strength)
    metal = n * spent / 2 * (copper * periodictable.Cu.mass + (1 - copper) * periodictable.Zn.mass)
    total = value(rho, "g/L") + metal
    theirs = {salt: m * periodictable.formula(salt).mass / total for salt, m in moles.items()}
    four, _ = fractions(w, spent, copper)
    for name, salt in zip(FOUR, theirs, strict=True):
        assert value(four[name]) == pytest.approx(theirs[salt], rel=1e-4, abs=1e-12)
    given = t + 273.15, list(theirs.values()), [NUMBERS[salt] for salt in theirs]
    warm = q(t, "degC")
    now = hydrometer.used_density(temperature=warm, **four)
    assert value(now, "kg/m^3") == pytest.approx(Laliberte_density(*given), rel=1e-4)
    thick = hydrometer.used_viscosity(temperature=warm, **four)
    assert value(thick, "Pa*s") == pytest.approx(Laliberte_viscosity(*given), rel=5e-4)


@TRIED
@given(strengths, shares, shares)
def test_use_keeps_every_atom_and_all_mass(strength, spent, copper):
    w, _ = fresh(strength)
    four, metal = fractions(w, spent, copper)
    before = atoms(1000.0, fractions(w, 0.0)[0])
    after = atoms(1000.0 * (1 + value(metal)), four)
    dissolved = before[0] * spent / 2
    taken = [0, dissolved * copper, dissolved * (1 - copper), 0, 0]
    assert after == pytest.approx(before + taken, rel=1e-9, abs=1e-9)
    grams = dissolved * (copper * COPPER + (1 - copper) * ZINC)
    assert 1000 * value(metal) == pytest.approx(grams, abs=1e-9)


@TRIED
@given(strengths, st.floats(0, 0.99), shares)
def test_more_metal_always_reads_heavier(strength, spent, copper):
    less, more = (value(gravity_of(strength, s, copper)) for s in (spent, spent + 0.01))
    assert less < more


@TRIED
@given(strengths, shares, shares)
def test_the_loops_use_the_same_mixture_as_the_formulas(strength, spent, copper):
    w, _ = fresh(strength)
    bare = mixture.used(w.magnitude, spent, copper)
    four, _ = fractions(w, spent, copper)
    assert list(bare) == list(mixture.SALTS)
    assert list(bare.values()) == pytest.approx([value(f) for f in four.values()], rel=1e-12)


@pytest.mark.parametrize(
    ("what", "grams", "t", "outside"),
    # limits of the table Laliberte2009 in the library chemicals: ferrous chloride viscosity to 3.66 %,
    # zinc chloride viscosity at 25 °C only, ferric chloride to 35 °C
    [
        ("density", 13, 20, ()),
        ("density", 13, 40, ("FeCl3",)),
        ("density", 0, 20, ()),
        ("viscosity", 0, 20, ()),
        ("viscosity", 10, 25, ()),
        ("viscosity", 13, 25, ("FeCl2",)),
        ("viscosity", 13, 20, ("FeCl2", "ZnCl2")),
        ("viscosity", 13, [25, 42], ("FeCl3", "FeCl2", "ZnCl2")),
    ],
)
def test_what_lies_beyond_the_measurements_is_told(what, grams, t, outside):
    w, _ = fresh(500)
    four, _ = fractions(w, value(share_spent(500, grams)))
    bare = {s: f.magnitude for s, f in zip(mixture.SALTS, four.values(), strict=True)}
    assert hydrometer.outside_fits(what, bare, t) == outside


# the hydrometer


@pytest.mark.parametrize("t", [5.0, 15.5556, 25.0, 40.0, 60.0])
def test_warm_glass_is_the_oil_tables_correction(t):
    # ASTM D1250-80 (recalled), glass hydrometers marked for 60 °F, t in °F:
    # density = reading · (1 − 1.278e-5 (t − 60) − 6.2e-9 (t − 60)²)
    above = t * 1.8 + 32 - 60
    theirs = 1 - 1.278e-5 * above - 6.2e-9 * above**2
    density = hydrometer.true_density(
        hydrometer_reading=q(27.3), hydrometer_error=q(0), reading_temperature=q(t, "degC")
    )
    as_read = 145 / (145 - 27.3) * 999.02
    assert value(density, "kg/m^3") / as_read == pytest.approx(theirs, abs=1e-4)


@pytest.mark.parametrize("percent", [38, 40, 42])
@pytest.mark.parametrize("t", [15.5556, 20.0, 30.0])
def test_read_warm_it_is_the_reading_at_sixty_fahrenheit(percent, t):
    # fresh etchant; densities by library thermo
    w = percent / 100
    cold, warm = (Laliberte_density(k + 273.15, [w], ["7705-08-0"]) for k in (15.5556, t))
    gravity = hydrometer.corrected_gravity(
        true_density=q(warm, "kg/m^3"),
        reading_temperature=q(t, "degC"),
        bath_spent_share=q(0),
        copper_atom_share=q(BRASS),
    )
    assert value(gravity) == pytest.approx(cold / 999.02, abs=2e-6)
    assert value(solutions.mass_fraction(specific_gravity=gravity)) == pytest.approx(w, abs=2e-6)


def test_specific_gravity_against_water_as_warm():
    # 38, 40, 42 % at 30/30 °C: 1.3905, 1.4163, 1.4427; Laliberté & Cooper 2004. Water at 30 °C
    # 995.65 kg/m³, CRC Handbook (recalled)
    found = hydrometer.corrected_gravity(
        true_density=q([1390.5, 1416.3, 1442.7], "kg/m^3") * 0.99565,
        reading_temperature=q(30, "degC"),
        bath_spent_share=q(0),
        copper_atom_share=q(BRASS),
    )
    w = solutions.mass_fraction(specific_gravity=found)
    assert w.magnitude == pytest.approx([0.38, 0.40, 0.42], abs=1e-4)


@pytest.mark.parametrize(
    ("t", "density"),
    # CRC Handbook, water at 1 atm (recalled)
    [(15.0, 999.10), (20.0, 998.20), (25.0, 997.05)],
)
def test_a_faultless_hydrometer_in_water(t, density):
    warm = q(t, "degC")
    water = hydrometer.check_water_density(check_temperature=warm)
    assert value(water, "kg/m^3") == pytest.approx(density, abs=0.1)
    # Archimedes by hand: the bulb displaces its own mass, a litre of glass swells 0.025 mL a kelvin
    gravity = density * (1 + 25e-6 * (t - 15.5556)) / 999.02
    error = hydrometer.hydrometer_error(
        check_reading=q(145 - 145 / gravity), check_density=water, check_temperature=warm
    )
    assert value(error) == pytest.approx(0, abs=0.015)


def test_its_own_error_is_the_same_all_along_the_stem():
    sixty = q(60, "degF")
    water = hydrometer.check_water_density(check_temperature=sixty)
    checked = {"check_density": water, "check_temperature": sixty}
    error = hydrometer.hydrometer_error(check_reading=q(0.8), **checked)
    assert value(error) == pytest.approx(0.8, abs=0.001)
    # in a known salt solution too: one of specific gravity 1.2 is 145 − 145/1.2 = 24.17 °Bé
    salt = hydrometer.hydrometer_error(
        check_reading=q(24.97), check_density=q(1.2 * 999.02, "kg/m^3"), check_temperature=sixty
    )
    assert value(salt) == pytest.approx(0.8, abs=0.005)
    density = hydrometer.true_density(
        hydrometer_reading=q(42.8), hydrometer_error=error, reading_temperature=sixty
    )
    assert value(density, "kg/m^3") == pytest.approx(999.02 * 145 / 103, abs=0.02)


@TRIED
@given(st.floats(1.12, 1.5), celsius, shares, shares, st.floats(-3, 3))
def test_warm_and_back(gravity, t, spent, copper, error):
    warm = q(t, "degC")
    used = {"bath_spent_share": q(spent), "copper_atom_share": q(copper)}
    shown = hydrometer.warm_reading(
        corrected_gravity=q(gravity), reading_temperature=warm, hydrometer_error=q(error), **used
    )
    density = hydrometer.true_density(
        hydrometer_reading=shown, hydrometer_error=q(error), reading_temperature=warm
    )
    back = hydrometer.corrected_gravity(true_density=density, reading_temperature=warm, **used)
    assert value(back) == pytest.approx(gravity, rel=1e-9)
    # warm it is thinner, and reads so
    if t > 16:
        assert value(shown) - error < 145 - 145 / gravity


@TRIED
@given(strengths, st.floats(0.01, 1), st.floats(16, 50))
def test_a_share_that_is_not_known_hardly_moves_the_correction(strength, spent, t):
    # what the docstring of corrected_gravity says
    four, _ = fractions(fresh(strength)[0], spent)
    warm = q(t, "degC")
    found = hydrometer.corrected_gravity(
        true_density=hydrometer.used_density(temperature=warm, **four),
        reading_temperature=warm,
        bath_spent_share=q(0),
        copper_atom_share=q(BRASS),
    )
    moved = 145 / value(gravity_of(strength, spent)) - 145 / value(found)
    assert -0.2 < moved < 0.001


# what one reading allows


@pytest.mark.published("same_reading.csv")
def test_baths_that_read_alike(row):
    strength = hydrometer.strength_when_fresh(
        corrected_gravity=gravity_of(float(row["strength_unused"]), 0),
        bath_spent_share=q(float(row["spent"]), "percent"),
        copper_atom_share=q(BRASS),
        mixing_temperature=TWENTY,
    )
    assert value(strength, "g/L") == pytest.approx(float(row["strength"]), abs=1)


@TRIED
@given(strengths, st.floats(0.01, 0.99), shares)
def test_reading_to_strength_and_back(strength, spent, copper):
    gravity = gravity_of(strength, spent, copper)
    known = {
        "corrected_gravity": gravity,
        "copper_atom_share": q(copper),
        "mixing_temperature": TWENTY,
    }
    by_share = hydrometer.strength_when_fresh(bath_spent_share=q(spent), **known)
    used_up = q(strength * spent, "g/L")
    by_metal = hydrometer.strength_by_metal(strength_spent=used_up, **known)
    left = hydrometer.strength_left(strength=q(strength, "g/L"), bath_spent_share=q(spent))
    by_trial = hydrometer.strength_by_trial(strength_left=left, **known)
    for found in (by_share, by_metal, by_trial):
        assert value(found, "g/L") == pytest.approx(strength, rel=1e-7)
    # unused it is what the fresh formulas say, and the strongest of all that read so
    unused = hydrometer.strength_when_fresh(bath_spent_share=q(0), **known)
    w = solutions.mass_fraction(specific_gravity=gravity)
    rho = solutions.etchant_density(mass_fraction=w, temperature=TWENTY)
    theirs = solutions.strength_at_mass_fraction(mass_fraction=w, etchant_density=rho)
    assert value(unused, "g/L") == pytest.approx(value(theirs, "g/L"), rel=1e-9)
    assert value(unused, "g/L") > strength


def test_what_a_reading_does_not_allow():
    reading = {
        "corrected_gravity": q([1.10, 1.10, 1.95]),
        "copper_atom_share": q(BRASS),
        "mixing_temperature": TWENTY,
    }
    # 213 g/L reads 1.10 unused: nothing that has spent or still holds 400 g/L does
    for name, word in (("metal", "spent"), ("trial", "left")):
        function = getattr(hydrometer, f"strength_by_{name}")
        found = function(**{f"strength_{word}": q([50, 400, 50], "g/L")}, **reading)
        assert list(np.isnan(found.magnitude)) == [False, True, True]
    found = hydrometer.strength_when_fresh(bath_spent_share=q(0.5), **reading)
    assert list(np.isnan(found.magnitude)) == [False, False, True]


def test_whole_arrays_of_readings_at_once():
    gravities, spents = q(np.linspace(1.2, 1.3, 5)[:, None]), q([0, 0.3, 0.875])
    found = hydrometer.strength_when_fresh(
        corrected_gravity=gravities,
        bath_spent_share=spents,
        copper_atom_share=q(BRASS),
        mixing_temperature=TWENTY,
    ).magnitude
    assert found.shape == (5, 3)
    assert np.all(np.diff(found, axis=0) > 0) and np.all(np.diff(found, axis=1) < 0)


# the bottle trial


def test_crystals_left_by_copper_lost():
    # 8.507 g of crystals to a gram of copper: molar masses of the library chemicals
    one = hydrometer.trial_strength_left(copper_lost=read("1 g"), sample_volume=read("1 L"))
    assert value(one, "g/L") == pytest.approx(8.507, abs=5e-4)
    theirs = 2 * periodictable.formula("FeCl3(H2O)6").mass / periodictable.Cu.mass
    assert value(one, "g/L") == pytest.approx(theirs, rel=1e-4)
    left = hydrometer.crystals_left(
        copper_lost=read("2 g"), etchant_volume=read("3 L"), sample_volume=read("100 mL")
    )
    assert value(left, "g") == pytest.approx(2 * 8.507 * 30, abs=0.05)


@TRIED
@given(strengths, st.floats(0, 0.95), st.floats(20, 500))
def test_a_sample_eats_what_its_ferric_can(strength, spent, millilitres):
    # of 500 g/L fresh: 58.8 g/L of copper, so 5.88 g in 100 mL
    moles = strength * (1 - spent) / CRYSTALS * millilitres / 1000
    lost, sample = q(moles / 2 * COPPER, "g"), q(millilitres, "mL")
    found = hydrometer.trial_strength_left(copper_lost=lost, sample_volume=sample)
    left = hydrometer.strength_left(strength=q(strength, "g/L"), bath_spent_share=q(spent))
    assert value(found, "g/L") == pytest.approx(value(left, "g/L"), rel=1e-6)
    whole = hydrometer.crystals_left(
        copper_lost=lost, etchant_volume=read("3 L"), sample_volume=sample
    )
    assert value(whole, "g") == pytest.approx(3 * value(left, "g/L"), rel=1e-6)


# topping up


def topped(strength, spent, copper, litres, replaced, crystals, water):
    """The bath's fractions and mass before, and after topping up, by the formulas."""
    w, rho = fresh(strength)
    four, metal = fractions(w, spent, copper)
    now = hydrometer.used_density(temperature=TWENTY, **four)
    volume = q(litres, "L")
    kept = hydrometer.etchant_mass_kept(
        etchant_volume=volume,
        used_density=now,
        metal_to_etchant=metal,
        replaced_share=q(replaced),
    )
    whole = {"etchant_mass_kept": kept, "mass_fraction": w, "added_crystals": q(crystals, "g")}
    mixed = hydrometer.topped_mass_fraction(added_water=q(water, "g"), **whole)
    result = hydrometer.topped_strength(topped_mass_fraction=mixed, mixing_temperature=TWENTY)
    all_crystals = hydrometer.topped_crystals(**whole)
    share = hydrometer.topped_spent_share(
        etchant_mass_kept=kept,
        mass_fraction=w,
        bath_spent_share=q(spent),
        topped_crystals=all_crystals,
    )
    in_bath = metal * rho
    grams = hydrometer.topped_metal(
        metal_in_bath=in_bath,
        etchant_mass_kept=kept,
        etchant_density=rho,
        topped_crystals=all_crystals,
        topped_strength=result,
    )
    size = hydrometer.topped_volume(topped_crystals=all_crystals, topped_strength=result)
    after, metal_after = fractions(mixed, value(share), copper)
    return {
        "before": (value(volume * now, "g"), four),
        "after": (
            (value(kept, "g") + crystals + water) * (1 + value(metal_after)),
            after,
        ),
        "strength": value(result, "g/L"),
        "spent": value(share),
        "metal": value(grams, "g/L"),
        "metal_before": value(in_bath, "g/L"),
        "litres": value(size, "L"),
    }


def put_in(crystals, water):
    """Atoms that crystals and water bring."""
    moles = crystals / CRYSTALS
    return np.array([moles, 0, 0, 3 * moles, water + crystals - moles * FERRIC])


topping = (
    strengths,
    st.floats(0.01, 1),
    shares,
    st.floats(0.5, 20),
    st.floats(0, 0.9),
    st.floats(0, 500),
    st.floats(0, 1000),
)


@TRIED
@given(*topping)
def test_topping_up_keeps_every_atom_and_all_mass(
    strength, spent, copper, litres, replaced, crystals, water
):
    found = topped(strength, spent, copper, litres, replaced, crystals, water)
    before, after = atoms(*found["before"]), atoms(*found["after"])
    expected = before * (1 - replaced) + put_in(crystals, water)
    assert after == pytest.approx(expected, rel=1e-9, abs=1e-9)
    mass = found["before"][0] * (1 - replaced) + crystals + water
    assert found["after"][0] == pytest.approx(mass, rel=1e-9)
    # the metal, in grams a litre of what the bath would be if fresh
    grams = found["metal"] * found["litres"]
    metal = before[1] * COPPER + before[2] * ZINC
    assert grams == pytest.approx(metal * (1 - replaced), rel=1e-9)
    # strength, share and grams of metal say the same
    per_gram = 2 * CRYSTALS / (copper * COPPER + (1 - copper) * ZINC)
    assert found["spent"] * found["strength"] == pytest.approx(found["metal"] * per_gram, rel=1e-6)


@TRIED
@given(*topping[:4])
def test_nothing_added_is_the_bath_as_it_was(strength, spent, copper, litres):
    found = topped(strength, spent, copper, litres, 0, 0, 0)
    assert found["strength"] == pytest.approx(strength, rel=1e-9)
    assert found["spent"] == pytest.approx(spent)
    assert found["metal"] == pytest.approx(found["metal_before"])
    # a bath keeps its volume nearly while it dissolves metal (0.06 % at 13 g/L of brass in 500 g/L)
    assert found["litres"] == pytest.approx(litres, rel=0.03)


@TRIED
@given(*topping[:4], st.floats(0.01, 0.9))
def test_replacing_a_part_with_fresh_etchant_of_the_same_strength(
    strength, spent, copper, litres, replaced
):
    # as much fresh etchant by mass as the etchant taken out
    w, _ = fresh(strength)
    whole = topped(strength, spent, copper, litres, 0, 0, 0)
    mass = whole["after"][0] / (1 + value(fractions(w, spent, copper)[1])) * replaced
    crystals = mass * value(w) * CRYSTALS / FERRIC
    found = topped(strength, spent, copper, litres, replaced, crystals, mass - crystals)
    assert found["strength"] == pytest.approx(strength, rel=1e-9)
    assert found["spent"] == pytest.approx(spent * (1 - replaced))
    assert found["metal"] == pytest.approx(whole["metal"] * (1 - replaced))
    assert found["litres"] == pytest.approx(whole["litres"], rel=1e-9)


@TRIED
@given(*topping[:4], st.floats(0.01, 0.2))
def test_evaporation_made_good_with_water(strength, spent, copper, litres, lost):
    # the bath dried by so much of its mass, its loss of volume from library thermo's densities
    _, four = topped(strength, spent, copper, litres, 0, 0, 0)["before"]
    bare = [value(four[name]) for name in FOUR]
    numbers = list(NUMBERS.values())
    wet = Laliberte_density(293.15, bare, numbers)
    dry = Laliberte_density(293.15, [w / (1 - lost) for w in bare], numbers)
    water = hydrometer.evaporated_water(
        etchant_volume=q(litres, "L"),
        level_loss=q(1 - (1 - lost) * wet / dry),
        temperature=TWENTY,
        **four,
    )
    assert value(water, "g") == pytest.approx(lost * litres * wet, rel=1e-6)
    # dry, then with that water put back: the bath as it was
    parched = topped(strength, spent, copper, litres, 0, 0, -value(water, "g"))
    assert parched["strength"] > strength and parched["spent"] == pytest.approx(spent)
    again = atoms(*parched["after"]) + put_in(0, value(water, "g"))
    before = topped(strength, spent, copper, litres, 0, 0, 0)
    assert again == pytest.approx(atoms(*before["before"]), rel=1e-6)


def test_water_that_a_thin_film_of_etchant_does_not_have():
    four, _ = fractions(q(0.5), 0.2)
    water = hydrometer.evaporated_water(
        etchant_volume=read("3 L"), level_loss=q([0.0, 0.1, 0.9]), temperature=TWENTY, **four
    )
    assert list(np.isnan(water.magnitude)) == [False, False, True]
    assert water.magnitude[0] == pytest.approx(0, abs=1e-9)


# what is typed


@pytest.mark.parametrize(
    ("name", "typed", "part"),
    [
        # a specific gravity typed for degrees Baumé, and the other way about
        ("hydrometer_reading", "1.4", "1.4 cannot be meant; type a number from 5 to 70"),
        ("specific_gravity", "42", "42 cannot be meant; type a number from 1 to 2"),
        ("metal_in_bath", "-3 g/L", "-3 g/L cannot be meant"),
        ("metal_in_bath", "13", "13 of what? say g/L"),
        ("metal_in_bath", "13 g", "is not a concentration"),
        ("sample_volume", "0 mL", "cannot be meant"),
        ("copper_lost", "nan g", "cannot be meant"),
        ("bath_spent_share", "120 %", "cannot be meant"),
        ("reading_temperature", "75 °C", "cannot be meant"),
        ("replaced_share", "100 %", "cannot be meant"),
    ],
)
def test_one_sentence_for_what_cannot_be_meant(name, typed, part):
    with pytest.raises(BadInput) as fault:
        term(name).read(typed)
    sentence = str(fault.value).replace("\N{NO-BREAK SPACE}", " ").replace("\N{THIN SPACE}", " ")
    assert part in sentence.replace("\N{NARROW NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("name", "wrong"),
    [("sample_volume", "3 g"), ("copper_lost", "3 mL")],
)
def test_a_wrong_unit_is_no_number(name, wrong):
    given = {"copper_lost": read("2 g"), "sample_volume": read("100 mL"), name: read(wrong)}
    with pytest.raises(Exception, match="onvert"):
        hydrometer.trial_strength_left(**given).to(PER_LITRE)
