"""Developer and stripper: hydrates against libraries, solubility and density against other tables."""

import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from thermo.electrochem import Laliberte_density

from etchcalc.core import tables
from etchcalc.core.tables import constant
from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import developing

TRIED = settings(deadline=None, derandomize=True, max_examples=80)
waters = st.floats(0, 10)
DECA, MONO, ANHYDROUS = 10, 1, 0


def q(value, name=""):
    return Quantity(float(value), unit(name))


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def share(water_in_crystals):
    return developing.soda_share(soda_waters=q(water_in_crystals))


def solubility(celsius):
    return developing.soda_solubility(room_temperature=q(celsius, "degC"))


def density(fraction):
    return developing.developer_density(developer_share=q(fraction))


def developer(litres, strength, water_in_crystals):
    return developing.developer_soda(
        developer_volume=q(litres, "L"),
        developer_strength=strength,
        soda_share=share(water_in_crystals),
    )


# ---- hydrates


@pytest.mark.parametrize(
    ("water_in_crystals", "molecule", "over_anhydrous", "anhydrous_share"),
    # molar masses of the library periodictable; 1.1700 and 2.6997 to 1 of anhydrous soda
    [
        (ANHYDROUS, "Na2CO3", 1.0, 1.0),
        (MONO, "Na2CO3(H2O)", 1.1700, 0.85471),
        (7, "Na2CO3(H2O)7", 2.1898, 0.45666),
        (DECA, "Na2CO3(H2O)10", 2.6997, 0.37040),
    ],
)
def test_hydrates(water_in_crystals, molecule, over_anhydrous, anhydrous_share):
    ours = value(share(water_in_crystals))
    theirs = periodictable.formula("Na2CO3").mass / periodictable.formula(molecule).mass
    assert ours == pytest.approx(theirs, rel=1e-4)
    assert ours == pytest.approx(anhydrous_share, abs=1e-5)
    assert 1 / ours == pytest.approx(over_anhydrous, abs=5e-5)


def test_molar_masses_are_the_librarys():
    for name, molecule in (("soda_decahydrate", "Na2CO3(H2O)10"), ("water", "H2O")):
        theirs = periodictable.formula(molecule).mass
        assert value(constant(f"{name}_molar_mass"), "g/mol") == pytest.approx(theirs, rel=1e-4)


def test_an_unknown_hydrate_is_any_of_them():
    ends = [value(developing.soda_share_guess(soda_place=q(place))) for place in (0, 1)]
    assert ends == pytest.approx([value(share(DECA)), value(share(ANHYDROUS))], rel=1e-5)
    # ten grams to a litre: 3.70 g/L of anhydrous soda if lumps, 10 if anhydrous powder
    made = [
        value(
            developing.made_strength(
                weighed_soda=read("10 g"), soda_share=q(end), developer_volume=read("1 L")
            ),
            "g/L",
        )
        for end in ends
    ]
    assert made == pytest.approx([3.704, 10.0], abs=5e-4)


# ---- developer


@pytest.mark.parametrize(
    ("water_in_crystals", "grams"),
    # a litre of 0.85 % by mass, 1005.9 kg/m³ at 25 °C (Laliberté): 8.55 g of anhydrous soda
    [(ANHYDROUS, 8.55), (MONO, 10.00), (DECA, 23.08)],
)
def test_a_litre_of_developer(water_in_crystals, grams):
    strength = developing.strength_of_share(
        developer_share=read("0.85 %"), developer_density=read("1005.9 kg/m3")
    )
    assert value(developer(1, strength, water_in_crystals), "g") == pytest.approx(grams, abs=5e-3)
    ours = developing.strength_of_share(
        developer_share=read("0.85 %"), developer_density=density(0.0085)
    )
    # at 20 °C it is a little denser
    assert value(ours / strength) == pytest.approx(1, abs=0.002)


