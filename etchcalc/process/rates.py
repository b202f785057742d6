"""How fast a tray etches: reaction and transport as resistances in series.

Ferric ions must reach the metal and react there. Each of the two is a
velocity (flux over concentration); the slower one rules. Transport is free
convection, for the spent liquor is denser than the bath: it sinks away from
a face that looks down, runs down one on edge, and lies on one that looks up.
"""

import numpy as np

from etchcalc.core import tables
from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.core.units import CELSIUS, KELVIN, ONE, Quantity, unit
from etchcalc.process import mixture

COPPER = constant("copper_molar_mass")
ZINC = constant("zinc_molar_mass")
FERRIC_CHLORIDE = constant("ferric_chloride_molar_mass")
GRAVITY = constant("gravity")
DIFFUSIVITY = constant("ferric_diffusivity_in_water")
WATER_VISCOSITY = constant("water_viscosity_reference")
REFERENCE = constant("reference_temperature")
OPEN_PLATE = constant("open_plate_coefficient")
NARROW_LINE = constant("narrow_line_coefficient")
ON_EDGE = constant("on_edge_coefficient")
FACE_UP = constant("face_up_coefficient")
AT_MAXIMUM = constant("rate_at_maximum")

KG_M3, MOLAL, METRE = unit("kg/m^3"), unit("mol/kg"), unit("m")
MILLIPASCAL_SECOND, VELOCITY = unit("mPa*s"), unit("m/s")
AREA_TIME, MOL_M3 = unit("m^2/s"), unit("mol/m^3")
# a root of mixed prefixes leaves exponents such as 0.3333 that no longer cancel
VELOCITY_CUBED, VELOCITY_FOURTH = unit("m^3/s^3"), unit("m^4/s^4")
KINETIC = unit("mg*kg/cm^2/s/mol")

_KINETICS = tables.rows("kinetics.csv")
_KELVINS = np.array([float(row["temperature"]) + 273.15 for row in _KINETICS])
_CONSTANTS = np.array([float(row["constant"]) for row in _KINETICS])
KINETIC_RANGE = (_KELVINS[0] - 273.15, _KELVINS[-1] - 273.15)
_SLICES = (np.arange(12) + 0.5) / 12


@formula(
    source="laliberte_viscosity",
    method="mixture model of Laliberté, fitted to measured viscosities",
)
def viscosity(*, mass_fraction, temperature):
    """Return the viscosity of a fresh ferric chloride solution.

    Parameters
    ----------
    mass_fraction : Quantity
        Anhydrous FeCl3, to 0.43.
    temperature : Quantity
        0 to 35 °C; warmer is an extrapolation.
    """
    fractions = {"FeCl3": mass_fraction.to(ONE).magnitude}
    return Quantity(
        mixture.viscosity(fractions, temperature.to(CELSIUS).magnitude), MILLIPASCAL_SECOND
    )


@formula(
    source="laliberte_density",
    method="density of the liquor in which every ferric ion has become ferrous and taken up its half "
    "atom of metal, less the density of the bath, both by the mixture model",
)
def density_rise(*, mass_fraction, bath_spent_share, temperature, copper_atom_share):
    """Return how much denser than the bath the spent liquor at the metal is.

    Parameters
    ----------
    mass_fraction : Quantity
        Of the etchant when it was fresh.
    bath_spent_share : Quantity
        Share of its ferric spent before.
    temperature : Quantity
    copper_atom_share : Quantity
        Of the metal; metals other than copper count as zinc.
    """
    w, s = mass_fraction.to(ONE).magnitude, bath_spent_share.to(ONE).magnitude
    celsius = temperature.to(CELSIUS).magnitude
    copper = copper_atom_share.to(ONE).magnitude
    spent, bath = mixture.used(w, 1.0, copper), mixture.used(w, s, copper)
    return Quantity(mixture.density(spent, celsius) - mixture.density(bath, celsius), KG_M3)


@formula(source="stokes_einstein")
def ferric_diffusivity(*, temperature, viscosity):
    """Return the diffusivity of ferric ions, scaled from water at 25 °C by Stokes-Einstein."""
    return DIFFUSIVITY * (temperature.to(KELVIN) / REFERENCE) * (WATER_VISCOSITY / viscosity)


