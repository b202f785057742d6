"""Heat and level: the published tables, closed forms, the energy balance."""

import ht
import numpy as np
import pytest
from chemicals import iapws
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from etchcalc.core.tables import constant
from etchcalc.core.units import Quantity, unit
from etchcalc.process import heating

TRIED = settings(deadline=None, derandomize=True, max_examples=60)
BTU = 3.1545908  # W/m² in a Btu/(ft²·h): 1055.05585 J / 0.09290304 m² / 3600 s
SIXTY = (60 - 32) / 1.8


def q(value, name=""):
    return Quantity(np.asarray(value, dtype=float)[()], unit(name))


def value(quantity, name=""):
    return float(quantity.to(unit(name)).magnitude)


def room(air=SIXTY, lid=0.0, lid_loss=0.25, correction=1.0):
    return {
        "room_temperature": q(air, "degC"),
        "lid_cover": q(lid),
        "lid_loss": q(lid_loss),
        "loss_correction": q(correction),
    }


def tray(length=300.0, width=400.0):
    return {"tray_length": q(length, "mm"), "tray_width": q(width, "mm")}


def flux(celsius, **of_room):
    found = heating.surface_heat_flux(temperature=q(celsius, "degC"), **room(**of_room))
    return value(found, "W/m^2")


def wall(celsius, air=SIXTY, correction=1.0):
    found = heating.wall_heat_flux(
        temperature=q(celsius, "degC"),
        room_temperature=q(air, "degC"),
        loss_correction=q(correction),
    )
    return value(found, "W/m^2")


def loss(celsius, level, length=300.0, width=400.0, **of_room):
    """Heat loss in W by the chain of formulas, as a plan would call them."""
    size = tray(length, width)
    air, correction = of_room.get("air", SIXTY), of_room.get("correction", 1.0)
    top = heating.surface_loss(surface_heat_flux=q(flux(celsius, **of_room), "W/m^2"), **size)
    sides = heating.wall_loss(
        wall_area=heating.wall_area(etchant_level=q(level, "mm"), **size),
        wall_heat_flux=q(wall(celsius, air, correction), "W/m^2"),
    )
    return value(heating.heat_loss(surface_loss=top, wall_loss=sides), "W")


def warm_up(power, start, wanted, litres=3.0, density=1410.0, capacity=4.18, level=25.0, **of_room):
    found = heating.warm_up_time(
        etchant_volume=q(litres, "L"),
        etchant_density=q(density, "kg/m^3"),
        heat_capacity=q(capacity, "kJ/kg/K"),
        etchant_level=q(level, "mm"),
        heater_rating=q(power, "W"),
        starting_temperature=q(start, "degC"),
        temperature=q(wanted, "degC"),
        **tray(),
        **room(**of_room),
    )
    return value(found, "s")


def settles(power, level=25.0, **of_room):
    found = heating.settling_temperature(
        heater_rating=q(power, "W"), etchant_level=q(level, "mm"), **tray(), **room(**of_room)
    )
    return value(found, "degC")


# ---- published tables


@pytest.mark.published("open_tank.csv")
def test_open_tank(row, printed):
    celsius = (float(row["fahrenheit"]) - 32) / 1.8
    evaporation = float(heating.evaporation_flux(celsius, SIXTY))
    dry = float(heating.dry_flux(celsius, SIXTY))
    assert evaporation / BTU == pytest.approx(float(row["evaporation"]), rel=1e-5)
    assert dry / BTU == pytest.approx(float(row["radiation"]), rel=1e-5)
    assert flux(celsius) / BTU == pytest.approx(float(row["total"]), rel=1e-5)
    assert flux(celsius) == printed(row["watt_total"])
    assert wall(celsius) == printed(row["watt_wall"])


@pytest.mark.published("open_tank_between.csv")
def test_between_the_rows(row, printed):
    assert flux(float(row["celsius"])) == printed(row["watt_total"])


