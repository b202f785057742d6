"""What a bath is now: the mixture that a used bath is, what a hydrometer tells of it, topping up.

A bath is kept as what it was when fresh (`strength`, or by mass
`mass_fraction`) and the share of its ferric that metal has spent since. Fe and
Cl of the crystals, the water and the metal are conserved: M + 2 FeCl3 → MCl2 +
2 FeCl2. Metals other than copper count as zinc, by number of atoms.
"""

import numpy as np

from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.core.units import CELSIUS, KELVIN, ONE, Quantity, unit
from etchcalc.process import mixture
from etchcalc.process.solutions import ANHYDROUS_SHARE, _solved

FERRIC_CHLORIDE = constant("ferric_chloride_molar_mass")
HEXAHYDRATE = constant("hexahydrate_molar_mass")
CHLORINE = constant("chlorine_molar_mass")
COPPER = constant("copper_molar_mass")
ZINC = constant("zinc_molar_mass")
MODULUS = constant("baume_modulus")
WATER_60F = constant("water_density_at_60_fahrenheit")
SIXTY_FAHRENHEIT = constant("baume_temperature")
GLASS_EXPANSION = constant("glass_expansion")
MOST_SPENT = constant("most_spent")
KG_M3, KG, MILLIPASCAL_SECOND = unit("kg/m^3"), unit("kg"), unit("mPa*s")

_SIXTY = SIXTY_FAHRENHEIT.to(CELSIUS).magnitude
_WATER = WATER_60F.to(KG_M3).magnitude


# what a used bath is


@formula(source="mass_balance")
def metal_in_bath(*, metal_dissolved, whole_bath):
    """Return the metal dissolved to a litre of the etchant as it was fresh."""
    return metal_dissolved / whole_bath


@formula(source="stoichiometry")
def strength_spent(*, metal_in_bath, metal_density, ferric_demand):
    """Return the crystals in a litre that the metal dissolved since has used up.

    Parameters
    ----------
    metal_in_bath : Quantity
        Mass of metal, to a litre of the etchant as it was fresh.
    metal_density, ferric_demand : Quantity
        Of that metal.
    """
    return metal_in_bath / metal_density * ferric_demand * HEXAHYDRATE


@formula(
    source="stoichiometry",
    method="crystals used up over the crystals of the fresh etchant; not a number where more metal is "
    "said than the ferric can take",
)
def bath_spent_share(*, strength, strength_spent):
    """Return the share of the ferric spent so far.

    Returns
    -------
    Quantity
        Dimensionless, 0 to 1; nan where more metal is said than the ferric of
        the fresh etchant can take, and nan is what the mixture then is too.
    """
    share = np.asarray((strength_spent / strength).to(ONE).magnitude, dtype=float)
    # a hair more, for a bath that is spent to the last ion
    return Quantity(np.where(share > 1 + 1e-9, np.nan, np.minimum(share, 1)), ONE)


@formula(source="mass_balance")
def strength_left(*, strength, bath_spent_share):
    """Return the crystals not yet used up, in a litre."""
    return strength * (1 - bath_spent_share)


@formula(source="stoichiometry")
def metal_to_etchant(*, mass_fraction, bath_spent_share, copper_atom_share):
    """Return the metal dissolved over the mass of the etchant as it was fresh."""
    return (
        mass_fraction
        * bath_spent_share
        * (copper_atom_share * COPPER + (1 - copper_atom_share) * ZINC)
        / (2 * FERRIC_CHLORIDE)
    )


@formula(source="mass_balance")
def ferric_fraction(*, mass_fraction, bath_spent_share, metal_to_etchant):
    """Return the mass fraction of FeCl3 left in the bath."""
    return mass_fraction * (1 - bath_spent_share) / (1 + metal_to_etchant)


@formula(source="mass_balance")
def ferrous_fraction(*, mass_fraction, bath_spent_share, metal_to_etchant):
    """Return the mass fraction of FeCl2 in the bath: one for each ferric ion spent."""
    return (
        mass_fraction
        * bath_spent_share
        * (FERRIC_CHLORIDE - CHLORINE)
        / FERRIC_CHLORIDE
        / (1 + metal_to_etchant)
    )


