"""What a job takes out of the bath: metal dissolved, ferric used and left."""

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
def ferric_left(*, ferric_in_bath, ferric_used):
    """Return the hexahydrate left; negative where the bath cannot do the job."""
    return ferric_in_bath - ferric_used


@formula(source="mass_balance")
def spent_share(*, ferric_used, ferric_in_bath):
    """Return the share of the ferric used up by the commission."""
    return ferric_used / ferric_in_bath


@formula(source="discard")
def plates_to_come(*, ferric_in_bath, practical_stop, ferric_used, plate_count):
    """Return how many further plates like this the bath does before it is refreshed."""
    return plate_count * (practical_stop * ferric_in_bath - ferric_used) / ferric_used


@formula(source="mass_balance")
def bath_copper_after(*, metal_removed, copper_share, etchant_volume):
    """Return the copper in a litre of the bath after the commission, begun fresh."""
    return metal_removed * copper_share / etchant_volume