@pytest.mark.published("open_vessel_evaporation.csv")
@pytest.mark.parametrize("air", [65, 75, 85, 95, 105])
def test_evaporation_and_its_room_against_a_second_table(row, air):
    ours = heating.evaporation_flux((float(row["fahrenheit"]) - 32) / 1.8, (air - 32) / 1.8)
    assert float(ours) / BTU == pytest.approx(float(row[f"air_{air}"]), rel=0.05)


@pytest.mark.parametrize("celsius", [40.0, 50.0, 60.0])
def test_the_table_against_heat_and_mass_transfer(celsius):
    # free convection of the library ht (McAdams, hot face up), mass by the Lewis relation with
    # vapour pressures of IAPWS-95, radiation of water (0.95); properties of air at 30 °C (recalled)
    viscosity, conductivity, prandtl, density, heat, lewis = 1.6e-5, 0.0264, 0.71, 1.16, 1007, 0.85
    hot, cold = celsius + 273.15, SIXTY + 273.15
    damp = [iapws.iapws95_Psat(hot), 0.5 * iapws.iapws95_Psat(cold)]
    virtual = [t / (1 - 0.378 * p / 101325) for t, p in zip((hot, cold), damp, strict=True)]
    size = 0.12 / 1.4  # area over perimeter
    grashof = 9.81 * size**3 / viscosity**2 * (virtual[0] / virtual[1] - 1)
    nusselt = ht.conv_free_immersed.Nu_horizontal_plate_McAdams(prandtl, grashof, buoyancy=True)
    transfer = nusselt * conductivity / size
    mass = transfer / (density * heat) * lewis ** (-2 / 3)
    vapour = [p * 0.018015 / 8.314 / t for p, t in zip(damp, (hot, cold), strict=True)]
    evaporation = mass * (vapour[0] - vapour[1]) * 2.39e6
    dry = transfer * (hot - cold) + 0.95 * 5.67e-8 * (hot**4 - cold**4)
    assert float(heating.dry_flux(celsius, SIXTY)) == pytest.approx(dry, rel=0.35)
    assert evaporation + dry == pytest.approx(flux(celsius), rel=0.35)


def test_latent_heat_is_the_steam_tables():
    # Clausius-Clapeyron on IAPWS-95 of the library chemicals; steam tables: 2382 kJ/kg at 50 °C
    def latent(kelvin):
        slope = iapws.iapws95_dPsat_dT(kelvin)[0]
        gas, liquid = iapws.iapws95_rhog_sat(kelvin), iapws.iapws95_rhol_sat(kelvin)
        return kelvin * slope * (1 / gas - 1 / liquid) / 1000

    ours = value(constant("latent_heat_of_water"), "kJ/kg")
    assert ours == pytest.approx(latent(323.15), abs=0.5)
    for celsius in (20, 75):  # as its condition says
        assert ours == pytest.approx(latent(celsius + 273.15), rel=0.03)


@pytest.mark.parametrize("celsius", [0.01, 5, 20, 40, 60, 99])
def test_vapour_pressure_is_the_steam_tables(celsius):
    ours = float(heating.vapour_pressure(celsius))
    assert ours == pytest.approx(
        iapws.iapws95_Psat(celsius + 273.15), rel=0.025 if celsius > 65 else 0.005
    )


# ---- heat capacity and heater


@pytest.mark.parametrize(("fraction", "least"), [(0.0, 4.18), (0.39, 2.55), (0.40, 2.51)])
def test_bounds_of_the_heat_capacity(fraction, least):
    # (1 − w)·4.18 ≤ c ≤ 4.18 kJ/(kg·K)
    w = q(fraction)
    bound = value(heating.least_heat_capacity(mass_fraction=w), "kJ/kg/K")
    assert bound == pytest.approx(least, abs=0.005)
    between = [
        value(heating.heat_capacity(mass_fraction=w, heat_capacity_place=q(place)), "kJ/kg/K")
        for place in (0, 0.5, 1)
    ]
    assert between == pytest.approx([bound, (bound + 4.18) / 2, 4.18])


