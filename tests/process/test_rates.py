"""Kinetics, free convection and diffusivity against the papers and libraries they come from."""

import ht
import numpy as np
import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants as si
from thermo.electrochem import Laliberte_density

from etchcalc.core.tables import constant
from etchcalc.core.units import Quantity, read, unit
from etchcalc.process import bath, rates, solutions

TRIED = settings(deadline=None, derandomize=True, max_examples=40)
ONE, MM, CELSIUS = unit("dimensionless"), unit("mm"), unit("degC")
NO_METAL = {f"{metal}_share": read("0 %") for metal in ("nickel", "tin", "lead")}
COPPER = {
    "metal_density": read("8.96 g/cm3"),
    "copper_share": read("100 %"),
    "zinc_share": read("0 %"),
}
BRASS = {
    "metal_density": read("8.44 g/cm3"),
    "copper_share": read("63 %"),
    "zinc_share": read("37 %"),
}


def value(quantity, name):
    return float(quantity.to(unit(name)).magnitude)


def bath_of(strength="500 g/L", celsius=20.0, metal=BRASS):
    """Everything that the rate needs of a fresh bath and a metal."""
    temperature = Quantity(float(celsius), CELSIUS)
    demand = bath.ferric_demand(**metal, **NO_METAL)
    w = solutions.etchant_mass_fraction(strength=read(strength), mixing_temperature=read("20 °C"))
    copper = bath.copper_atom_share(
        metal_density=metal["metal_density"],
        copper_share=metal["copper_share"],
        ferric_demand=demand,
    )
    viscosity = rates.viscosity(mass_fraction=w, temperature=temperature)
    density = solutions.etchant_density(mass_fraction=w, temperature=temperature)
    concentration = solutions.ferric_concentration(mass_fraction=w, etchant_density=density)
    return {
        "density_rise": rates.density_rise(
            bath_spent_share=Quantity(0.0, "dimensionless"),
            mass_fraction=w,
            temperature=temperature,
            copper_atom_share=copper,
        ),
        "viscosity": viscosity,
        "ferric_diffusivity": rates.ferric_diffusivity(
            temperature=temperature, viscosity=viscosity
        ),
        "ferric_concentration": concentration,
        "ferric_demand": demand,
        "reaction_velocity": rates.reaction_velocity(
            reaction_constant=rates.reaction_constant(temperature=temperature),
            molality=solutions.molality(mass_fraction=w),
            ferric_concentration=concentration,
        ),
    }


CONVECTION = ("density_rise", "viscosity", "ferric_diffusivity")


def open_plate(b):
    return rates.open_plate_velocity(**{key: b[key] for key in CONVECTION})


def narrow_line(b, width):
    return rates.narrow_line_velocity(
        **{key: b[key] for key in CONVECTION}, line_width=Quantity(float(width), MM)
    )


def as_rate(velocity, b):
    """Micrometres of metal a minute of a transfer velocity of ferric ions."""
    return value(velocity * b["ferric_concentration"] / b["ferric_demand"], "um/min")


def fresh(b, depth, width, correction=1.0):
    transport = rates.transport_velocity(
        open_plate_velocity=open_plate(b), narrow_line_velocity=narrow_line(b, width)
    )
    return rates.fresh_rate(
        depth=Quantity(float(depth), MM),
        line_width=Quantity(float(width), MM),
        transport_velocity=transport,
        rate_correction=Quantity(correction),
        **b,
    )


# Bryce & Berk, Ind. Eng. Chem. Res. 34 (1995) 1412


@pytest.mark.published("copper_rates.csv")
def test_the_published_rate_constants(row):
    ours = rates.reaction_constant(temperature=Quantity(float(row["celsius"]), CELSIUS))
    assert value(ours, "mg*kg/cm^2/s/mol") == pytest.approx(float(row["constant"]), rel=1e-9)


@pytest.mark.published("copper_rates.csv", "rate_half_molal")
@pytest.mark.parametrize(("molal", "column"), [(0.5, "rate_half_molal"), (1.0, "rate_one_molal")])
def test_stirred_copper_rates(row, molal, column, printed):
    concentration = Quantity(0.9 * molal, unit("mol/L"))
    velocity = rates.reaction_velocity(
        reaction_constant=Quantity(float(row["constant"]), unit("mg*kg/cm^2/s/mol")),
        molality=Quantity(molal, unit("mol/kg")),
        ferric_concentration=concentration,
    )
    demand = bath.ferric_demand(**COPPER, **NO_METAL)
    assert value(velocity * concentration / demand, "um/min") == printed(row[column])


