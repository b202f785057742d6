"""What holds for every registered formula: names, units, arrays."""

import inspect

import numpy as np
import pytest

from etchcalc import process  # registers the formulas
from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import KINDS, SYSTEMS, Quantity, unit
from etchcalc.core.vocabulary import VOCABULARY, term

NAMES = sorted(REGISTERED)
UNITS = {"mm", "um", "cm", "thou", "inch", "oz", "ml", "minutes", "hours", "grams", "kg", "percent"}
# other units that mean the same, by dimensionality of the metric unit of a kind
OTHERS = {
    "size": "mile", "fine": "um", "film": "nm", "area": "acre", "volume": "cm^3",
    "little volume": "L", "mass": "stone", "strength": "mg/mL", "temperature": "kelvin",
    "time": "s", "rate": "m/day", "number": "percent", "share": "dimensionless",
    "density": "lb/ft^3", "concentration": "mmol/mL", "molality": "mmol/g",
    "metal in bath": "oz/imperial_gallon", "viscosity": "Pa*s", "diffusivity": "m^2/hour",
    "drag-out": "mL/inch^2", "metal in rinse": "oz/imperial_gallon",
    "short time": "hour", "irradiance": "W/m^2", "dose": "J/m^2",
    "velocity": "inch/hour", "molar mass": "kg/mol", "kinetic": "g*kg/m^2/hour/mmol",
    "power": "BTU/hour", "heat": "BTU", "heat flux": "BTU/hour/ft^2",
    "heat capacity": "J/g/delta_degF", "evaporation": "L/day", "resolution": "pixel/mm", "stiffness": "psi",
    "spreading rate": "cm^2/mL",
}  # fmt: skip
assert process


def magnitude(quantity, name):
    return np.asarray(quantity.to(term(name).unit).magnitude, dtype=float)


@pytest.mark.parametrize("name", NAMES)
def test_names_are_words_of_the_trade(name):
    entry = REGISTERED[name]
    assert {name, *entry.inputs} <= set(VOCABULARY)
    for word in (name, *entry.inputs):
        assert not UNITS & set(word.split("_")), "no unit in a name"
        assert not word.startswith(("calc_", "get_"))


@pytest.mark.parametrize("name", NAMES)
def test_docstring_and_keywords(name):
    function = REGISTERED[name].function
    first = (function.__doc__ or "").strip().splitlines()[0]
    assert first.startswith("Return ") and first.endswith(".")
    for parameter in inspect.signature(function).parameters.values():
        assert parameter.kind is inspect.Parameter.KEYWORD_ONLY
        assert parameter.default is inspect.Parameter.empty


@pytest.mark.parametrize("name", NAMES)
def test_the_result_is_of_the_declared_kind(name, realistic):
    result = REGISTERED[name].function(**realistic(name))
    assert result.dimensionality == term(name).unit.dimensionality
    assert np.all(np.isfinite(magnitude(result, name)))


def test_every_kind_has_another_unit_here():
    assert set(OTHERS) == set(KINDS)


@pytest.mark.parametrize("name", NAMES)
def test_the_same_inputs_in_other_units_give_the_same_result(name, scattered):
    function = REGISTERED[name].function
    for seed in range(3):
        inputs = scattered(name, seed)
        expected = magnitude(function(**inputs), name)
        for system in SYSTEMS:
            same = {k: q.to(KINDS[term(k).kind].unit(system)) for k, q in inputs.items()}
            assert magnitude(function(**same), name) == pytest.approx(expected, rel=1e-9)
        for same in (
            {k: q.to(unit(OTHERS[term(k).kind])) for k, q in inputs.items()},
            {k: q.to_base_units() for k, q in inputs.items()},
            # one at a time, so that two errors cannot cancel
            *({**inputs, k: q.to(unit(OTHERS[term(k).kind]))} for k, q in inputs.items()),
        ):
            assert magnitude(function(**same), name) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("name", [n for n in NAMES if n != "gauge_time"])
def test_arrays_go_through_as_they_are(name, scattered):
    function = REGISTERED[name].function
    ways = [scattered(name, seed) for seed in range(5)]
    one_by_one = [float(magnitude(function(**inputs), name)) for inputs in ways]
    together = {
        key: Quantity(np.array([w[key].magnitude for w in ways]), ways[0][key].units)
        for key in ways[0]
    }
    found = magnitude(function(**together), name)
    assert found.shape == (5,)
    assert found == pytest.approx(one_by_one, rel=1e-9)
    # and one input alone as an array among scalars
    for key in together:
        mixed = {**ways[0], key: together[key]}
        expected = [float(magnitude(function(**{**ways[0], key: w[key]}), name)) for w in ways]
        assert magnitude(function(**mixed), name) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_a_wrong_dimension_is_noticed(name, realistic):
    # a mass fraction given as a length, a depth as a time: an error or a wrong dimension, never a number
    inputs = realistic(name)
    expected = term(name).unit.dimensionality
    wrong = unit("candela")
    for key, quantity in inputs.items():
        if not quantity.dimensionality and not REGISTERED[name].method:
            continue
        spoilt = {**inputs, key: Quantity(1.0, wrong)}
        try:
            result = REGISTERED[name].function(**spoilt)
        except Exception as fault:
            assert "onvert" in str(fault) or "offset" in str(fault)
        else:
            assert result.dimensionality != expected