def test_three_litres_to_fifty_degrees():
    # 3 L × 1.41 kg/L × 30 K × 4.18 = 530 kJ, in 30 min 295 W; with c = 2.7: 343 kJ
    known = {
        "etchant_volume": q(3, "L"),
        "etchant_density": q(1.41, "kg/L"),
        "starting_temperature": q(20, "degC"),
        "temperature": q(50, "degC"),
    }
    most = heating.heat_to_warm(heat_capacity=q(4.18, "kJ/kg/K"), **known)
    assert value(most, "kJ") == pytest.approx(530, abs=0.5)
    power = heating.warming_power(heat_to_warm=most, wanted_warm_up_time=q(30, "min"))
    assert value(power, "W") == pytest.approx(295, abs=0.5)
    likely = heating.heat_to_warm(heat_capacity=q(2.7, "kJ/kg/K"), **known)
    assert value(likely, "kJ") == pytest.approx(343, abs=0.5)


def test_the_surface_of_a_tray_at_fifty_degrees():
    # 0.30 × 0.40 m × 1574 W/m²
    ours = heating.surface_loss(surface_heat_flux=q(flux(50.0), "W/m^2"), **tray())
    assert 188 < value(ours, "W") <= 189


def test_wetted_walls():
    ours = heating.wall_area(etchant_level=q(25, "mm"), **tray())
    assert value(ours, "m^2") == pytest.approx(0.12 + 2 * 0.7 * 0.025)


@pytest.mark.parametrize(("warming", "holding", "installed"), [(295, 200, 474), (80, 190, 228)])
def test_the_larger_of_warming_and_holding(warming, holding, installed):
    ours = heating.heater_power(
        warming_power=q(warming, "W"), heat_loss=q(holding, "W"), heater_margin=q(20, "percent")
    )
    assert value(ours, "W") == pytest.approx(installed)


@TRIED
@given(st.floats(15, 50), st.floats(10, 120), st.floats(10, 25), st.floats(38, 60), st.floats(0, 1))
def test_the_heater_power_is_in_time(level, minutes, air, wanted, lid):
    litres = 120 * level / 1000
    most = heating.heat_to_warm(
        heat_capacity=q(4.18, "kJ/kg/K"),
        etchant_volume=q(litres, "L"),
        etchant_density=q(1410, "kg/m^3"),
        starting_temperature=q(air, "degC"),
        temperature=q(wanted, "degC"),
    )
    installed = heating.heater_power(
        warming_power=heating.warming_power(
            heat_to_warm=most, wanted_warm_up_time=q(minutes, "min")
        ),
        heat_loss=q(loss(wanted, level, air=air, lid=lid), "W"),
        heater_margin=q(25, "percent"),
    )
    taken = warm_up(
        value(installed, "W"), air, wanted, litres=litres, level=level, air=air, lid=lid
    )
    # in time, even if the etchant holds heat like water
    assert taken <= minutes * 60
    assert settles(value(installed, "W"), level, air=air, lid=lid) > wanted


# ---- warm-up


def test_a_constant_loss_is_a_division():
    # no loss at all: m c ΔT / P
    assert warm_up(295, 20, 50, correction=0.0) == pytest.approx(
        3 * 1410 / 1000 * 4180 * 30 / 295, rel=1e-12
    )
    # P − loss = 40 W throughout
    assert heating._mean_inverse(np.full((9, 1), 40.0)) == pytest.approx(1 / 40, rel=1e-14)


@pytest.mark.parametrize("power", [6.0, 20.0, 300.0])
@pytest.mark.parametrize("start", [12.0, 20.0])
def test_a_linear_loss_is_an_exponential(power, start):
    # a tight lid leaves the walls; to 32 °C their loss is the table's first row in proportion:
    # dT/dt = (P − k(T − room))/C, so T = room + P/k + (start − room − P/k) exp(−kt/C)
    air, end, held = 18.0, 22.0, 3 * 1.41 * 4180
    k = 50 * BTU / ((90 - 60) / 1.8) * (0.12 + 1.4 * 0.025)
    final = air + power / k
    expected = held / k * np.log((start - final) / (end - final)) if final > end else np.inf
    ours = warm_up(power, start, end, air=air, lid=1.0, lid_loss=0.0)
    assert ours == pytest.approx(expected, rel=1e-5)


