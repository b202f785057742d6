"""Realistic and random inputs for every registered formula."""

import numpy as np
import pytest

from etchcalc.core.formula import REGISTERED
from etchcalc.core.units import Quantity
from etchcalc.core.vocabulary import VOCABULARY, term
from etchcalc.job.commission_file import parsed
from etchcalc.job.plan import planned

ORDER = """
[commission]
title = "Level scale"
[plate]
metal = "CuZn37"
plate_width = "6 in"
plate_height = "4 in"
plate_thickness = "1.5 mm"
plate_count = "2"
[lines]
finest_line = "0.5 mm"
depth = "0.25 mm"
[artwork]
open_fraction = "22 %"
[bath]
strength = "17.6 oz/L"
temperature = "38 °C"
"""


@pytest.fixture(scope="session")
def realistic():
    """Inputs of a formula by its name: those of a plan, else the vocabulary's start values."""
    plan = planned(parsed(ORDER))
    uses = {}
    for use in plan.book.uses.values():
        uses.setdefault(use.formula, use)

    def first(quantity):
        return Quantity(float(np.ravel(quantity.magnitude)[0]), quantity.units)

    def value(name):
        if name in plan.book.values:
            return plan.book.values[name]
        return term(name).quantity(float(term(name).start))

    def inputs(name):
        if name in uses:
            given = plan.book.inputs(uses[name])
        else:
            given = {key: value(key) for key in REGISTERED[name].inputs}
        return {key: first(quantity) for key, quantity in given.items()}

    return inputs


@pytest.fixture(scope="session")
def scattered(realistic):
    """Realistic inputs, each moved by chance, within what the vocabulary lets be meant."""

    def inputs(name, seed):
        chance = np.random.default_rng([seed, *name.encode()])
        found = {}
        for key, quantity in realistic(name).items():
            entry = VOCABULARY[key]
            middle = float(quantity.to(entry.unit).magnitude)
            moved = middle * chance.uniform(0.6, 1.6) if middle else chance.uniform(0.5, 5)
            # no ferric chloride solution is denser than 1.6
            most = 1.6 if key == "specific_gravity" else entry.high
            found[key] = Quantity(float(np.clip(moved, entry.low, most)), entry.unit)
        return found

    return inputs