@formula(source="mass_balance")
def cupric_fraction(*, mass_fraction, bath_spent_share, copper_atom_share, metal_to_etchant):
    """Return the mass fraction of CuCl2 in the bath: one for every two ferric ions spent on copper."""
    return (
        mass_fraction
        * bath_spent_share
        * copper_atom_share
        * (COPPER + 2 * CHLORINE)
        / (2 * FERRIC_CHLORIDE)
        / (1 + metal_to_etchant)
    )


@formula(source="mass_balance")
def zinc_fraction(*, mass_fraction, bath_spent_share, copper_atom_share, metal_to_etchant):
    """Return the mass fraction of ZnCl2 in the bath; metals other than copper count as zinc."""
    return (
        mass_fraction
        * bath_spent_share
        * (1 - copper_atom_share)
        * (ZINC + 2 * CHLORINE)
        / (2 * FERRIC_CHLORIDE)
        / (1 + metal_to_etchant)
    )


def _of(*four):
    """Return the mixture model's fractions from four quantities."""
    return {s: q.to(ONE).magnitude for s, q in zip(mixture.SALTS, four, strict=True)}


def outside_fits(what: str, fractions: dict, celsius) -> tuple[str, ...]:
    """Tell which salts of a mixture are beyond the data of their fit, anywhere in the arrays.

    Parameters
    ----------
    what : {"density", "viscosity"}
    fractions : dict of str to array
        Mass fraction of each salt, bare; a salt of which there is none is not told.
    celsius : array
    """
    return tuple(
        salt
        for salt, fraction in fractions.items()
        if any(
            w > 0 and mixture.outside_fit(salt, what, float(w), float(t))
            for w, t in np.nditer([np.asarray(fraction, float), np.asarray(celsius, float)])
        )
    )


@formula(source="mass_balance")
def used_molality(*, ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction):
    """Return the ferric chloride left, to a kilogram of the water in the bath."""
    return (
        ferric_fraction
        / (1 - ferric_fraction - ferrous_fraction - cupric_fraction - zinc_fraction)
        / FERRIC_CHLORIDE
    )


@formula(
    source="laliberte_density",
    method="mixture model of Laliberté and Cooper over the four chlorides",
)
def used_density(*, ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction, temperature):
    """Return the density of the bath as it is now.

    The fits reach 35 °C for ferric chloride and 21 % of ferrous chloride:
    `outside_fits` tells.
    """
    fractions = _of(ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction)
    return Quantity(mixture.density(fractions, temperature.to(CELSIUS).magnitude), KG_M3)


@formula(
    source="laliberte_viscosity",
    method="mixture model of Laliberté over the four chlorides",
)
def used_viscosity(
    *, ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction, temperature
):
    """Return the viscosity of the bath as it is now.

    Nearly every used bath lies outside the fits (3.7 % of ferrous chloride,
    zinc chloride at 25 °C only): `outside_fits` tells.
    """
    fractions = _of(ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction)
    celsius = temperature.to(CELSIUS).magnitude
    return Quantity(mixture.viscosity(fractions, celsius), MILLIPASCAL_SECOND)


@formula(
    source="laliberte_density",
    method="density at 60 °F by the mixture model over the four chlorides, over that of water",
)
def used_specific_gravity(*, ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction):
    """Return the specific gravity of the bath at 60/60 °F: it tells metal as well as ferric."""
    fractions = _of(ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction)
    return Quantity(mixture.density(fractions, _SIXTY) / _WATER, ONE)


# a hydrometer of glass, marked for 60 °F


@formula(source="flotation", method="density of water at that temperature, by the mixture model")
def check_water_density(*, check_temperature):
    """Return the density of clean water, in which a hydrometer can be checked."""
    return Quantity(mixture.water_density(check_temperature.to(CELSIUS).magnitude), KG_M3)