def test_the_mean_inverse_of_a_straight_line_is_a_logarithm():
    left = np.linspace(300.0, 2.0, 5)[:, None]
    assert heating._mean_inverse(left) == pytest.approx(np.log(150) / 298, rel=1e-12)
    assert np.isinf(heating._mean_inverse(left - 2.0)).all()


@pytest.mark.parametrize(
    ("power", "start", "wanted"), [(300, 20, 50), (235, 20, 50), (600, 5, 60), (150, 20, 40)]
)
def test_the_energy_balance_integrated_by_a_library(power, start, wanted):
    held = 3 * 1.41 * 4180
    found = _integrated(held, power, start, wanted)
    assert warm_up(power, start, wanted, air=20.0) == pytest.approx(found, rel=2e-4)


def _integrated(held, power, start, wanted):
    def reached(_, t):
        return t[0] - wanted

    reached.terminal = True
    found = solve_ivp(
        lambda _, t: [(power - loss(t[0], 25, air=20.0)) / held],
        (0, 3e4),
        [start],
        events=reached,
        rtol=1e-6,
        atol=1e-6,
        max_step=300,
    )
    return float(found.t_events[0][0])


@TRIED
@given(st.floats(50, 2000), st.floats(1, 1000), st.floats(5, 30), st.floats(31, 60))
def test_a_bigger_heater_is_never_slower(power, more, start, wanted):
    slow = warm_up(power, start, wanted, air=20.0)
    assert warm_up(power + more, start, wanted, air=20.0) <= slow
    assert settles(power + more, air=20.0) >= settles(power, air=20.0)


@TRIED
@given(st.floats(100, 1000), st.floats(5, 20), st.floats(25, 35), st.floats(40, 60))
def test_two_stages_are_the_whole(power, start, between, wanted):
    whole = warm_up(power, start, wanted, air=20.0)
    assume(np.isfinite(whole))
    parts = warm_up(power, start, between, air=20.0) + warm_up(power, between, wanted, air=20.0)
    # a heater that hardly gets there is summed a little coarsely at the end
    assert parts == pytest.approx(whole, rel=5e-3)


@TRIED
@given(st.floats(20, 600), st.floats(0, 40), st.floats(0, 1), st.floats(0.3, 3))
def test_it_settles_where_the_loss_is_the_power(power, air, lid, correction):
    of_room = {"air": air, "lid": lid, "correction": correction}
    found = settles(power, **of_room)
    if found > 99.999:
        assert loss(100.0, 25, **of_room) <= power * 1.0001
        return
    assert loss(found, 25, **of_room) == pytest.approx(power, rel=1e-9)
    assume(found - 2 > air)
    assert np.isfinite(warm_up(power, air, found - 0.5, **of_room))
    assert np.isinf(warm_up(power, air, found + 0.5, **of_room))


def test_what_is_warm_already_and_what_has_no_heater():
    assert warm_up(300, 45, 42) == 0
    assert np.isinf(warm_up(0, 20, 42, air=20.0))
    # water without a heater is a little colder than a room of half humidity: the wet bulb is
    # 13.8 °C at 20 °C (psychrometric chart), of which the tray's walls make good a part
    assert 13.8 < settles(0, air=20.0) < 20


# ---- temperature against time


def curve(power, start, wanted, air=20.0, **of_room):
    return heating.temperature_curve(
        etchant_volume=q(3, "L"),
        etchant_density=q(1410, "kg/m^3"),
        heat_capacity=q(4.18, "kJ/kg/K"),
        etchant_level=q(25, "mm"),
        heater_rating=q(power, "W"),
        starting_temperature=q(start, "degC"),
        temperature=q(wanted, "degC"),
        **tray(),
        **room(air=air, **of_room),
    )