@pytest.mark.published("activation.csv")
def test_apparent_activation_energy(row, printed):
    cold, warm = (float(row[key]) + 273.15 for key in ("from_celsius", "to_celsius"))
    k = [
        value(rates.reaction_constant(temperature=Quantity(t, unit("K"))), "mg*kg/cm^2/s/mol")
        for t in (cold, warm)
    ]
    energy = si.R * np.log(k[1] / k[0]) / (1 / cold - 1 / warm) / 1000
    assert energy == printed(row["kilojoule_per_mole"])


def test_ten_degrees_from_thirty_to_forty():
    # Q10 for 32.6 kJ/mol: 1.511 (1.512 from the constants themselves)
    k30, k40 = (rates.reaction_constant(temperature=read(t)) for t in ("30 °C", "40 °C"))
    assert value(k40 / k30, "") == pytest.approx(1.511, abs=0.0015)


def test_the_reaction_is_fastest_near_two_molal():
    # Bryce & Berk 1995: linear at low strength, a maximum near 2 mol/kg, then falling
    molal = np.linspace(0.05, 6, 120)
    concentration = Quantity(1.0, unit("mol/L"))
    flux = (
        rates.reaction_velocity(
            reaction_constant=rates.reaction_constant(temperature=read("30 °C")),
            molality=Quantity(molal, unit("mol/kg")),
            ferric_concentration=concentration,
        )
        .to(unit("um/s"))
        .magnitude
    )
    assert molal[np.argmax(flux)] == pytest.approx(2.0, abs=0.1)
    low = molal <= 1
    assert flux[low] / molal[low] == pytest.approx(np.full(low.sum(), flux[0] / molal[0]))
    assert np.all(np.diff(flux[molal > 2.1]) < 0)
    assert np.max(np.abs(np.diff(flux))) < 0.1 * flux.max(), "the curve has no jump"


# McAdams, Heat Transmission, 3rd ed., as carried by the library ht


def sherwood(b, length):
    """Rayleigh and Schmidt number of a plate of that length."""
    rise, viscosity, diffusivity = (b[key] for key in CONVECTION)
    length = Quantity(float(length), MM)
    rayleigh = si.g * unit("m/s^2") * rise * length**3 / (viscosity * diffusivity)
    return value(rayleigh, ""), 1000.0, length / diffusivity


@pytest.mark.parametrize("celsius", [20, 35, 50])
@pytest.mark.parametrize("length", [3.0, 10.0, 25.0])
def test_open_plate_is_the_librarys_free_convection(celsius, length):
    b = bath_of(celsius=celsius)
    rayleigh, prandtl, scale = sherwood(b, length)
    assert rayleigh > 1e7
    theirs = ht.conv_free_immersed.Nu_horizontal_plate_McAdams(
        Pr=prandtl, Gr=rayleigh / prandtl, buoyancy=True
    )
    assert value(open_plate(b) * scale, "") == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("celsius", [20, 35, 50])
@pytest.mark.parametrize("width", [0.2, 0.5, 1.0])
def test_narrow_line_is_the_librarys_free_convection(celsius, width):
    b = bath_of(celsius=celsius)
    rayleigh, prandtl, scale = sherwood(b, width / 2)
    assert rayleigh < 1e7
    theirs = ht.conv_free_immersed.Nu_horizontal_plate_McAdams(
        Pr=prandtl, Gr=rayleigh / prandtl, buoyancy=True
    )
    assert value(narrow_line(b, width) * scale, "") == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize(("rayleigh", "expected"), [(1e8, 69.62), (1e6, 17.08)])
def test_sherwood_numbers_worked_by_hand(rayleigh, expected):
    # 0.15 (1e8)^(1/3) = 69.62; 0.54 (1e6)^(1/4) = 17.08
    diffusivity, viscosity, length = read("1e-9 m2/s"), read("1e-3 Pa s"), read("1 cm")
    rise = rayleigh * diffusivity * viscosity / (si.g * unit("m/s^2") * length**3)
    given_to = {"density_rise": rise, "viscosity": viscosity, "ferric_diffusivity": diffusivity}
    if rayleigh > 1e7:
        velocity = rates.open_plate_velocity(**given_to)
    else:
        velocity = rates.narrow_line_velocity(**given_to, line_width=2 * length)
    assert value(velocity * length / diffusivity, "") == pytest.approx(expected, abs=0.005)


# diffusivity


