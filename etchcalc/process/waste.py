"""Put away: what the spent bath holds, what it would take up, what the rinse carries.

All of it is for the carrier's sheet and the label. Spent etchant and rinse
water are hazardous waste that a licensed carrier takes; nothing here is a step
of the job, nor a way to treat anything at the bench.

Masses are conserved: iron, chloride and water are those of the crystals and the
water that the bath was made with, the metal is what the ferric spent has taken
up. Water that has evaporated counts as put back.
"""

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant

FERRIC_CHLORIDE = constant("ferric_chloride_molar_mass")
HEXAHYDRATE = constant("hexahydrate_molar_mass")
IRON = constant("iron_molar_mass")
CHLORINE = constant("chlorine_molar_mass")
HYDROXIDE = constant("hydroxide_molar_mass")
SODIUM_CARBONATE = constant("sodium_carbonate_molar_mass")
GAS_VOLUME = constant("gas_molar_volume")


# what the spent bath holds


@formula(source="stoichiometry")
def metal_taken_up(*, crystals_when_fresh, ferric_left, ferric_demand, metal_density):
    """Return the metal in the whole bath after the commission, for the carrier's sheet.

    What it dissolved before is taken to be the metal of this commission.

    Parameters
    ----------
    crystals_when_fresh, ferric_left : Quantity
        Of the whole bath; the difference is what metal has spent.
    ferric_demand, metal_density : Quantity
        Of the alloy.
    """
    return (crystals_when_fresh - ferric_left) / HEXAHYDRATE / ferric_demand * metal_density


@formula(source="mass_balance")
def waste_metal(*, metal_taken_up, alloy_share):
    """Return one metal of the alloy in the spent bath, by its share of what was dissolved.

    Parameters
    ----------
    metal_taken_up : Quantity
    alloy_share : Quantity
        Of that metal in the alloy, by mass: copper, zinc, nickel, tin or lead.
    """
    return metal_taken_up * alloy_share


@formula(source="mass_balance")
def waste_iron(*, crystals_when_fresh):
    """Return the iron in the spent bath, ferric and ferrous: that of its crystals."""
    return crystals_when_fresh * IRON / HEXAHYDRATE


@formula(source="mass_balance")
def waste_chloride(*, crystals_when_fresh):
    """Return the chloride in the spent bath: that of its crystals, free acid not counted."""
    return crystals_when_fresh * 3 * CHLORINE / HEXAHYDRATE


@formula(source="mass_balance")
def waste_water(*, crystals_when_fresh, mass_fraction):
    """Return the water in the spent bath, that of the crystals counted.

    Parameters
    ----------
    crystals_when_fresh : Quantity
    mass_fraction : Quantity
        Anhydrous FeCl3 in the bath as it was fresh, above nothing.
    """
    return crystals_when_fresh * FERRIC_CHLORIDE / HEXAHYDRATE * (1 / mass_fraction - 1)


@formula(source="mass_balance")
def waste_mass(*, crystals_when_fresh, mass_fraction, metal_taken_up):
    """Return the mass of the spent bath: the fresh etchant and the metal it has taken up.

    Parameters
    ----------
    crystals_when_fresh : Quantity
    mass_fraction : Quantity
        Anhydrous FeCl3 in the bath as it was fresh, above nothing.
    metal_taken_up : Quantity
    """
    return crystals_when_fresh * FERRIC_CHLORIDE / HEXAHYDRATE / mass_fraction + metal_taken_up


@formula(source="mass_balance")
def waste_in_litre(*, waste_part, whole_bath):
    """Return how much of one thing is in a litre of the spent bath, for the carrier's sheet.

    The bath's volume is taken as when fresh: dissolving brass changes it by less than a
    thousandth.
    """
    return waste_part / whole_bath


# what it would take up: an explanation of what the carrier has to deal with


@formula(source="carbonate_gas")
def soda_taken_up(*, crystals_when_fresh):
    """Return the anhydrous soda that the bath would take up in all, for the carrier's sheet.

    An explanation of why the bath is a carrier's work, never a step: the reaction froths over,
    and copper and zinc stay in what it leaves. One and a half to each ferric ion, one to each
    ferrous ion and to each ion of copper, zinc, nickel, tin or lead. Chloride is conserved, so
    that in all it is one and a half to each iron first put in, however much metal was
    dissolved; free acid is not counted.
    """
    return crystals_when_fresh / HEXAHYDRATE * 3 / 2 * SODIUM_CARBONATE


@formula(source="carbonate_gas")
def carbon_dioxide(*, soda_taken_up):
    """Return the gas, at 20 °C, that so much soda would give off: why it is never a step here."""
    return soda_taken_up / SODIUM_CARBONATE * GAS_VOLUME


@formula(source="carbonate_gas")
def sludge_when_dry(*, waste_iron, metal_taken_up, waste_chloride):
    """Return the dry hydroxides of all metals in the bath: one hydroxide for each chloride.

    For the carrier's sheet. Wet, as it settles, such a sludge is mostly water and weighs
    several times as much; it holds the copper, zinc or lead and is hazardous waste too.
    """
    return waste_iron + metal_taken_up + waste_chloride * HYDROXIDE / CHLORINE


# what the rinse carries


@formula(source="geometry")
def wetted_area(*, blank_area, plate_count):
    """Return both faces of all blanks; their edges are within the spread of the drag-out."""
    return 2 * blank_area * plate_count


@formula(source="mass_balance")
def carried_over(*, drag_out, wetted_area):
    """Return the etchant that the plates carry into the rinse, at one lift of each."""
    return drag_out * wetted_area


@formula(source="mass_balance")
def rinse_share(*, carried_over, rinse_volume):
    """Return what a litre of the rinse holds, over what a litre of the liquor before it holds.

    The plates take as much liquid out of the rinse as they bring in, well mixed.
    """
    return carried_over / (rinse_volume + carried_over)


@formula(source="mass_balance")
def rinse_copper(*, bath_copper_after, rinse_share):
    """Return the copper in a litre of the first rinse, kept for the carrier too."""
    return bath_copper_after * rinse_share


@formula(source="mass_balance")
def rinse_content(*, content_before, rinse_share):
    """Return what a litre of a rinse holds of anything that the liquor before it holds.

    Parameters
    ----------
    content_before : Quantity
        In a litre of the bath, for a first rinse: iron, zinc, lead, or the soda it would take
        up, which tells its acid. In a litre of the first rinse, for a second.
    rinse_share : Quantity
        Of the rinse asked about.
    """
    return content_before * rinse_share


@formula(source="sewer_limits")
def times_over_limit(*, content_of_rinse, sewer_limit):
    """Return how many times a published limit a rinse holds; below one is no leave to pour it.

    Parameters
    ----------
    content_of_rinse : Quantity
        Metal in a litre of it.
    sewer_limit : Quantity
        Of data/discharge_limits.csv, or of the shop's own consent. The published ones bind
        larger American works and only show the scale: what a shop may do, its own authority says.
    """
    return content_of_rinse / sewer_limit