def balanced(given, start, minutes):
    """Temperatures by a library's integrator; `given` is the heater's power at a temperature."""
    held = 3 * 1.41 * 4180
    found = solve_ivp(
        lambda _, t: [(given(t[0]) - loss(t[0], 25, air=20.0)) / held],
        (0, minutes[-1] * 60),
        [start],
        t_eval=minutes * 60,
        rtol=1e-6,
        atol=1e-6,
        max_step=600,
    )
    return found.y[0]


@pytest.mark.parametrize(
    ("power", "start", "wanted"),
    [(300, 20, 50), (600, 5, 60), (100, 20, 42), (100, 40, 50), (0, 45, 42), (0, 60, 20)],
    ids=["warms", "warms fast", "settles", "settles from above", "cools", "cools far"],
)
def test_the_curve_by_a_library(power, start, wanted):
    minutes, celsius = curve(power, start, wanted)
    kept = minutes <= 600
    assert kept.sum() > 30
    exact = balanced(lambda _: power, start, minutes[kept])
    assert celsius[kept] == pytest.approx(exact, abs=0.02)


def test_a_bath_poured_warm_cools_until_the_heater_comes_on():
    # 100 W hold less than the 42 °C wanted
    minutes, celsius = curve(100, 55, 42)
    exact = balanced(lambda t: 100 if t < 42 else 0, 55, minutes[minutes <= 400])
    assert celsius[minutes <= 400] == pytest.approx(exact, abs=0.1)
    # 300 W hold it: there the curve ends
    minutes, celsius = curve(300, 55, 42)
    assert celsius[[0, -1]] == pytest.approx([55, 42])
    assert celsius == pytest.approx(balanced(lambda _: 0, 55, minutes), abs=0.02)
    off_minutes, off_celsius = curve(0, 55, 42)
    assert minutes[-1] == pytest.approx(np.interp(-42, -off_celsius, off_minutes), rel=1e-3)


@pytest.mark.parametrize(("power", "start", "wanted"), [(300, 20, 50), (235, 12, 45)])
def test_the_curve_is_the_warm_up_time(power, start, wanted):
    minutes, celsius = curve(power, start, wanted)
    assert celsius[[0, -1]] == pytest.approx([start, wanted])
    assert minutes[-1] * 60 == pytest.approx(warm_up(power, start, wanted, air=20.0), rel=1e-12)
    half = float(np.interp(35, celsius, minutes))
    assert half * 60 == pytest.approx(warm_up(power, start, 35, air=20.0), rel=1e-3)


@TRIED
@given(st.floats(0, 600), st.floats(5, 60), st.floats(5, 60), st.floats(5, 35), st.floats(0, 1))
def test_the_curve_ends_where_the_heater_can_hold_it(power, start, wanted, air, lid):
    minutes, celsius = curve(power, start, wanted, air=air, lid=lid)
    assert minutes[0] == 0
    assert celsius[0] == pytest.approx(start)
    assert np.isfinite(minutes).all()
    assert (np.diff(minutes) > 0).all()
    assert len(set(np.sign(np.diff(celsius)))) <= 1, "it warms or it cools"
    coldest, warmest = (settles(p, air=air, lid=lid) for p in (0, power))
    # within a ten-thousandth of the way
    assert celsius[-1] == pytest.approx(np.clip(wanted, coldest, warmest), abs=0.01)


def test_a_bath_that_is_right_stays():
    minutes, celsius = curve(300, 42, 42)
    assert (minutes.tolist(), celsius.tolist()) == ([0], [42])


def test_of_ways_the_middle_is_taken():
    known = {
        "etchant_volume": q([3, 4], "L"),
        "etchant_density": q(1410, "kg/m^3"),
        "heat_capacity": q([4.18, 3.0], "kJ/kg/K"),
        "etchant_level": q(25, "mm"),
        "heater_rating": q(300, "W"),
        "starting_temperature": q([20, 10], "degC"),
        "temperature": q([50, 40], "degC"),
        **tray(),
        **room(air=20.0),
        "loss_correction": q([1, 2]),
    }
    for ours, alone in zip(heating.temperature_curve(**known), curve(300, 20, 50), strict=True):
        assert ours == pytest.approx(alone)


