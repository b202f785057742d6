"""Etchant make-up: crystals, water, dilution, density and Baumé of the result."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.core.units import CELSIUS, ONE, Quantity, unit
from etchcalc.process import mixture

FERRIC_CHLORIDE = constant("ferric_chloride_molar_mass")
HEXAHYDRATE = constant("hexahydrate_molar_mass")
MODULUS = constant("baume_modulus")
WATER_60F = constant("water_density_at_60_fahrenheit")
SIXTY_FAHRENHEIT = constant("baume_temperature")
ANHYDROUS_SHARE = float((FERRIC_CHLORIDE / HEXAHYDRATE).to(ONE).magnitude)
KG_M3 = unit("kg/m^3")


def _density(fraction, celsius):
    return mixture.density({"FeCl3": fraction}, celsius)


def _solved(target, low: float, high: float, rising):
    """Return x with rising(x) = target, by sixty bisections of arrays; nan beyond the ends."""
    target = np.asarray(target, dtype=float)
    a, b = np.full(target.shape, low), np.full(target.shape, high)
    outside = ~((target >= rising(a)) & (target <= rising(b)))  # nan is outside too
    for _ in range(60):
        middle = (a + b) / 2
        below = rising(middle) < target
        a, b = np.where(below, middle, a), np.where(below, b, middle)
    return np.where(outside, np.nan, (a + b) / 2)


@formula(
    source="laliberte_density",
    method="the mass fraction at which a litre of etchant holds that mass of crystals, "
    "found by bisection on the density of the mixture model",
)
def etchant_mass_fraction(*, strength, mixing_temperature):
    """Return the mass fraction of anhydrous FeCl3 in an etchant made up to volume.

    Parameters
    ----------
    strength : Quantity
        Mass of hexahydrate in a litre of etchant. The 0.3999 of the crystals
        that is water counts as water.
    mixing_temperature : Quantity
        Temperature at which the volume is read.

    Returns
    -------
    Quantity
        Dimensionless; nan beyond a mass fraction of 0.6.
    """
    per_volume = strength.to(KG_M3).magnitude * ANHYDROUS_SHARE
    celsius = mixing_temperature.to(CELSIUS).magnitude
    return Quantity(_solved(per_volume, 0.0, 0.6, lambda w: w * _density(w, celsius)), ONE)


@formula(
    source="laliberte_density",
    method="mixture model of Laliberté and Cooper, fitted to measured densities",
)
def etchant_density(*, mass_fraction, temperature):
    """Return the density of a ferric chloride solution.

    Parameters
    ----------
    mass_fraction : Quantity
        Anhydrous FeCl3, 0 to 0.5.
    temperature : Quantity
        0 to 35 °C; warmer is an extrapolation.
    """
    return Quantity(
        _density(mass_fraction.to(ONE).magnitude, temperature.to(CELSIUS).magnitude), KG_M3
    )


@formula(
    source="baume", method="modulus 145 on the specific gravity at 60/60 °F from the mixture model"
)
def etchant_baume(*, mass_fraction):
    """Return the degrees Baumé (US, heavy liquids) of a ferric chloride solution at 60 °F."""
    celsius = SIXTY_FAHRENHEIT.to(CELSIUS).magnitude
    density = Quantity(_density(mass_fraction.to(ONE).magnitude, celsius), KG_M3)
    return baume(specific_gravity=density / WATER_60F)


@formula(source="baume")
def baume(*, specific_gravity):
    """Return degrees Baumé, heavy liquids, from a specific gravity at 60/60 °F."""
    return MODULUS - MODULUS / specific_gravity


@formula(source="baume")
def specific_gravity(*, baume):
    """Return the specific gravity at 60/60 °F from degrees Baumé, heavy liquids."""
    return MODULUS / (MODULUS - baume)


@formula(
    source="laliberte_density",
    method="the mass fraction of ferric chloride whose density at 60 °F is that specific gravity, "
    "by bisection on the mixture model; fresh etchant only, since dissolved metal reads too",
)
def mass_fraction(*, specific_gravity):
    """Return the mass fraction of a fresh ferric chloride solution from its specific gravity.

    Returns
    -------
    Quantity
        Dimensionless; nan where no ferric chloride solution to 0.6 is so dense.
    """
    celsius = SIXTY_FAHRENHEIT.to(CELSIUS).magnitude
    target = (specific_gravity * WATER_60F).to(KG_M3).magnitude
    return Quantity(_solved(target, 0.0, 0.6, lambda w: _density(w, celsius)), ONE)


@formula(source="mass_balance")
def mass_fraction_of_crystals(*, crystal_share):
    """Return the mass fraction of anhydrous FeCl3 where a mass percentage means the crystals."""
    return crystal_share * FERRIC_CHLORIDE / HEXAHYDRATE


@formula(source="mass_balance")
def mixed_mass_fraction(*, etchant_crystals, etchant_water):
    """Return the mass fraction of anhydrous FeCl3 in crystals and water weighed together."""
    return etchant_crystals * FERRIC_CHLORIDE / HEXAHYDRATE / (etchant_crystals + etchant_water)


@formula(source="mass_balance")
def strength_at_mass_fraction(*, mass_fraction, etchant_density):
    """Return the crystals in a litre of fresh etchant, from its mass fraction.

    Parameters
    ----------
    mass_fraction : Quantity
        Anhydrous FeCl3.
    etchant_density : Quantity
        Of that etchant, at the temperature at which its volume is read.
    """
    return mass_fraction * etchant_density * HEXAHYDRATE / FERRIC_CHLORIDE


@formula(source="mass_balance")
def strength_at_concentration(*, ferric_concentration):
    """Return the crystals in a litre of fresh etchant, from its molarity."""
    return ferric_concentration * HEXAHYDRATE


@formula(source="mass_balance")
def etchant_crystals(*, etchant_volume, strength):
    """Return the mass of hexahydrate for a volume of etchant at a strength."""
    return etchant_volume * strength


@formula(source="mass_balance")
def etchant_water(*, etchant_volume, etchant_density, etchant_crystals):
    """Return the mass of water that makes the crystals up to the volume."""
    return etchant_volume * etchant_density - etchant_crystals


@formula(source="mass_balance")
def crystal_water(*, etchant_crystals):
    """Return the mass of water within the hexahydrate crystals."""
    return etchant_crystals * (1 - FERRIC_CHLORIDE / HEXAHYDRATE)


@formula(source="mass_balance")
def dilution_water(*, etchant_mass, mass_fraction, wanted_mass_fraction):
    """Return the mass of water that dilutes an etchant; by mass, since volumes do not add.

    Negative where the wanted fraction is the stronger.
    """
    return etchant_mass * (mass_fraction / wanted_mass_fraction - 1)


@formula(source="mass_balance")
def molality(*, mass_fraction):
    """Return moles of FeCl3 to a kilogram of water."""
    return mass_fraction / ((1 - mass_fraction) * FERRIC_CHLORIDE)


@formula(source="mass_balance")
def ferric_concentration(*, mass_fraction, etchant_density):
    """Return moles of ferric ion in a volume of etchant."""
    return mass_fraction * etchant_density / FERRIC_CHLORIDE
