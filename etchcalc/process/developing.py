"""Developing and stripping with washing soda: any hydrate, any strength, saturated at any room."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant, rows
from etchcalc.core.units import CELSIUS, ONE, Quantity, unit

SODA = constant("sodium_carbonate_molar_mass")
DECAHYDRATE = constant("soda_decahydrate_molar_mass")
WATER = constant("water_molar_mass")
KG_M3 = unit("kg/m^3")


def _columns(name: str) -> np.ndarray:
    return np.array([list(row.values()) for row in rows(name)], dtype=float).T


_CELSIUS, _SOLUBLE = _columns("soda_solubility.csv")
_SHARE, _DENSITY = _columns("soda_density.csv")


@formula(source="mass_balance")
def soda_share(*, soda_waters):
    """Return the anhydrous share of a washing soda, from the water in its crystals.

    Parameters
    ----------
    soda_waters : Quantity
        10 for clear lumps (decahydrate), 1 for monohydrate, 0 for anhydrous
        powder; lumps gone white in dry air lie between 10 and 1.
    """
    return SODA / (SODA + soda_waters * WATER)


@formula(source="unknown_soda", status="assumed")
def soda_share_guess(*, soda_place):
    """Return the anhydrous share of a soda of which nobody knows which hydrate it is."""
    return SODA / DECAHYDRATE + soda_place * (1 - SODA / DECAHYDRATE)


# ---- developer


@formula(source="laliberte_density", method="table at 20 °C, straight between its rows")
def developer_density(*, developer_share):
    """Return the density of a soda solution at 20 °C, to what is saturated; at 30 °C 0.3 % less."""
    return Quantity(np.interp(developer_share.to(ONE).magnitude * 100, _SHARE, _DENSITY), KG_M3)


@formula(source="mass_balance")
def strength_of_share(*, developer_share, developer_density):
    """Return anhydrous soda in a litre of developer, from its share by mass."""
    return developer_share * developer_density


@formula(source="mass_balance")
def developer_soda(*, developer_volume, developer_strength, soda_share):
    """Return the washing soda to weigh out, as it is; make up to the volume with water."""
    return developer_volume * developer_strength / soda_share


@formula(source="mass_balance")
def made_strength(*, weighed_soda, soda_share, developer_volume):
    """Return anhydrous soda in a litre of developer, from the washing soda weighed into it."""
    return weighed_soda * soda_share / developer_volume


@formula(source="mass_balance")
def other_soda(*, weighed_soda, soda_share, other_soda_share):
    """Return the mass of another hydrate that does what the one in the recipe does."""
    return weighed_soda * soda_share / other_soda_share


@formula(source="breakpoint_rule", status="common practice")
def developing_time(*, breakpoint_time, breakpoint_share):
    """Return the developing time, from when the first bare metal shows."""
    return breakpoint_time / breakpoint_share


@formula(source="geometry")
def developer_plates(*, developer_volume, developer_allowance, blank_area):
    """Return how many plates a developer does, by an allowance of area to a litre."""
    return developer_volume * developer_allowance / blank_area


# ---- stripper


@formula(source="soda_solubility", method="published table, its logarithm straight between points")
def soda_solubility(*, room_temperature):
    """Return the anhydrous soda that water dissolves, over the mass of the water; 0 to 100 °C."""
    celsius = room_temperature.to(CELSIUS).magnitude
    return Quantity(np.exp(np.interp(celsius, _CELSIUS, np.log(_SOLUBLE))) / 100, ONE)


@formula(source="mass_balance")
def saturated_share(*, soda_solubility):
    """Return the anhydrous soda in a saturated stripper, by mass; `developer_density` takes it."""
    return soda_solubility / (1 + soda_solubility)


@formula(source="mass_balance")
def dissolving_soda(*, stripper_volume, stripper_density, saturated_share, soda_share):
    """Return the washing soda that is dissolved in a volume of saturated stripper."""
    return stripper_volume * stripper_density * saturated_share / soda_share


@formula(source="mass_balance")
def stripper_water(*, stripper_volume, stripper_density, dissolving_soda):
    """Return the water to pour, beside what the crystals bring."""
    return stripper_volume * stripper_density - dissolving_soda


@formula(source="mass_balance")
def stripper_soda(*, dissolving_soda, soda_reserve):
    """Return the washing soda for the stripper: what dissolves, and a reserve that lies below."""
    return dissolving_soda * (1 + soda_reserve)


@formula(source="mass_balance")
def soda_dropped_out(*, stripper_water, dissolving_soda, soda_share, cold_solubility):
    """Return the crystals that a saturated stripper drops when the shop cools.

    They are decahydrate, as below 32 °C, and take water out of the stripper with them.
    """
    stripper_liquid = stripper_water + dissolving_soda * (1 - soda_share)
    still_dissolved = np.minimum(cold_solubility * stripper_liquid, dissolving_soda * soda_share)
    return (dissolving_soda * soda_share - still_dissolved) / (
        SODA / DECAHYDRATE - cold_solubility * (1 - SODA / DECAHYDRATE)
    )