# ---- losses


@TRIED
@given(st.floats(5, 90), st.floats(0.5, 9), st.floats(0, 30), st.floats(0, 1), st.floats(0.5, 3))
def test_a_hotter_bath_loses_more(celsius, hotter, air, lid, correction):
    of_room = {"air": air, "lid": lid, "correction": correction}
    assert flux(celsius + hotter, **of_room) > flux(celsius, **of_room)
    assert wall(celsius + hotter, air) > wall(celsius, air)
    if celsius > air + 1:
        assert 0 < flux(celsius, air=air + 1) < flux(celsius, air=air)


def test_lid_and_correction():
    whole = flux(50.0)
    assert flux(50.0, lid=1.0) == pytest.approx(0.25 * whole)
    assert flux(50.0, lid=0.5) == pytest.approx(0.625 * whole)
    assert flux(50.0, lid=1.0, lid_loss=1.0) == pytest.approx(whole)
    assert flux(50.0, correction=2.0) == pytest.approx(2 * whole)
    assert wall(SIXTY) == pytest.approx(0, abs=1e-9)


# ---- water and level


def evaporates(celsius, **of_room):
    found = heating.evaporation_rate(temperature=q(celsius, "degC"), **tray(), **room(**of_room))
    return value(found, "mL/hour")


def test_evaporation_by_hand():
    # 120 °F: 360 Btu/(ft²·h) = 1135.7 W/m², × 0.12 m² × 3600 s / 2382 kJ/kg = 206 g an hour
    assert evaporates((120 - 32) / 1.8) == pytest.approx(206 / 0.99902, rel=1e-3)
    assert evaporates((120 - 32) / 1.8, lid=1.0) == pytest.approx(51.5, rel=2e-3)
    assert evaporates(5.0, air=30.0) == 0  # damp would condense


@TRIED
@given(st.floats(20, 60), st.floats(5, 30))
def test_evaporation_is_never_more_than_the_loss(celsius, air):
    assume(celsius > air)
    heat = evaporates(celsius, air=air) * 0.99902 * 2382 / 3600
    assert heat < 0.12 * flux(celsius, air=air) * (1 + 1e-9)


def bared(level, cover, rate):
    found = heating.heater_bared_time(
        etchant_level=q(level, "mm"),
        heater_cover=q(cover, "mm"),
        evaporation_rate=q(rate, "mL/hour"),
        **tray(),
    )
    return value(found, "hour")


def test_when_the_heater_is_bared():
    # 6 mm × 0.12 m² = 720 mL, at 90 mL/h
    assert bared(36, 30, 90) == pytest.approx(8)
    assert bared(30, 30, 90) == 0
    assert bared(20, 30, 90) == 0
    assert np.isinf(bared(36, 30, 0))
    lost = heating.water_lost(
        evaporation_rate=q(90, "mL/hour"), time_kept_warm=q(bared(36, 30, 90), "hour")
    )
    assert value(lost, "mL") == pytest.approx(720)


@TRIED
@given(st.floats(10, 100), st.floats(0, 10), st.floats(0, 200))
def test_plates_and_heater_displace(level, plates, heater):
    metal = heating.plates_volume(
        blank_area=q(100, "cm^2"), plate_thickness=q(1.6, "mm"), plates_at_once=q(plates)
    )
    assert value(metal, "mL") == pytest.approx(16 * plates)
    lying = {"plates_volume": metal, "heater_volume": q(heater, "mL"), **tray()}
    poured = heating.volume_to_pour(etchant_level=q(level, "mm"), **lying)
    assert value(poured, "mL") == pytest.approx(120 * level - 16 * plates - heater)
    back = heating.poured_level(etchant_volume=poured, **lying)
    assert value(back, "mm") == pytest.approx(level)
