"""Heat and level: what warms the tray, what it loses to the room, when the heater is bared.

The losses are those of a published table of open water tanks. Its evaporation
goes with the pressure of water vapour above that of the room, its dry losses
with the temperature above that of the room; both stay what the table says at
the table's own air. Salt lowers the vapour pressure, so the table is an upper
bound for an etchant in still air; a draught can double it.
"""

import numpy as np

from etchcalc.core import tables
from etchcalc.core.formula import formula
from etchcalc.core.tables import constant
from etchcalc.core.units import CELSIUS, HOUR, KELVIN, ONE, Quantity, first, unit

WATER_HEAT_CAPACITY = constant("water_heat_capacity")
LATENT_HEAT = constant("latent_heat_of_water")
WATER_60F = constant("water_density_at_60_fahrenheit")
TABLE_AIR = constant("open_tank_air")
ROOM_HUMIDITY = constant("room_humidity")

FLUX, WATT, METRE, JOULE_KELVIN = unit("W/m^2"), unit("W"), unit("m"), unit("J/K")
SQUARE_METRE, CUBIC_METRE_HOUR, SECOND = unit("m^2"), unit("m^3/hour"), unit("s")
HUMIDITY = float(ROOM_HUMIDITY.to(ONE).magnitude)
AIR = float(TABLE_AIR.to(CELSIUS).magnitude)
BOILING = 100.0

_ROWS = tables.rows("open_tank.csv")
_WATER = np.array([(float(row["temperature"]) - 32) / 1.8 for row in _ROWS])


def _column(name: str) -> np.ndarray:
    imperial = np.array([float(row[name]) for row in _ROWS])
    return Quantity(imperial, unit("BTU/ft^2/hour")).to(FLUX).magnitude


_EVAPORATION, _RADIATION, _WALL = _column("evaporation"), _column("radiation"), _column("wall")
_STEPS = np.linspace(0.0, 1.0, 65)


def vapour_pressure(celsius):
    """Return the pressure of saturated water vapour in Pa (Magnus, WMO coefficients)."""
    t = np.asarray(celsius, dtype=float)
    return 611.2 * np.exp(17.62 * t / (243.12 + t))


def evaporation_flux(celsius, room, humidity=HUMIDITY):
    """Return the heat in W/m² that evaporation takes from open water, temperatures in °C."""
    # beyond the rows the coefficient of the last is kept
    listed = np.clip(celsius, _WATER[0], _WATER[-1])
    driving = vapour_pressure(celsius) - humidity * vapour_pressure(room)
    driving_listed = vapour_pressure(listed) - HUMIDITY * vapour_pressure(AIR)
    return np.interp(listed, _WATER, _EVAPORATION) * driving / driving_listed


def dry_flux(celsius, room, column=_RADIATION):
    """Return the heat in W/m² that radiation and convection take, temperatures in °C."""
    listed = np.clip(celsius, _WATER[0], _WATER[-1])
    return np.interp(listed, _WATER, column) * (celsius - room) / (listed - AIR)


def _plain(quantity, of):
    return np.asarray(quantity.to(of).magnitude, dtype=float)


def _remaining(lid_cover, lid_loss):
    """Return the share of the open surface's loss that a lid leaves."""
    return 1 - _plain(lid_cover, ONE) * (1 - _plain(lid_loss, ONE))


def _areas(tray_length, tray_width, etchant_level):
    """Return the open surface and the wetted walls in m²."""
    walls = wall_area(tray_length=tray_length, tray_width=tray_width, etchant_level=etchant_level)
    return _plain(tray_length * tray_width, SQUARE_METRE), _plain(walls, SQUARE_METRE)


def _losses(room_temperature, lid_cover, lid_loss, loss_correction, surface, wall):
    """Return the loss in W as a function of the bath's temperature in °C, areas in m²."""
    room, damp = _plain(room_temperature, CELSIUS), _plain(ROOM_HUMIDITY, ONE)
    correction = _plain(loss_correction, ONE)
    open_surface = surface * _remaining(lid_cover, lid_loss)

    def loss(celsius):
        top = evaporation_flux(celsius, room, damp) + dry_flux(celsius, room)
        return correction * (open_surface * top + wall * dry_flux(celsius, room, _WALL))

    return loss