@formula(source="flotation")
def hydrometer_error(*, check_reading, check_density, check_temperature):
    """Return the degrees Baumé that a hydrometer shows too many, found in a liquid of known density.

    A scale that has slipped in the stem is wrong by the same number of Baumé
    degrees everywhere, since they are equal lengths of stem.

    Parameters
    ----------
    check_reading : Quantity
        Degrees Baumé shown in that liquid.
    check_density : Quantity
        Of clean water (`check_water_density`) or a known salt solution.
    check_temperature : Quantity
        Of the liquid.
    """
    true_reading = MODULUS - MODULUS * WATER_60F / (
        check_density * (1 + GLASS_EXPANSION * (check_temperature.to(KELVIN) - SIXTY_FAHRENHEIT))
    )
    return check_reading - true_reading


@formula(source="flotation")
def true_density(*, hydrometer_reading, hydrometer_error, reading_temperature):
    """Return the density of the bath at the temperature it was read at.

    The warm glass displaces a little more than when it was marked at 60 °F.
    """
    read_gravity = MODULUS / (MODULUS - hydrometer_reading + hydrometer_error)
    return (
        read_gravity
        * WATER_60F
        / (1 + GLASS_EXPANSION * (reading_temperature.to(KELVIN) - SIXTY_FAHRENHEIT))
    )


def _fraction(density, celsius, spent, copper):
    """Return the fresh mass fraction of the bath, so far spent, that has a density; nan if none."""
    spent, copper = (q.to(ONE).magnitude for q in (spent, copper))
    return _solved(
        density, 0.0, 0.6, lambda w: mixture.density(mixture.used(w, spent, copper), celsius)
    ), (spent, copper)


@formula(
    source="laliberte_density",
    method="the bath of that share spent that has that density at the temperature of reading, by "
    "bisection on the mixture model; its density at 60 °F over that of water",
)
def corrected_gravity(*, true_density, reading_temperature, bath_spent_share, copper_atom_share):
    """Return the specific gravity at 60/60 °F of a bath read warm.

    Parameters
    ----------
    true_density : Quantity
        At the temperature of reading.
    reading_temperature : Quantity
        To 35 °C; warmer is an extrapolation.
    bath_spent_share, copper_atom_share : Quantity
        Nothing for the share where it is not known: to 50 °C a bath that is
        spent then comes out too light, by at most 0.2 °Bé.

    Returns
    -------
    Quantity
        Dimensionless; nan where no such bath is so dense or so thin.
    """
    w, used = _fraction(
        true_density.to(KG_M3).magnitude,
        reading_temperature.to(CELSIUS).magnitude,
        bath_spent_share,
        copper_atom_share,
    )
    return Quantity(mixture.density(mixture.used(w, *used), _SIXTY) / _WATER, ONE)


@formula(
    source="laliberte_density",
    method="the bath of that share spent that has that specific gravity at 60 °F, by bisection on the "
    "mixture model; its density when warm, as a hydrometer of glass with that error shows it",
)
def warm_reading(
    *,
    corrected_gravity,
    reading_temperature,
    bath_spent_share,
    copper_atom_share,
    hydrometer_error,
):
    """Return the degrees Baumé that the hydrometer will show in the warm bath.

    The way back of `true_density` and `corrected_gravity`.
    """
    gravity = corrected_gravity.to(ONE).magnitude
    w, used = _fraction(gravity * _WATER, _SIXTY, bath_spent_share, copper_atom_share)
    warm = mixture.density(mixture.used(w, *used), reading_temperature.to(CELSIUS).magnitude)
    glass = GLASS_EXPANSION * (reading_temperature.to(KELVIN) - SIXTY_FAHRENHEIT)
    return MODULUS - MODULUS * _WATER / (warm * (1 + glass)) + hydrometer_error.to(ONE)


# what one reading allows, and what a second fact makes of it


def _strength(w, celsius):
    """Return the crystals in a litre (bare, g/L) at a mass fraction of fresh etchant."""
    return w * mixture.density({"FeCl3": w}, celsius) / ANHYDROUS_SHARE


