"""What a job takes out of the bath: metal dissolved, ferric used and left."""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant

HEXAHYDRATE = constant("hexahydrate_molar_mass")
COPPER = constant("copper_molar_mass")
ZINC = constant("zinc_molar_mass")
NICKEL = constant("nickel_molar_mass")
TIN = constant("tin_molar_mass")
LEAD = constant("lead_molar_mass")


@formula(source="stoichiometry")
def ferric_demand(*, metal_density, copper_share, zinc_share, nickel_share, tin_share, lead_share):
    """Return the ferric ions, two an atom, that a volume of alloy takes to dissolve."""
    return (
        2
        * metal_density
        * (
            copper_share / COPPER
            + zinc_share / ZINC
            + nickel_share / NICKEL
            + tin_share / TIN
            + lead_share / LEAD
        )
    )


@formula(source="stoichiometry")
def copper_atom_share(*, metal_density, copper_share, ferric_demand):
    """Return the share of the alloy's atoms that is copper; the others count as zinc."""
    return 2 * metal_density * copper_share / COPPER / ferric_demand


@formula(source="geometry")
def open_area_of_all(*, open_area, plate_count):
    """Return the open metal of all plates of the commission."""
    return open_area * plate_count


@formula(source="geometry")
def metal_removed(*, open_area_of_all, depth, metal_density):
    """Return the metal dissolved: open area times depth, an upper bound for sloping sides."""
    return open_area_of_all * depth * metal_density


@formula(source="stoichiometry")
def ferric_used(*, metal_removed, metal_density, ferric_demand):
    """Return the hexahydrate that the metal uses up."""
    return metal_removed / metal_density * ferric_demand * HEXAHYDRATE


@formula(source="mass_balance")
def whole_bath(*, bath_volume, etchant_volume):
    """Return the etchant that the bath has in all: what is in the bottle, at least what is poured."""
    return np.maximum(bath_volume, etchant_volume)


@formula(source="mass_balance")
def ferric_in_bath(*, etchant_volume, strength, bath_spent_share):
    """Return the hexahydrate left in the etchant poured, before the job."""
    return etchant_volume * strength * (1 - bath_spent_share)


@formula(source="mass_balance")
def ferric_left(*, crystals_when_fresh, bath_spent_share, ferric_used):
    """Return the hexahydrate left in the whole bath; negative where it cannot do the job."""
    return crystals_when_fresh * (1 - bath_spent_share) - ferric_used


@formula(source="mass_balance")
def spent_share(*, ferric_left, crystals_when_fresh):
    """Return the share of the bath's ferric that is spent after the commission."""
    return 1 - ferric_left / crystals_when_fresh


@formula(source="discard")
def plates_to_come(*, ferric_left, crystals_when_fresh, practical_stop, ferric_used, plate_count):
    """Return how many further plates like this the bath does before it is refreshed."""
    return plate_count * (ferric_left - (1 - practical_stop) * crystals_when_fresh) / ferric_used


@formula(source="stoichiometry")
def bath_copper_after(*, crystals_when_fresh, ferric_left, copper_atom_share, whole_bath):
    """Return the copper in a litre of the bath after the commission.

    What it dissolved before is taken to be the metal of this commission.
    """
    return (
        (crystals_when_fresh - ferric_left)
        / (2 * HEXAHYDRATE)
        * copper_atom_share
        * COPPER
        / whole_bath
    )