def test_diffusivity_of_ferric_ions_from_their_conductivity():
    # D = R T λ / (z F²), λ = 6.80e-3 S m²/mol per charge at 25 °C: CRC, in the library chemicals
    faraday = si.value("Faraday constant")
    expected = si.R * 298.15 * 6.80e-3 / (3 * faraday**2)
    ours = value(constant("ferric_diffusivity_in_water"), "m^2/s")
    assert ours == pytest.approx(expected, abs=0.005e-10)


@pytest.mark.published("stokes_einstein.csv")
def test_diffusivity_by_stokes_einstein(row, printed):
    viscosity = Quantity(float(row["viscosity"]), unit("mPa*s"))
    ours = rates.ferric_diffusivity(temperature=read("20 °C"), viscosity=viscosity)
    # the viscosity too is printed to three figures
    assert value(ours, "m^2/s") == printed(row["diffusivity"], 1)


@pytest.mark.published("stokes_einstein.csv")
def test_viscosity_at_the_papers_strengths(row, printed):
    w = solutions.etchant_mass_fraction(
        strength=Quantity(float(row["mol_per_litre"]) * 270.295, unit("g/L")),
        mixing_temperature=read("20 °C"),
    )
    ours = rates.viscosity(mass_fraction=w, temperature=read("20 °C"))
    assert value(ours, "mPa*s") == pytest.approx(float(row["viscosity"]), rel=0.005)


# the still tray


@pytest.mark.published("still_tray.csv")
def test_an_open_plate_in_a_still_tray(row):
    b = bath_of(celsius=float(row["celsius"]))
    alone = open_plate(b)
    assert as_rate(alone, b) == pytest.approx(float(row["transport_alone"]), rel=0.02)
    both = 1 / (1 / alone + 1 / b["reaction_velocity"])
    assert as_rate(both, b) == pytest.approx(float(row["with_kinetics"]), rel=0.04)


@pytest.mark.published("still_tray.csv")
def test_a_shallow_wide_field_is_an_open_plate(row):
    b = bath_of(celsius=float(row["celsius"]))
    rate = value(fresh(b, depth=0.001, width=500), "um/min")
    assert rate == pytest.approx(float(row["with_kinetics"]), rel=0.04)


@pytest.mark.published("fine_lines.csv")
def test_lines_run_ahead_of_fields(row, printed):
    b = bath_of(celsius=20)
    ratio = narrow_line(b, float(row["width"])) / open_plate(b)
    assert value(ratio, "") == printed(row["times"])


def test_a_worked_copper_plate_face_down():
    # 2.25 mol/L, 20 °C: k = 2.1e-6 m/s, 1.01 µm/min (Lloyd & Moran 1974; Laliberté & Cooper 2004)
    b = bath_of(strength="608.16 g/L", metal=COPPER)
    assert value(open_plate(b), "m/s") == pytest.approx(2.1e-6, abs=0.05e-6)
    assert as_rate(open_plate(b), b) == pytest.approx(1.01, rel=0.02)


@pytest.mark.parametrize("celsius", [20.0, 45.0])
@pytest.mark.parametrize("copper", [1.0, 0.6366, 0.0])
def test_how_much_denser_the_spent_liquor_is(celsius, copper):
    # a kilogram of bath of which every Fe3+ took half an atom: library thermo and the atomic weights
    # of periodictable, 2 FeCl3 + M → 2 FeCl2 + MCl2
    mass = {
        s: periodictable.formula(s).mass for s in ("FeCl3", "FeCl2", "CuCl2", "ZnCl2", "Cu", "Zn")
    }
    w = 0.286
    half = w / mass["FeCl3"] / 2
    total = 1 + half * (copper * mass["Cu"] + (1 - copper) * mass["Zn"])
    spent = {
        "7758-94-3": 2 * half * mass["FeCl2"] / total,
        "7447-39-4": half * copper * mass["CuCl2"] / total,
        "7646-85-7": half * (1 - copper) * mass["ZnCl2"] / total,
    }
    kelvin = celsius + 273.15
    expected = Laliberte_density(kelvin, list(spent.values()), list(spent))
    expected -= Laliberte_density(kelvin, [w], ["7705-08-0"])
    ours = rates.density_rise(
        bath_spent_share=Quantity(0.0, "dimensionless"),
        mass_fraction=Quantity(w),
        temperature=Quantity(celsius, CELSIUS),
        copper_atom_share=Quantity(copper),
    )
    assert value(ours, "kg/m^3") == pytest.approx(expected, abs=0.1)


