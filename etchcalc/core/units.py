"""The one unit registry, and how quantities are read from people and shown to them.

Everything that a person types goes through `read`, everything that a person
sees comes out of `show`. Units are named once here as kept objects: pint takes
twenty times as long to parse a name as to use an object.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise

import numpy as np
import pint

from etchcalc.core.faults import BadInput

REGISTRY: pint.UnitRegistry = pint.UnitRegistry(cache_folder=":auto:")
Quantity = REGISTRY.Quantity
Unit = REGISTRY.Unit


@cache
def unit(name: str):
    """Return the kept unit object of a name that pint reads."""
    return REGISTRY.Unit(name)


MM, M, UM = unit("mm"), unit("m"), unit("um")
G, KG, LITRE, ML = unit("g"), unit("kg"), unit("L"), unit("mL")
MINUTE, HOUR = unit("min"), unit("hour")
KELVIN, CELSIUS, FAHRENHEIT = unit("K"), unit("degC"), unit("degF")
ONE = unit("dimensionless")
SYSTEMS = ("metric", "imperial", "US")

# Spelled as people type them, lower case, full stops and plurals taken off.
_ATOMS = {
    "mm": "mm millimetre millimeter",
    "cm": "cm centimetre centimeter",
    "m": "m metre meter",
    "um": "um µm μm micron micrometre micrometer",
    "inch": 'in inch inche " ″ ”',
    "foot": "ft foot feet ′ '",
    "thou": "thou thousandth mil",
    "litre": "l litre liter",
    "ml": "ml millilitre milliliter cc",
    "cl": "cl centilitre centiliter",
    "g": "g gram gramme gm",
    "kg": "kg kilo kilogram kilogramme",
    "mg": "mg milligram milligramme",
    "oz": "oz ounce",
    "lb": "lb pound",
    "s": "s sec second",
    "min": "min minute",
    "hour": "h hr hour",
    "day": "d day",
    "degC": "°c c degc celsius deg_c",
    "degF": "°f f degf fahrenheit deg_f",
    "K": "k kelvin",
    "percent": "% percent",
    "dots_per_inch": "dpi ppi",
    "pixel": "px pixel dot",
    "mol": "mol mole",
    "mmol": "mmol",
    "Pa": "pa pascal",
    "mPa": "mpa millipascal",
    "GPa": "gpa gigapascal",
    "W": "w watt",
    "kW": "kw kilowatt",
    "mW": "mw milliwatt",
    "J": "j joule",
    "mJ": "mj millijoule",
    "kJ": "kj kilojoule",
    "kWh": "kwh",
    "imperial_gallon": "imperial_gallon",
    "imperial_quart": "imperial_quart",
    "imperial_pint": "imperial_pint",
    "imperial_fluid_ounce": "imperial_fluid_ounce",
    "US_liquid_gallon": "us_gallon",
    "US_liquid_quart": "us_quart",
    "US_pint": "us_pint",
    "US_fluid_ounce": "us_fluid_ounce",
}
_UNIT_OF = {word: unit(name) for name, words in _ATOMS.items() for word in words.split()}
_TWO_SIZES = {"gallon": "gallon", "quart": "quart", "pint": "pint", "fluid_ounce": "fluid ounce"}

_SHARES = ["½1/2", "¼1/4", "¾3/4", "⅓1/3", "⅔2/3", "⅛1/8", "⅜3/8", "⅝5/8", "⅞7/8"]
_FRACTIONS = {text[0]: Fraction(text[1:]) for text in _SHARES}
_NUMBER = re.compile(
    r"(?:[+\-−]\s*)?(?:\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*\s*[½¼¾⅓⅔⅛⅜⅝⅞]"
    r"|\d{1,3}(?:[   ]\d{3})+(?:[.,]\d+)?(?!\d)"
    r"|(?:\d[\d.,]*|[.,]\d+)(?:[eE][+\-]?\d+)?|nan|inf)",
    re.IGNORECASE,
)
DIFFERENCE = re.compile(r"(±|\+/-|\+-)\s*")
_NAMES = (
    (r"fl(?:uid)?\.?\s*oz\b\.?|fluid\s+ounces?", "fluid_ounce"),
    (r"\bgals?\b\.?|\bgallons?\b", "gallon"),
    (r"\bpts?\b\.?|\bpints?\b", "pint"),
    (r"\bqts?\b\.?|\bquarts?\b", "quart"),
    (r"\b(?:imperial|imp|uk|british)\b\.?[\s_]+(?=fluid_ounce|gallon|pint|quart)", "imperial_"),
    (r"\b(?:us|u\.s\.|american)(?:[\s_]+liquid)?[\s_]+(?=fluid_ounce|gallon|pint|quart)", "us_"),
    (r"\bsq(?:uare)?\b\.?\s*([a-zµμ]+)", r"\1^2"),
    (r"\bcu(?:bic)?\b\.?\s*([a-zµμ]+)", r"\1^3"),
    (r"\bper\s+cent\b", "percent"),
    (r"\bdeg(?:rees?)?\b\.?\s*(c|f)(?:elsius|ahrenheit)?\b", r"°\1"),
    (r"°\s+", "°"),
    (r"\s*\bper\b\s*", "/"),
    (r"²", "^2"),
    (r"³", "^3"),
    (r"\*\*", "^"),
)


def _number(text: str) -> float:
    """Return the number that a person wrote; raise BadInput where it has two readings."""
    t = text.strip().replace("−", "-").replace(" ", " ").replace(" ", " ")
    sign = -1.0 if t.startswith("-") else 1.0
    t = t.lstrip("+-").strip()
    if t[-1:] in _FRACTIONS:
        return sign * float((int(t[:-1]) if t[:-1].strip() else 0) + _FRACTIONS[t[-1]])
    if "/" in t:
        *whole, fraction = re.sub(r"\s*/\s*", "/", t).split()
        if not fraction.rpartition("/")[2].strip("0"):
            raise BadInput(f"“{text}” divides by nothing")
        if len(t) > 30:
            raise BadInput(f"“{text[:12]}…” is not a number")
        return sign * float(sum(int(w) for w in whole) + Fraction(fraction))
    t = t.replace(" ", "")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", t):
        plain, decimal = t.replace(",", ""), t.replace(",", ".")
        raise BadInput(f"“{text}” can be read in two ways: type {plain} or {decimal}")
    if t.count(",") == 1 and ("." not in t or t.rfind(".") < t.rfind(",")):
        t = t.replace(".", "").replace(",", ".")
    elif re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", t):
        t = t.replace(",", "")
    try:
        return sign * float(t)
    except ValueError:
        raise BadInput(f"“{text}” is not a number") from None


def _factor(word: str):
    """Return the unit of one factor such as ``mm``, ``m^2`` or ``litres``."""
    name, caret, power = word.partition("^")
    if caret and not power:
        raise BadInput(f"“{word.strip()}” is not a unit that is known here")
    name = name.strip().rstrip(".").replace(" ", "_")
    for candidate in (name, name.removesuffix("s")):
        if candidate in _TWO_SIZES:
            plain = _TWO_SIZES[candidate]
            raise BadInput(f"a {plain} is of two sizes: type “imperial {plain}” or “US {plain}”")
        if candidate in _UNIT_OF:
            try:
                return _UNIT_OF[candidate] ** (float(power) if "." in power else int(power or 1))
            except ValueError:
                break
    if re.fullmatch(r"(mm|cm|m|in|ft|um|µm)[23]", name):
        return _factor(f"{name[:-1]}^{name[-1]}")
    raise BadInput(f"“{word.strip()}” is not a unit that is known here")


def _unit(text: str):
    """Return the unit that a person wrote after a number."""
    t = " " + text.strip().lower() + " "
    for pattern, plain in _NAMES:
        t = re.sub(pattern, plain, t)
    result = ONE
    for place, part in enumerate(t.strip().split("/")):
        factors = [f for f in re.split(r"[·⋅*()]|\s+", part.strip()) if f]
        if place and not factors:
            raise BadInput(f"“{text.strip()}” is not a unit that is known here")
        for word in factors:
            result = result / _factor(word) if place else result * _factor(word)
    if "degree_" in str(result) and result not in (CELSIUS, FAHRENHEIT):
        raise BadInput(f"“{text.strip()}” puts a temperature together with something else")
    return result


def read(text: str):
    """Return the quantity that a person typed.

    Reads a number and a unit as people write them: ``0,4 mm``, ``12½ thou``,
    ``7 lb 8 oz``, ``17.6 oz/L``, ``500 g per litre``, ``2 imperial pints``.
    A number alone is dimensionless. An ounce is the avoirdupois ounce, of
    mass. A leading ``±`` makes a difference, so that ± 2 °C is two kelvin.

    Parameters
    ----------
    text : str
        What was typed.

    Returns
    -------
    Quantity
        Scalar, in the unit that was typed (a sum such as ``7 lb 8 oz`` in its
        first unit).

    Raises
    ------
    BadInput
        A part of a sentence that says what cannot be read, without the range:
        `etchcalc.core.vocabulary.Term.read` completes it.
    """
    t = " ".join(text.split())  # the patterns try every length of a gap anew
    difference = DIFFERENCE.match(t)
    if difference:
        t = t[difference.end() :]
    found = list(_NUMBER.finditer(t))
    if not found or t[: found[0].start()].strip():
        raise BadInput(
            f"“{text.strip()}” does not begin with a number" if t else "nothing was typed"
        )
    parts = []
    end = 0
    for i, number in enumerate(found):
        if number.start() < end:
            continue
        # a digit inside a unit (mm2, m^2) belongs to the unit
        rest = [f for f in found[i + 1 :] if t[f.start() - 1].isspace()]
        end = rest[0].start() if rest else len(t)
        parts.append(Quantity(_number(number[0]), _unit(t[number.end() : end])))
    if difference:
        delta = {CELSIUS: unit("delta_degC"), FAHRENHEIT: unit("delta_degF")}
        parts = [Quantity(p.magnitude, delta.get(p.units, p.units)) for p in parts]
    return _sum_of(parts, text)


_NEVER_ADDED = (ONE, CELSIUS, FAHRENHEIT, KELVIN)


def _sum_of(parts, text: str):
    """Return the sum of the parts of ``7 lb 8 oz``, refusing what cannot be added."""
    total = parts[0]
    for before, part in pairwise(parts):
        alike = part.dimensionality == total.dimensionality and part.units not in _NEVER_ADDED
        if not alike or not part < before:
            raise BadInput(f"“{text.strip()}” has two numbers that do not belong together")
        total = total + part
    return total


@dataclass(frozen=True)
class Kind:
    """How one sort of quantity is shown in each system of units.

    Parameters
    ----------
    name : str
        What it is called in a sentence: "a length".
    units : tuple of str
        Unit for metric, imperial and US, as pint reads it.
    words : tuple of str
        The same three units as people write them.
    decimals : tuple of int or None
        Fixed decimals for each, where the trade has a habit; else three figures.
    """

    name: str
    units: tuple[str, str, str]
    words: tuple[str, str, str]
    decimals: tuple[int, int, int] | None = None

    def unit(self, system: str = "metric"):
        """Return the unit object of a system."""
        return unit(self.units[SYSTEMS.index(system)])


def _same(name: str, plain: str, words: str, decimals: int | None = None) -> Kind:
    return Kind(name, (plain,) * 3, (words,) * 3, None if decimals is None else (decimals,) * 3)


# fmt: off
KINDS = {
    "size": Kind("a length", ("mm", "inch", "inch"), ("mm", "in", "in"), (1, 2, 2)),
    "fine": Kind("a length", ("mm", "thou", "thou"), ("mm", "thou", "thou"), (2, 1, 1)),
    "film": Kind("a thickness", ("um", "thou", "thou"), ("µm", "thou", "thou")),
    "area": Kind("an area", ("cm^2", "inch^2", "inch^2"), ("cm²", "in²", "in²")),
    "volume": Kind("a volume", ("L", "imperial_pint", "US_liquid_quart"), ("L", "imperial pints", "US quarts"), (2, 2, 2)),
    "little volume": Kind("a volume", ("mL", "mL", "US_fluid_ounce"), ("mL", "mL", "US fl oz")),
    "mass": Kind("a mass", ("g", "oz", "oz"), ("g", "oz", "oz")),
    "strength": Kind("a strength", ("g/L", "oz/imperial_gallon", "oz/US_liquid_gallon"), ("g/L", "oz/imp gal", "oz/US gal")),
    "temperature": Kind("a temperature", ("degC", "degC", "degF"), ("°C", "°C", "°F"), (0, 0, 0)),
    "time": _same("a time", "min", "min"),
    "rate": Kind("a rate", ("um/min", "thou/hour", "thou/hour"), ("µm/min", "thou/h", "thou/h")),
    "number": _same("a number", "dimensionless", ""),
    "share": _same("a share", "percent", "%"),
    "resolution": _same("a resolution", "dots_per_inch", "dpi", 0),
    "density": _same("a density", "kg/m^3", "kg/m³"),
    "concentration": _same("a concentration", "mol/L", "mol/L"),
    "molality": _same("a molality", "mol/kg", "mol/kg"),
    "metal in bath": _same("a concentration", "g/L", "g/L"),
    "viscosity": _same("a viscosity", "mPa*s", "mPa·s"),
    "diffusivity": _same("a diffusivity", "um^2/s", "µm²/s"),
    "velocity": _same("a transfer velocity", "um/s", "µm/s"),
    "molar mass": _same("a molar mass", "g/mol", "g/mol"),
    "power": _same("a power", "W", "W"),
    "heat": _same("a heat", "kJ", "kJ"),
    "heat flux": _same("a heat loss", "W/m^2", "W/m²"),
    "heat capacity": _same("a heat capacity", "kJ/kg/K", "kJ/kg/K"),
    "evaporation": Kind("an evaporation", ("mL/hour", "imperial_fluid_ounce/hour", "US_fluid_ounce/hour"), ("mL/h", "imperial fl oz/h", "US fl oz/h")),
    "spreading rate": Kind("a spreading rate", ("m^2/L", "ft^2/imperial_gallon", "ft^2/US_liquid_gallon"), ("m²/L", "ft²/imp gal", "ft²/US gal")),
    "stiffness": _same("a stiffness", "GPa", "GPa"),
    "drag-out": Kind("a volume on an area", ("L/m^2", "imperial_fluid_ounce/ft^2", "US_fluid_ounce/ft^2"), ("L/m²", "imperial fl oz/ft²", "US fl oz/ft²")),
    "metal in rinse": _same("a concentration", "mg/L", "mg/L"),
    "short time": _same("a time", "s", "s"),
    "irradiance": _same("an irradiance", "mW/cm^2", "mW/cm²"),
    "dose": _same("a dose", "mJ/cm^2", "mJ/cm²"),
    "kinetic": _same("a rate constant", "mg*kg/cm^2/s/mol", "mg·kg/cm²/s/mol"),
}
# fmt: on


def first(quantity):
    """Return the first element of a quantity as a scalar: the middle of an array of ways."""
    return Quantity(float(np.ravel(quantity.magnitude)[0]), quantity.units)


def rounded(value: float, places: int, toward: int = 0) -> float:
    """Return a number to so many decimals: the nearest, or the next below (−1) or above (1)."""
    scaled = value * 10.0**places
    hair = 1e-9 * max(abs(scaled), 1.0)  # 0.15 is a hair below fifteen hundredths in binary
    whole = {-1: np.floor(scaled + hair), 0: round(scaled), 1: np.ceil(scaled - hair)}[toward]
    return float(whole) / 10.0**places


def figures(value: float, count: int = 3, toward: int = 0) -> str:
    """Return a number to so many significant figures, in plain decimals where that is short."""
    if not np.isfinite(value) or value == 0 or not 1e-6 < abs(value) < 1e9:
        return f"{value:.{count}g}".replace("-", "−")
    places = count - 1 - int(np.floor(np.log10(abs(value))))
    return f"{rounded(value, places, toward):.{max(places, 0)}f}".replace("-", "−")


def in_full(number: float) -> str:
    """Return a number that stands in a formula or a table, as it stands there."""
    return f"{number:.7g}".replace("-", "−")


def show_in_full(quantity) -> str:
    """Return a scalar quantity in its own unit, as it stands in a formula or a table."""
    return f"{in_full(float(quantity.magnitude))} {quantity.units:~P}".strip()


def show(
    quantity,
    kind: str,
    system: str = "metric",
    count: int = 3,
    fixed: bool = True,
    toward: int = 0,
) -> str:
    """Return a quantity as it stands on the page.

    Parameters
    ----------
    quantity : Quantity
        Scalar, or an array whose first element is shown.
    kind : str
        A key of `KINDS`.
    system : {"metric", "imperial", "US"}
    count : int
        Significant figures.
    fixed : bool
        Use the kind's fixed decimals where it has them.
    toward : {-1, 0, 1}
        Round down, to the nearest, or up: for a figure that must not be passed.

    Returns
    -------
    str
        Number and unit, such as ``"0.40 mm"``; a time as ``"1 h 25 min"``.
    """
    how = KINDS[kind]
    place = SYSTEMS.index(system)
    value = float(np.ravel(quantity.to(how.unit(system)).magnitude)[0])
    if kind == "time" and fixed:
        return clock(value, toward)
    if kind == "short time" and fixed and value >= 120 and np.isfinite(value):
        return _minutes_and_seconds(float(figures(value, count, toward)))
    number = figures(value, count, toward)
    if not fixed:
        number = number.rstrip("0").rstrip(".") if "." in number and "e" not in number else number
    elif how.decimals:
        places = how.decimals[place]
        near = rounded(value, places, toward)
        number = f"{near:.{places}f}".replace("-", "−") if near or not value else figures(value, 1)
    return f"{number} {how.words[place]}".rstrip().replace(" %", " %")


def _minutes_and_seconds(seconds: float) -> str:
    minutes, left = divmod(round(seconds), 60)
    return f"{minutes} min {left} s" if left else f"{minutes} min"


def clock(minutes: float, toward: int = 0) -> str:
    """Return minutes as ``"1 h 25 min"``, to five minutes beyond the first hour."""
    if not np.isfinite(minutes):
        return "never"
    if minutes < 10:
        return f"{figures(minutes, 2, toward)} min"
    step = 1 if minutes < 60 else 5
    whole = int(step * rounded(minutes / step, 0, toward))
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


def share_of(ways, share: float):
    """Return the value below which a share of the ways lies.

    Parameters
    ----------
    ways : array of shape (..., 1 + n)
        The first is the middle, which is not one of the ways.
    share : float
        0 to 1; the i-th of n sorted ways stands for the share (i + 1/2)/n.
    """
    if ways.shape[-1] == 1:
        return ways[..., 0]
    ordered = np.sort(ways[..., 1:], axis=-1)
    place = np.clip(share * ordered.shape[-1] - 0.5, 0, ordered.shape[-1] - 1)
    below = int(place)
    above = min(below + 1, ordered.shape[-1] - 1)
    low, high = ordered[..., below], ordered[..., above]
    with np.errstate(invalid="ignore"):  # between two that never come there is nothing to divide
        return np.where((high == low) | (place == below), low, low + (place - below) * (high - low))