def _fresh(gravity, spent_at, copper, temperature):
    """Return the strength when fresh of a bath whose share spent hangs on that strength."""
    copper, celsius = copper.to(ONE).magnitude, temperature.to(CELSIUS).magnitude

    def reads(w):
        spent = np.clip(spent_at(np.maximum(_strength(w, celsius), 1e-12)), 0, 1)
        return mixture.density(mixture.used(w, spent, copper), _SIXTY)

    return _strength(_solved(gravity.to(ONE).magnitude * _WATER, 0.0, 0.6, reads), celsius)


@formula(
    source="laliberte_density",
    method="the strength at which a bath of that share spent has that specific gravity, by bisection "
    "on the mixture model",
)
def strength_when_fresh(
    *, corrected_gravity, bath_spent_share, copper_atom_share, mixing_temperature
):
    """Return the strength when fresh, for a reading and a share of the ferric spent.

    One reading allows every pair of the two: with nothing spent this is the
    strength of an unused bath.

    Returns
    -------
    Quantity
        nan where no such bath to a mass fraction of 0.6 is so dense.
    """
    spent = bath_spent_share.to(ONE).magnitude
    found = _fresh(corrected_gravity, lambda strength: spent, copper_atom_share, mixing_temperature)
    return Quantity(found, KG_M3)


@formula(
    source="laliberte_density",
    method="the strength at which a bath with so much used up has that specific gravity, by bisection "
    "on the mixture model",
)
def strength_by_metal(*, corrected_gravity, strength_spent, copper_atom_share, mixing_temperature):
    """Return the strength when fresh, for a reading and the crystals that metal has used up.

    Returns
    -------
    Quantity
        nan where a bath that had dissolved so much would read heavier, however
        weak it was.
    """
    spent = strength_spent.to(KG_M3).magnitude
    found = _fresh(
        corrected_gravity, lambda strength: spent / strength, copper_atom_share, mixing_temperature
    )
    return Quantity(np.where(found < spent * (1 - 1e-9), np.nan, found), KG_M3)


@formula(
    source="laliberte_density",
    method="the strength at which a bath with so much left has that specific gravity, by bisection on "
    "the mixture model",
)
def strength_by_trial(*, corrected_gravity, strength_left, copper_atom_share, mixing_temperature):
    """Return the strength when fresh, for a reading and the crystals left in a litre.

    Returns
    -------
    Quantity
        nan where a fresh bath of what is left alone would read heavier.
    """
    left = strength_left.to(KG_M3).magnitude
    found = _fresh(
        corrected_gravity,
        lambda strength: 1 - left / strength,
        copper_atom_share,
        mixing_temperature,
    )
    return Quantity(np.where(found < left * (1 - 1e-9), np.nan, found), KG_M3)


@formula(source="stoichiometry")
def trial_strength_left(*, copper_lost, sample_volume):
    """Return the crystals left in a litre of a bath, from copper left in a warm sample overnight.

    An upper bound: cupric chloride attacks copper too.
    """
    return copper_lost * (2 * HEXAHYDRATE / COPPER) / sample_volume


@formula(source="stoichiometry")
def crystals_left(*, copper_lost, etchant_volume, sample_volume):
    """Return the crystals left in the bath, from copper left in a warm sample overnight.

    An upper bound: cupric chloride attacks copper too.
    """
    return copper_lost * (2 * HEXAHYDRATE / COPPER) * (etchant_volume / sample_volume)


@formula(source="mass_balance")
def spent_by_trial(*, strength, strength_left):
    """Return the crystals used up in a litre, for those left by the trial with copper."""
    return strength - strength_left


@formula(source="first_order_tiring", status="assumed")
def spent_by_strip(*, strip_share):
    """Return the share of the ferric spent: the rate is taken to fall with the ferric left.

    Parameters
    ----------
    strip_share : Quantity
        Depth of a test strip in this bath over that of the same strip in the fresh one, after the
        same time at the same temperature.
    """
    return 1 - strip_share