@pytest.mark.parametrize("percent", [0.80, 0.85, 0.90])
def test_per_cent_of_a_monohydrate(percent):
    # 0.80 to 0.90 % anhydrous is 0.936 to 1.053 % of monohydrate
    crystals = value(developer(1, q(percent * 10, "g/L"), MONO), "g") / 10
    assert crystals == pytest.approx(percent * 1.170, abs=5e-4)


def test_imperial_developer():
    # 1 oz to the imperial gallon is 6.236 g/L (28.349523125 g / 4.54609 L)
    soda = developer(4.54609, q(28.349523125 / 4.54609, "g/L"), ANHYDROUS)
    assert value(soda, "oz") == pytest.approx(1)


@TRIED
@given(st.floats(0.1, 50), st.floats(1, 100), waters, waters)
def test_soda_is_neither_made_nor_lost(litres, strength, one, other):
    soda = developer(litres, q(strength, "g/L"), one)
    exchanged = developing.other_soda(
        weighed_soda=soda, soda_share=share(one), other_soda_share=share(other)
    )
    for weighed, of in ((soda, one), (exchanged, other)):
        made = developing.made_strength(
            weighed_soda=weighed, soda_share=share(of), developer_volume=q(litres, "L")
        )
        assert value(made, "g/L") == pytest.approx(strength, rel=1e-9)
    assert value(exchanged, "g") == pytest.approx(
        value(developer(litres, q(strength, "g/L"), other), "g"), rel=1e-9
    )


@pytest.mark.published("soda_density.csv")
def test_density_of_soda_solutions(row):
    # at 23 °C against water of the same temperature
    ours = value(density(float(row["anhydrous"]) / 100), "kg/m^3") / 998.2
    assert ours == pytest.approx(float(row["specific_weight"]), rel=0.004)
    # the crystals' anhydrous soda is their mass by our share
    assert float(row["crystals"]) * value(share(DECA)) == pytest.approx(
        float(row["anhydrous"]), rel=2e-3
    )


@pytest.mark.parametrize("percent", [0.3, 0.85, 1, 3, 7.5, 12, 17.9, 22, 27])
def test_density_is_the_librarys(percent):
    theirs = Laliberte_density(293.15, [percent / 100], ["497-19-8"])
    assert value(density(percent / 100), "kg/m^3") == pytest.approx(theirs, rel=1e-3)


@pytest.mark.parametrize(("at", "seconds"), [("50 %", 80), ("65 %", 61.54)])
def test_developing_time(at, seconds):
    # breakpoint 40 s at half, or at 65 %, of the whole
    found = developing.developing_time(breakpoint_time=read("40 s"), breakpoint_share=read(at))
    assert value(found, "s") == pytest.approx(seconds, abs=5e-3)


def test_plates_to_a_developer():
    # 2 L at 0.2 m²/L do 0.4 m²; a blank of 200 × 100 mm is 0.02 m²
    found = developing.developer_plates(
        developer_volume=read("2 L"),
        developer_allowance=read("0.2 m2/L"),
        blank_area=read("200 cm2"),
    )
    assert value(found) == pytest.approx(20)


# ---- stripper


def stripper(litres, celsius, water_in_crystals):
    """What dissolves and the water to pour, by the chain of formulas as a plan would call them."""
    saturated = developing.saturated_share(soda_solubility=solubility(celsius))
    known = {
        "stripper_volume": q(litres, "L"),
        "stripper_density": developing.developer_density(developer_share=saturated),
    }
    soda = developing.dissolving_soda(
        saturated_share=saturated, soda_share=share(water_in_crystals), **known
    )
    return soda, developing.stripper_water(dissolving_soda=soda, **known)


@pytest.mark.parametrize("row", tables.rows("soda_solubility.csv"), ids=lambda r: r["temperature"])
def test_every_point_of_the_table_is_met(row):
    found = value(solubility(float(row["temperature"])), "percent")
    assert found == pytest.approx(float(row["soluble"]), rel=1e-9)


def test_a_cool_shop_is_not_between_0_and_20_degrees_by_a_straight_line():
    # the table prints 12.2 at 10 °C; a straight line from 7 to 21.8 would say 14.4
    assert value(solubility(10), "percent") == pytest.approx(12.2, abs=0.05)