# ---- heat capacity


@formula(source="heat_capacity_bound")
def least_heat_capacity(*, mass_fraction):
    """Return the least heat capacity of an etchant: that of the water in it alone."""
    return (1 - mass_fraction) * WATER_HEAT_CAPACITY


@formula(source="heat_capacity_bound", status="assumed")
def heat_capacity(*, mass_fraction, heat_capacity_place):
    """Return the heat capacity of an etchant for a forecast, between its water's and water's own."""
    return WATER_HEAT_CAPACITY * (1 - mass_fraction * (1 - heat_capacity_place))


# ---- losses


@formula(
    source="open_tank_table",
    status="assumed",
    method="the table of open tanks, straight between its rows: evaporation by the vapour pressure "
    "above a room of half humidity, dry loss by the temperature above the room (assumed for a "
    "room that is not at the table's 60 °F), less what a lid keeps in, times the correction",
)
def surface_heat_flux(*, temperature, room_temperature, lid_cover, lid_loss, loss_correction):
    """Return the heat that an area of the etchant's surface loses.

    Parameters
    ----------
    temperature : Quantity
        32 to 99 °C; colder keeps the coefficients of the table's coldest row.
    room_temperature : Quantity
        The table's air is at 15.6 °C.
    lid_cover : Quantity
        Share of the surface under a lid.
    lid_loss : Quantity
        What passes a lid, over the loss of the open surface.
    loss_correction : Quantity
        The true loss over the table's.
    """
    loss = _losses(room_temperature, lid_cover, lid_loss, loss_correction, 1.0, 0.0)
    return Quantity(loss(_plain(temperature, CELSIUS)), FLUX)


@formula(
    source="open_tank_table",
    status="assumed",
    method="bare wall of the table of open tanks, straight between its rows, in proportion to the "
    "temperature above the room, times the correction",
)
def wall_heat_flux(*, temperature, room_temperature, loss_correction):
    """Return the heat that an area of the tray's bare walls loses."""
    room = _plain(room_temperature, CELSIUS)
    flux = dry_flux(_plain(temperature, CELSIUS), room, _WALL)
    return Quantity(_plain(loss_correction, ONE) * flux, FLUX)


@formula(source="geometry")
def surface_loss(*, tray_length, tray_width, surface_heat_flux):
    """Return the heat that the whole surface of the etchant loses."""
    return tray_length * tray_width * surface_heat_flux


@formula(source="geometry")
def wall_area(*, tray_length, tray_width, etchant_level):
    """Return the wetted sides and bottom of the tray; the bottom counts as a bare wall."""
    return tray_length * tray_width + 2 * (tray_length + tray_width) * etchant_level


@formula(source="geometry")
def wall_loss(*, wall_area, wall_heat_flux):
    """Return the heat that the tray loses through its sides and bottom."""
    return wall_area * wall_heat_flux


@formula(source="energy_balance")
def heat_loss(*, surface_loss, wall_loss):
    """Return the heat that the tray loses to the room: the power that holds its temperature."""
    return surface_loss + wall_loss


# ---- warming


@formula(source="energy_balance")
def heat_to_warm(
    *, etchant_volume, etchant_density, heat_capacity, starting_temperature, temperature
):
    """Return the heat that warms the etchant, losses apart."""
    return (
        etchant_volume
        * etchant_density
        * heat_capacity
        * (temperature.to(KELVIN) - starting_temperature.to(KELVIN))
    )


@formula(source="energy_balance")
def warming_power(*, heat_to_warm, wanted_warm_up_time):
    """Return the power that warms the etchant in the wanted time, losses apart.

    To choose a heater take the heat at a heat capacity place of 100 %: as if the etchant held
    heat like water, the most it can.
    """
    return heat_to_warm / wanted_warm_up_time


@formula(source="heater_choice", status="common practice")
def heater_power(*, warming_power, heat_loss, heater_margin):
    """Return the heater to install: warming or holding, whichever takes more, and a margin.

    On the way to its temperature the tray loses about half of what it loses there.
    """
    return np.maximum(warming_power + heat_loss / 2, heat_loss) * (1 + heater_margin)