@formula(
    source="bryce_berk",
    method="between the published constants at 30, 40 and 50 °C on a straight line of ln k against "
    "1/T; colder and warmer along the nearer of the two lines",
)
def reaction_constant(*, temperature):
    """Return the first-order rate constant of copper in stirred ferric chloride.

    Published at 30, 40 and 50 °C only; the three do not lie on one Arrhenius
    line. Elsewhere in 5 to 60 °C it is an extrapolation.
    """
    x = 1 / np.asarray(temperature.to(KELVIN).magnitude, dtype=float)
    knots, logs = 1 / _KELVINS, np.log(_CONSTANTS)
    slopes = np.diff(logs) / np.diff(knots)
    warm = x < knots[1]
    value = logs[1] + (x - knots[1]) * np.where(warm, slopes[1], slopes[0])
    return Quantity(np.exp(value), KINETIC)


@formula(
    source="kinetic_shape",
    status="worked out",
    method="rate constant times molality to 1 mol/kg; from there a smooth curve to the published "
    "maximum at 2 mol/kg and gently down beyond it; as ferric ions taken up, for any alloy",
)
def reaction_velocity(*, reaction_constant, molality, ferric_concentration):
    """Return the velocity at which the reaction alone takes up ferric ions.

    The published rate is of copper; an alloy is taken to use as many ferric
    ions. Above 1 mol/kg only the place of the maximum is published.
    """
    b = np.asarray(molality.to(MOLAL).magnitude, dtype=float)
    top = AT_MAXIMUM.magnitude
    climb = b - np.clip(b - 1, 0, 1) ** 2 / 2 * 2 * (2 - top)
    effective = np.where(b <= 2, climb, top * b / (1 + (b / 2) ** 2))
    flux = 2 * reaction_constant * Quantity(effective, MOLAL) / COPPER
    return (flux / ferric_concentration).to(VELOCITY)


@formula(source="open_plate")
def open_plate_velocity(*, density_rise, viscosity, ferric_diffusivity):
    """Return the transfer velocity to a wide field face down, 0.15 Ra^(1/3)."""
    return OPEN_PLATE * (GRAVITY * density_rise * ferric_diffusivity**2 / viscosity).to(
        VELOCITY_CUBED
    ) ** (1 / 3)


@formula(source="narrow_line")
def narrow_line_velocity(*, density_rise, viscosity, ferric_diffusivity, line_width):
    """Return the transfer velocity to a line face down, 0.54 Ra^(1/4) with L = w/2."""
    return NARROW_LINE * (
        2 * GRAVITY * density_rise * ferric_diffusivity**3 / (viscosity * line_width)
    ).to(VELOCITY_FOURTH) ** (1 / 4)


@formula(source="narrow_line")
def face_down_velocity(*, open_plate_velocity, narrow_line_velocity):
    """Return the transfer velocity to a line or field face down: the faster of the two laws."""
    return np.maximum(open_plate_velocity, narrow_line_velocity)


@formula(source="on_edge")
def on_edge_velocity(*, density_rise, viscosity, ferric_diffusivity, line_width):
    """Return the transfer velocity to a plate on edge, 0.67 (Sc Gr)^(1/4) with L = w.

    Parameters
    ----------
    density_rise, viscosity, ferric_diffusivity : Quantity
        Of the bath.
    line_width : Quantity
        Height of the open element: of a line that lies across, its width; of a field, the plate's
        height. A line that stands upright is reached more slowly than this.
    """
    return ON_EDGE * (GRAVITY * density_rise * ferric_diffusivity**3 / (viscosity * line_width)).to(
        VELOCITY_FOURTH
    ) ** (1 / 4)


@formula(source="face_up")
def face_up_velocity(*, density_rise, viscosity, ferric_diffusivity, line_width):
    """Return the transfer velocity to a line or field face up, 0.27 Ra^(1/4) with L = w/2."""
    return FACE_UP * (
        2 * GRAVITY * density_rise * ferric_diffusivity**3 / (viscosity * line_width)
    ).to(VELOCITY_FOURTH) ** (1 / 4)


