"""Density and viscosity of chloride solutions: the mixture model of Laliberté.

Bare arrays in declared units (mass fractions, °C, kg/m³, mPa·s): the inner
loops of `solutions` and `rates` call these behind checked formulas.
"""

import numpy as np

from etchcalc.core import tables

SALTS = ("FeCl3", "FeCl2", "CuCl2", "ZnCl2")
_ROWS = {row["salt"]: row for row in tables.rows("laliberte.csv")}


def _columns(*names: str) -> dict[str, tuple[float, ...]]:
    return {salt: tuple(float(_ROWS[salt][name]) for name in names) for salt in SALTS}


_DENSITY = _columns("c0", "c1", "c2", "c3", "c4")
_VISCOSITY = _columns("v1", "v2", "v3", "v4", "v5", "v6")


_FERRIC, _CHLORINE, _COPPER, _ZINC = (
    float(tables.constant(f"{name}_molar_mass").to("g/mol").magnitude)
    for name in ("ferric_chloride", "chlorine", "copper", "zinc")
)


def used(w, s, x) -> dict:
    """Return the mass fractions of an etchant some of whose ferric has been spent on metal.

    Parameters
    ----------
    w : array
        Mass fraction of FeCl3 when fresh.
    s : array
        Share of it spent, 0 to 1: M + 2 FeCl3 gives MCl2 + 2 FeCl2.
    x : array
        Copper among the metal's atoms; the others count as zinc.
    """
    atoms = w * s / (2 * _FERRIC)
    total = 1 + atoms * (x * _COPPER + (1 - x) * _ZINC)
    return {
        "FeCl3": w * (1 - s) / total,
        "FeCl2": 2 * atoms * (_FERRIC - _CHLORINE) / total,
        "CuCl2": atoms * x * (_COPPER + 2 * _CHLORINE) / total,
        "ZnCl2": atoms * (1 - x) * (_ZINC + 2 * _CHLORINE) / total,
    }


def water_density(celsius):
    """Return the density of water in kg/m³ at a temperature in °C (Laliberté & Cooper 2004)."""
    t = np.asarray(celsius, dtype=float)
    top = -2.8054253e-10 * t + 1.0556302e-7
    top = ((top * t - 4.6170461e-5) * t - 0.0079870401) * t + 16.945176
    return (top * t + 999.83952) / (1.0 + 0.01687985 * t)


def water_viscosity(celsius):
    """Return the viscosity of water in mPa·s at a temperature in °C (Laliberté 2007)."""
    t = np.asarray(celsius, dtype=float)
    return (t + 246.0) / ((0.05594 * t + 5.2842) * t + 137.37)


def density(fractions: dict, celsius):
    """Return the density of a mixed solution.

    Parameters
    ----------
    fractions : dict of str to array
        Mass fraction of each salt of `SALTS` that is present; the rest is water.
    celsius : array
        Temperature in °C; broadcast against the fractions.

    Returns
    -------
    array
        Density in kg/m³. Fitted within 0.25 % for ferric chloride, 0 to 35 °C,
        to a mass fraction of 0.50; beyond that it is an extrapolation.
    """
    t = np.asarray(celsius, dtype=float)
    water = 1.0 - sum(fractions.values())
    volume = water / water_density(t)
    for salt, w in fractions.items():
        c0, c1, c2, c3, c4 = _DENSITY[salt]
        apparent = (
            (c0 * (1 - water) + c1) * np.exp(1e-6 * (t + c4) ** 2) / (1 - water + c2 + c3 * t)
        )
        volume = volume + w / apparent
    return 1.0 / volume


def viscosity(fractions: dict, celsius):
    """Return the viscosity of a mixed solution in mPa·s; arguments as for `density`.

    Fitted within 3.5 % for ferric chloride, 0 to 35 °C, to a mass fraction of
    0.43. For the other salts the fits are narrower (see data/laliberte.csv).
    """
    t = np.asarray(celsius, dtype=float)
    water = 1.0 - sum(fractions.values())
    logarithm = water * np.log(water_viscosity(t))
    for salt, w in fractions.items():
        v1, v2, v3, v4, v5, v6 = _VISCOSITY[salt]
        salts = 1 - water
        apparent = np.exp((v1 * salts**v2 + v3) / (v4 * t + 1)) / (v5 * salts**v6 + 1)
        logarithm = logarithm + w * np.log(apparent)
    return np.exp(logarithm)


def outside_fit(salt: str, what: str, fraction: float, celsius: float) -> bool:
    """Tell whether a fit of `what` ("density" or "viscosity") is used beyond its data."""
    row = _ROWS[salt]
    coldest, hottest, most = (float(row[f"{what}_{end}"]) for end in ("coldest", "hottest", "most"))
    return not (coldest <= celsius <= hottest and fraction <= most)