@formula(
    source="energy_balance",
    method="m·c·dT/dt = power − loss(T), summed over 64 steps of temperature, in each of which the "
    "loss is a straight line (so that the step is an exact logarithm); never, where the loss "
    "reaches the power on the way",
)
def warm_up_time(
    *,
    etchant_volume,
    etchant_density,
    heat_capacity,
    tray_length,
    tray_width,
    etchant_level,
    heater_rating,
    starting_temperature,
    temperature,
    room_temperature,
    lid_cover,
    lid_loss,
    loss_correction,
):
    """Return the time in which the heater warms the etchant to its temperature.

    Returns
    -------
    Quantity
        Nothing for an etchant that is warm already; infinite where the heater
        never gets there (`settling_temperature` says how far it gets).
    """
    areas = _areas(tray_length, tray_width, etchant_level)
    loss = _losses(room_temperature, lid_cover, lid_loss, loss_correction, *areas)
    held = _plain(etchant_volume * etchant_density * heat_capacity, JOULE_KELVIN)
    start = _plain(starting_temperature, CELSIUS)
    rise = np.maximum(_plain(temperature, CELSIUS) - start, 0.0)
    power = _plain(heater_rating, WATT)
    everything = np.broadcast_shapes(
        *(np.shape(x) for x in (loss(start), held, start, rise, power))
    )
    steps = _STEPS.reshape(-1, *(1,) * len(everything))
    left = power - loss(start + rise * steps)
    inverse = np.where(
        rise > 0, _mean_inverse(left), 0.0
    )  # warm already: no time, whatever the loss
    return Quantity(held * rise * inverse, SECOND)


def _mean_inverse(left):
    """Return the mean of 1/left over the first axis, straight between points; inf where any ≤ 0."""
    never = np.any(left <= 0, axis=0)
    return np.where(never, np.inf, _inverses(np.where(never, 1.0, left)).mean(axis=0))


def _inverses(left):
    """Return the mean of 1/left in each step of the first axis, straight between points above 0."""
    change = np.diff(left, axis=0) / left[:-1]
    flat = np.abs(change) < 1e-9
    bent = np.where(flat, 1.0, change)
    return np.where(flat, 1.0, np.log1p(bent) / bent) / left[:-1]


def temperature_curve(
    *,
    etchant_volume,
    etchant_density,
    heat_capacity,
    tray_length,
    tray_width,
    etchant_level,
    heater_rating,
    starting_temperature,
    temperature,
    room_temperature,
    lid_cover,
    lid_loss,
    loss_correction,
):
    """Return the bath's temperature against time: on the way to the one wanted, and held there.

    Parameters are those of `warm_up_time`, whose balance it is; of arrays the first is taken.
    Too small a heater leaves the bath where it settles, none lets it cool toward the room; what
    is warmer than wanted cools with the heater off.

    Returns
    -------
    minutes, celsius : array of shape (n,)
        From 0 minutes; after the last the temperature stays.
    """
    length, width, level = (first(q) for q in (tray_length, tray_width, etchant_level))
    of_room = (first(q) for q in (room_temperature, lid_cover, lid_loss, loss_correction))
    loss = _losses(*of_room, *_areas(length, width, level))
    held = _plain(first(etchant_volume * etchant_density * heat_capacity), JOULE_KELVIN)
    start, wanted = (_plain(first(t), CELSIUS) for t in (starting_temperature, temperature))
    power, room = _plain(first(heater_rating), WATT), _plain(first(room_temperature), CELSIUS)
    ends = _settles(loss, np.array([0.0, power]), room)
    goal = np.clip(wanted, *ends)
    if np.abs(goal - start) < 1e-6:
        return np.zeros(1), start.reshape(1)
    # where it settles is never quite reached: ever finer steps, to a ten-thousandth of the way
    steps = 1 - np.geomspace(1, 1e-4, 257) if goal in ends else _STEPS
    celsius = start + (goal - start) * steps
    # the heater is on below the temperature wanted; at the temperature itself only on the way up
    heated = celsius < wanted + np.copysign(1e-9, wanted - start)
    left = np.abs(np.where(heated, power, 0.0) - loss(celsius))
    seconds = held * np.abs(np.diff(celsius)) * _inverses(left)
    return np.append(0.0, np.cumsum(seconds)) / 60, celsius