@formula(source="rocking")
def transport_velocity(*, still_velocity, rocking_gain):
    """Return the transfer velocity to a line or field of a plate that is moved.

    Parameters
    ----------
    still_velocity : Quantity
        As the plate lies: face down, on edge or face up.
    rocking_gain : Quantity
        1 tilted by hand; `rocking_gain_by_motor` of the constants where a motor rocks the tray.
    """
    return still_velocity * rocking_gain


@formula(source="turnover")
def recess_number(
    *, density_rise, line_width, depth, viscosity, ferric_diffusivity, groove_turning
):
    """Return the number that tells whether the liquor in a groove turns over (about 40).

    Face up it cannot, since the denser liquor lies below: `groove_turning` is then 0.
    """
    return (
        groove_turning
        * GRAVITY
        * density_rise
        * line_width**2
        * depth
        / (12 * viscosity * ferric_diffusivity)
    )


def _renewal(number):
    """Return how much better than diffusion a groove is renewed: 1 to 20, 3 at 40, rising."""
    return np.where(number < 40, np.clip(1 + (number - 20) / 10, 1, None), 2.75 + 0.0069 * number)


@formula(
    source="turnover",
    method="ferric flux through three resistances in series (reaction, transport to the plate, the "
    "groove itself where its liquor turns over or not), turned into metal",
)
def local_rate(
    *,
    depth,
    line_width,
    reaction_velocity,
    transport_velocity,
    density_rise,
    viscosity,
    ferric_diffusivity,
    ferric_concentration,
    ferric_demand,
    groove_turning,
    rate_correction,
):
    """Return how fast a groove of that depth deepens in a bath that does not tire.

    Parameters are those of `fresh_rate`.
    """
    number = recess_number(
        density_rise=density_rise,
        line_width=line_width,
        depth=depth,
        viscosity=viscosity,
        ferric_diffusivity=ferric_diffusivity,
        groove_turning=groove_turning,
    )
    outside = 1 / reaction_velocity.to(VELOCITY).magnitude
    outside = outside + 1 / transport_velocity.to(VELOCITY).magnitude
    share = ferric_concentration.to(MOL_M3).magnitude / ferric_demand.to(MOL_M3).magnitude
    diffusivity = ferric_diffusivity.to(AREA_TIME).magnitude
    groove = depth.to(METRE).magnitude / (_renewal(number.to(ONE).magnitude) * diffusivity)
    return Quantity(share / (outside + groove), VELOCITY) * rate_correction


@formula(
    source="turnover",
    method="rate at each of twelve slices of the depth, by the formula of the rate at a depth, and the "
    "depth over the sum of their times",
)
def fresh_rate(
    *,
    depth,
    line_width,
    reaction_velocity,
    transport_velocity,
    density_rise,
    viscosity,
    ferric_diffusivity,
    ferric_concentration,
    ferric_demand,
    groove_turning,
    rate_correction,
):
    """Return the mean rate over a depth in a bath that does not tire.

    Parameters
    ----------
    depth, line_width : Quantity
        Of the groove; broadcast with the other arrays.
    reaction_velocity, transport_velocity : Quantity
        Of the two processes in series.
    density_rise, viscosity, ferric_diffusivity, ferric_concentration : Quantity
        Of the bath.
    ferric_demand : Quantity
        Ferric ions that a volume of the metal takes.
    groove_turning : Quantity
        1 face down or on edge; 0 face up, where a groove is only diffused through.
    rate_correction : Quantity
        The shop's own rate over this one; 1 before any reading, its spread
        of ln(rate) 0.45.
    """
    known = {
        "line_width": line_width,
        "reaction_velocity": reaction_velocity,
        "transport_velocity": transport_velocity,
        "density_rise": density_rise,
        "viscosity": viscosity,
        "ferric_diffusivity": ferric_diffusivity,
        "ferric_concentration": ferric_concentration,
        "ferric_demand": ferric_demand,
        "groove_turning": groove_turning,
        "rate_correction": rate_correction,
    }
    dimensions = max(np.ndim(q.magnitude) for q in (depth, *known.values()))
    slices = _SLICES.reshape((-1,) + (1,) * dimensions)
    return 1 / (1 / local_rate(depth=slices * depth, **known)).mean(axis=0)