def test_twenty_to_forty_degrees():
    # the still rate rises ×1.75 to 1.97 (Laliberté 2007; Lloyd & Moran 1974)
    for strength in ("608.16 g/L", "913.6 g/L"):
        cool, warm = (bath_of(strength, t, COPPER) for t in (20, 40))
        ratio = as_rate(open_plate(warm), warm) / as_rate(open_plate(cool), cool)
        assert 1.70 < ratio < 2.02


@pytest.mark.parametrize("celsius", [20, 40])
def test_the_weaker_bath_is_the_faster(celsius):
    # Sharpe & Garn, Ind. Eng. Chem. 51 (1959) 293: 2.25 mol/L etches copper faster than 3.75
    weak, strong = (bath_of(f"{c * 270.295} g/L", celsius, COPPER) for c in (2.25, 3.75))
    assert fresh(weak, 0.1, 0.4) > fresh(strong, 0.1, 0.4)
    assert as_rate(open_plate(weak), weak) > as_rate(open_plate(strong), strong)


def test_a_recess_turns_over():
    # g Δρ w² d / (12 η D) for 0.2 × 0.2 mm: 744; for 0.5 × 0.4 mm: 9300 (own arithmetic; CuZn37,
    # 500 g/L, 20 °C). The onset near 40 is recalled, by the analogy with a Hele-Shaw cell.
    b = bath_of(celsius=20)
    for width, depth, expected in ((0.2, 0.2, 744), (0.5, 0.4, 9300)):
        number = rates.recess_number(
            **{key: b[key] for key in CONVECTION},
            line_width=Quantity(width, MM),
            depth=Quantity(depth, MM),
        )
        assert value(number, "") == pytest.approx(expected, rel=0.1)


def test_the_recess_formula_is_its_definition():
    number = rates.recess_number(
        density_rise=read("60 kg/m3"),
        line_width=read("0.2 mm"),
        depth=read("0.1 mm"),
        viscosity=read("2 mPa s"),
        ferric_diffusivity=read("2e-10 m2/s"),
    )
    by_hand = 9.80665 * 60 * 0.0002**2 * 0.0001 / (12 * 0.002 * 2e-10)
    assert value(number, "") == pytest.approx(by_hand)


strengths = st.floats(200, 900)
temperatures = st.floats(15, 50)
widths = st.floats(0.1, 50)
depths = st.floats(0.02, 0.6)


@TRIED
@given(strengths, temperatures, widths, depths)
def test_a_still_rate_never_exceeds_the_kinetic_one(strength, celsius, width, depth):
    b = bath_of(f"{strength} g/L", celsius)
    assert value(fresh(b, depth, width), "um/min") < as_rate(b["reaction_velocity"], b)


@TRIED
@given(strengths, temperatures, widths, depths)
def test_nor_what_transport_alone_brings(strength, celsius, width, depth):
    b = bath_of(f"{strength} g/L", celsius)
    most = max(as_rate(open_plate(b), b), as_rate(narrow_line(b, width), b))
    assert value(fresh(b, depth, width), "um/min") < most


@TRIED
@given(strengths, st.floats(15, 48), widths, depths)
def test_hotter_is_faster(strength, celsius, width, depth):
    cool, warm = (bath_of(f"{strength} g/L", t) for t in (celsius, celsius + 2))
    assert fresh(cool, depth, width) < fresh(warm, depth, width)


@TRIED
@given(strengths, temperatures, widths, st.floats(1.02, 3))
def test_a_wider_line_is_reached_more_slowly(strength, celsius, width, wider):
    b = bath_of(f"{strength} g/L", celsius)
    assert narrow_line(b, width * wider) < narrow_line(b, width)


@TRIED
@given(st.floats(400, 700), st.floats(30, 50), st.floats(0.7, 2), st.floats(1.2, 2), depths)
def test_a_wider_line_etches_more_slowly(strength, celsius, width, wider, depth):
    # from 0.7 mm up: a narrower groove is renewed so much the worse that the order turns
    b = bath_of(f"{strength} g/L", celsius)
    assert fresh(b, depth, width * wider) < fresh(b, depth, width)


@TRIED
@given(strengths, temperatures, widths, depths, st.floats(1.01, 3))
def test_more_depth_takes_more_time(strength, celsius, width, depth, deeper):
    b = bath_of(f"{strength} g/L", celsius)

    def minutes(d):
        return d / value(fresh(b, d, width), "mm/min")

    assert minutes(depth * deeper) > minutes(depth)


@TRIED
@given(st.floats(0.02, 50))
def test_the_shops_own_rate_scales_the_forecast(correction):
    b = bath_of()
    plain, own = (value(fresh(b, 0.2, 0.4, c), "um/min") for c in (1.0, correction))
    assert own == pytest.approx(correction * plain)