@formula(
    source="energy_balance",
    method="the temperature at which the tray loses what the heater gives, found by bisection; "
    "100 °C where it would boil",
)
def settling_temperature(
    *,
    heater_rating,
    tray_length,
    tray_width,
    etchant_level,
    room_temperature,
    lid_cover,
    lid_loss,
    loss_correction,
):
    """Return the temperature at which a heater that is never switched off settles.

    Returns
    -------
    Quantity
        At most 100 °C. Without power it is a little below the room, as water is.
    """
    areas = _areas(tray_length, tray_width, etchant_level)
    loss = _losses(room_temperature, lid_cover, lid_loss, loss_correction, *areas)
    return Quantity(
        _settles(loss, _plain(heater_rating, WATT), _plain(room_temperature, CELSIUS)), CELSIUS
    )


def _settles(loss, power, room):
    """Return the temperature in °C at which a loss is the power, at most boiling."""
    everything = np.broadcast_shapes(np.shape(loss(room)), np.shape(power))
    cold = np.broadcast_to(room - 30.0, everything)
    hot = np.full(everything, BOILING)
    for _ in range(60):
        middle = (cold + hot) / 2
        below = loss(middle) < power
        cold, hot = np.where(below, middle, cold), np.where(below, hot, middle)
    return (cold + hot) / 2


# ---- water lost


@formula(
    source="open_tank_table",
    status="assumed",
    method="the evaporation of the table of open tanks, as in the surface's heat flux, over the "
    "latent heat of water: an upper bound, since salt holds water back; nothing where the room's "
    "damp would condense",
)
def evaporation_rate(
    *,
    tray_length,
    tray_width,
    temperature,
    room_temperature,
    lid_cover,
    lid_loss,
    loss_correction,
):
    """Return the water that the tray loses to the room in a time."""
    bath, room = _plain(temperature, CELSIUS), _plain(room_temperature, CELSIUS)
    flux = evaporation_flux(bath, room, _plain(ROOM_HUMIDITY, ONE))
    lost = np.maximum(flux, 0.0) * _remaining(lid_cover, lid_loss) * _plain(loss_correction, ONE)
    area = _plain(tray_length * tray_width, SQUARE_METRE)
    return (Quantity(area * lost, WATT) / LATENT_HEAT / WATER_60F).to(CUBIC_METRE_HOUR)


@formula(source="mass_balance")
def water_lost(*, evaporation_rate, time_kept_warm):
    """Return the water lost while the tray is kept warm: what to make good, with water alone."""
    return evaporation_rate * time_kept_warm


@formula(
    source="mass_balance",
    method="the etchant above the level that covers the heater, over the evaporation rate; never, "
    "where nothing evaporates",
)
def heater_bared_time(*, tray_length, tray_width, etchant_level, heater_cover, evaporation_rate):
    """Return the time until evaporation bares the heater, if no water is added.

    Nothing where it is bare already; without a heater, the time until the tray is dry.
    """
    depth = np.maximum(_plain(etchant_level, METRE) - _plain(heater_cover, METRE), 0.0)
    above = depth * _plain(tray_length * tray_width, SQUARE_METRE)
    rate = _plain(evaporation_rate, CUBIC_METRE_HOUR)
    lasting = above / np.where(rate > 0, rate, 1.0)
    return Quantity(np.where(rate > 0, lasting, np.inf), HOUR)


# ---- level


@formula(source="geometry")
def plates_volume(*, blank_area, plate_thickness, plates_at_once):
    """Return the volume of the plates that lie in the tray at once."""
    return blank_area * plate_thickness * plates_at_once


@formula(source="geometry")
def volume_to_pour(*, tray_length, tray_width, etchant_level, plates_volume, heater_volume):
    """Return the etchant that reaches a level with plates and heater lying in it."""
    return tray_length * tray_width * etchant_level - plates_volume - heater_volume


@formula(source="geometry")
def poured_level(*, tray_length, tray_width, etchant_volume, plates_volume, heater_volume):
    """Return the level that a volume of etchant reaches with plates and heater lying in it."""
    return (etchant_volume + plates_volume + heater_volume) / (tray_length * tray_width)