@pytest.mark.published("soda_solubility.csv")
def test_solubility_in_other_books(row):
    celsius, within = float(row["celsius"]), float(row["within"]) / 100
    soluble = solubility(celsius)
    ours = {
        "anhydrous": value(soluble, "percent"),
        "percent": value(developing.saturated_share(soda_solubility=soluble), "percent"),
        "decahydrate": _crystals_to_water(celsius) if row["decahydrate"] else 0.0,
    }
    for column, found in ours.items():
        if row[column]:
            assert found == pytest.approx(float(row[column]), rel=within)


def _crystals_to_water(celsius):
    soda, water = stripper(1, celsius, DECA)
    return 100 * value(soda / water)


@pytest.mark.parametrize(
    ("celsius", "grams"),
    # m·0.3704 = s·(100 + m·0.6296) with the table's s: by hand
    [(0, 21.5), (10, 41.6), (20, 93.5), (30, 330)],
)
def test_decahydrate_that_water_dissolves(celsius, grams):
    assert _crystals_to_water(celsius) == pytest.approx(grams, rel=0.003)


@TRIED
@given(st.floats(0.5, 20), st.floats(0, 40), waters)
def test_a_stripper_holds_what_was_put_in(litres, celsius, water_in_crystals):
    soda, water = stripper(litres, celsius, water_in_crystals)
    anhydrous = soda * share(water_in_crystals)
    all_water = water + soda * (1 - share(water_in_crystals))
    assert value(anhydrous / all_water) == pytest.approx(value(solubility(celsius)), rel=1e-9)
    assert value(water, "g") > 0


@TRIED
@given(st.floats(0.5, 20), st.floats(0, 31.9), st.floats(0, 31.9), waters)
def test_what_drops_out_and_what_stays_are_what_was_there(litres, one, other, water_in_crystals):
    warm, cold = max(one, other), min(one, other)
    soda, water = stripper(litres, warm, water_in_crystals)
    dropped = developing.soda_dropped_out(
        stripper_water=water,
        dissolving_soda=soda,
        soda_share=share(water_in_crystals),
        cold_solubility=solubility(cold),
    )
    # the crystals are decahydrate: what is left of soda and water is saturated again
    of_crystals = constant("sodium_carbonate_molar_mass") / constant("soda_decahydrate_molar_mass")
    soda_left = soda * share(water_in_crystals) - dropped * of_crystals
    water_left = water + soda * (1 - share(water_in_crystals)) - dropped * (1 - of_crystals)
    assert value(soda_left / water_left) == pytest.approx(value(solubility(cold)), rel=1e-9)
    assert value(dropped, "g") >= -1e-6


def test_nothing_drops_out_of_a_warmer_shop():
    soda, water = stripper(2, 15, DECA)
    dropped = developing.soda_dropped_out(
        stripper_water=water,
        dissolving_soda=soda,
        soda_share=share(DECA),
        cold_solubility=solubility(25),
    )
    assert value(dropped, "g") == pytest.approx(0, abs=1e-9)


def test_crystals_dropped_from_a_hundred_of_water():
    # 100 g of water saturated at 20 °C holds 21.8 g; cooled to 0 °C X grams of decahydrate leave it:
    # 21.8 − 0.3704 X = 0.07·(100 − 0.6296 X), so X = 14.8/(0.3704 − 0.04407) = 45.35 g
    dropped = developing.soda_dropped_out(
        stripper_water=read("100 g"),
        dissolving_soda=read("21.8 g"),
        soda_share=q(1),
        cold_solubility=read("7 %"),
    )
    assert value(dropped, "g") == pytest.approx(45.35, abs=0.01)


def test_a_reserve_lies_below():
    soda = developing.stripper_soda(dissolving_soda=read("1 kg"), soda_reserve=read("10 %"))
    assert value(soda, "kg") == pytest.approx(1.1)