@formula(source="shelf", status="assumed")
def spent_guess(*, spent_place):
    """Return the share of the ferric spent of a bath about which nothing is written."""
    return spent_place * MOST_SPENT


# topping up: masses add, atoms are kept


@formula(source="mass_balance")
def etchant_mass_kept(*, etchant_volume, used_density, metal_to_etchant, replaced_share):
    """Return the mass of the bath that is kept, its dissolved metal not counted."""
    return etchant_volume * used_density / (1 + metal_to_etchant) * (1 - replaced_share)


@formula(source="mass_balance")
def topped_mass_fraction(*, etchant_mass_kept, mass_fraction, added_crystals, added_water):
    """Return the mass fraction, as if fresh, after crystals and water were put in."""
    return (etchant_mass_kept * mass_fraction + added_crystals * FERRIC_CHLORIDE / HEXAHYDRATE) / (
        etchant_mass_kept + added_crystals + added_water
    )


@formula(
    source="laliberte_density",
    method="mass fraction times density of the fresh etchant by the mixture model, as crystals",
)
def topped_strength(*, topped_mass_fraction, mixing_temperature):
    """Return the strength, as if fresh, after topping up."""
    w, celsius = topped_mass_fraction.to(ONE).magnitude, mixing_temperature.to(CELSIUS).magnitude
    return Quantity(_strength(w, celsius), KG_M3)


@formula(source="mass_balance")
def topped_crystals(*, etchant_mass_kept, mass_fraction, added_crystals):
    """Return the crystals in the bath after topping up, those used up included."""
    return etchant_mass_kept * mass_fraction * HEXAHYDRATE / FERRIC_CHLORIDE + added_crystals


@formula(source="mass_balance")
def topped_spent_share(*, etchant_mass_kept, mass_fraction, bath_spent_share, topped_crystals):
    """Return the share of the ferric that is spent after topping up."""
    return (
        etchant_mass_kept
        * mass_fraction
        * (HEXAHYDRATE / FERRIC_CHLORIDE)
        * bath_spent_share
        / topped_crystals
    )


@formula(source="mass_balance")
def topped_metal(
    *, metal_in_bath, etchant_mass_kept, etchant_density, topped_crystals, topped_strength
):
    """Return the metal in a litre of the bath after topping up, counted as the bath's was."""
    return metal_in_bath * etchant_mass_kept / etchant_density * topped_strength / topped_crystals


@formula(source="mass_balance")
def topped_volume(*, topped_crystals, topped_strength):
    """Return the volume of the bath after topping up; the metal in it hardly adds to it."""
    return topped_crystals / topped_strength


@formula(
    source="laliberte_density",
    method="the water whose loss shrinks the bath by that share of its volume at one temperature, by "
    "bisection on the mixture model",
)
def evaporated_water(
    *,
    etchant_volume,
    level_loss,
    ferric_fraction,
    ferrous_fraction,
    cupric_fraction,
    zinc_fraction,
    temperature,
):
    """Return the water that has evaporated, to be put back: it takes no salt and no metal along.

    Parameters
    ----------
    etchant_volume : Quantity
        Before.
    level_loss : Quantity
        Share of that volume which is gone.
    ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction : Quantity
        Of the bath before.
    temperature : Quantity
        At which both volumes are read.

    Returns
    -------
    Quantity
        nan where the bath has not so much water to lose.
    """
    fractions = _of(ferric_fraction, ferrous_fraction, cupric_fraction, zinc_fraction)
    celsius = temperature.to(CELSIUS).magnitude
    before = mixture.density(fractions, celsius)

    def shrunk(lost):
        left = {salt: w / (1 - lost) for salt, w in fractions.items()}
        return 1 - (1 - lost) * before / mixture.density(left, celsius)

    lost = _solved(level_loss.to(ONE).magnitude, 0.0, 0.4, shrunk)
    return etchant_volume * Quantity(lost * before, KG_M3)
