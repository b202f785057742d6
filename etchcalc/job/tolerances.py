"""What may be off about an input, as people write it: 42 ± 2 °C, 500 g/L ± 3 %.

A tolerance says that the true value lies within, and nothing of where: every
value between its ends is as likely as any other (JCGM 100, 4.3.7), none lies
beyond.
"""

import re
from dataclasses import dataclass
from typing import NoReturn

from etchcalc.core import units
from etchcalc.core.faults import BadInput
from etchcalc.core.units import CELSIUS, DIFFERENCE, KELVIN, KINDS, ONE, show
from etchcalc.core.vocabulary import term
from etchcalc.job.first_order import ROOT3
from etchcalc.job.strengths import read_hydrometer, read_strength

_FIGURE = units._NUMBER
# What is decided, not measured: how many, how much is accepted.
DECIDED = ("plate_count", "coats", "coated_faces", "lacquer_coats", "coat_interval", "chance_too_deep",
           "practical_stop", "soda_waters")  # fmt: skip
CERTAIN_WORDS = "it is decided, not measured; leave the ± out"


@dataclass(frozen=True)
class Tolerance:
    """How far off an input may be, either way.

    Parameters
    ----------
    name : str
        Of the input.
    half_width : float
        In the metric unit of its kind; of a temperature in kelvin.
    """

    name: str
    half_width: float

    @property
    def uncertainty(self) -> float:
        """Its standard uncertainty, in the metric unit: the half width over √3 (JCGM 100, 4.3.7)."""
        return self.half_width / ROOT3


def read(name: str, text, system: str = "metric", mixing_temperature=None):
    """Return what a person typed as its middle and its tolerance.

    Parameters
    ----------
    name : str
        A word of the vocabulary.
    text : str
        ``0.40 mm ± 0.01 mm``, ``42 +/- 2 °C``. A tolerance in per cent is a share of the value,
        and of a share, points: 15 % ± 3 % is 12 % to 18 %.
    system : str
        In which units a sentence says what is accepted.
    mixing_temperature : Quantity, optional
        For a strength in another measure than grams to the litre.

    Returns
    -------
    middle : Quantity
        As `plain` reads it.
    tolerance : Tolerance or None
        None where none was said.

    Raises
    ------
    BadInput
        One sentence; also for a tolerance below nothing, or as large as a value above nothing.
    """
    said, *more = re.split(DIFFERENCE.pattern.replace("(", "(?:"), str(text).strip())
    if not more or not said:
        return plain(name, text, system, mixing_temperature), None
    entry = term(name)
    if name in DECIDED:
        raise BadInput(f"{entry.words}: {CERTAIN_WORDS}.")
    if len(more) > 1:
        raise BadInput(f"{entry.words}: ± stands twice; type the value once and how far off once.")
    off = more[0].strip()
    unit_of_off = _FIGURE.sub("", off, count=1).strip()
    of_it = unit_of_off == "%" and entry.kind != "share"
    if _FIGURE.fullmatch(said.strip()) and not of_it:  # 42 ± 2 °C
        said = f"{said} {unit_of_off}"
    middle = plain(name, said, system, mixing_temperature)
    half = _half_width(name, said, off, middle, system, mixing_temperature)
    return middle, _checked(name, half, middle, off, system)


def plain(name: str, text, system: str, mixing_temperature=None):
    """Return a typed quantity; the strength in any measure, a hydrometer's reading in either."""
    if name == "strength":
        entry = term("mixing_temperature")
        warm = entry.quantity(float(entry.start or 0))
        mixed = warm if mixing_temperature is None else mixing_temperature
        return read_strength(str(text), mixed, system)
    if name == "hydrometer_reading":
        return read_hydrometer(str(text), system)
    return term(name).read(text, system)


def _half_width(name: str, said: str, off: str, middle, system: str, mixing_temperature) -> float:
    """Return what was typed after ± in the metric unit of the kind."""
    entry = term(name)
    if not off:
        _refuse(name, off, "nothing stands after it", system)
    unit_of_off = _FIGURE.sub("", off, count=1).strip()
    if unit_of_off == "%" and "%" not in said and entry.kind != "share":
        if entry.unit == CELSIUS:
            _refuse(name, off, "a share of a temperature means nothing", system)
        return _figure(name, off, system) / 100 * float(middle.to(entry.unit).magnitude)
    if name == "hydrometer_reading" or (name == "strength" and _another_measure(said)):
        return _between(name, said, off, system, mixing_temperature)
    whole = off if unit_of_off or entry.unit == ONE else off + _FIGURE.sub("", said, count=1)
    try:
        difference = units.read(f"± {whole}")
    except BadInput as fault:
        _refuse(name, off, str(fault), system)
    metric = KELVIN if entry.unit == CELSIUS else entry.unit
    if difference.dimensionality != metric.dimensionality:
        _refuse(name, off, f"{whole} is not {KINDS[entry.kind].name}", system)
    return float(difference.to(metric).magnitude)


def _another_measure(said: str) -> bool:
    """Tell whether a strength is said otherwise than as crystals in a litre."""
    try:
        return units.read(said).dimensionality != term("strength").unit.dimensionality
    except BadInput:
        return True


def _between(name: str, said: str, off: str, system: str, mixing_temperature) -> float:
    """Return half of what lies between the two ends, in a measure of its own such as Baumé."""
    if (other := _FIGURE.sub("", off, count=1).strip()).lower() not in said.lower():
        _refuse(name, off, f"{said} is not in {other}", system)
    figure, away = (_figure(name, text, system) for text in (said, off))
    ends = [
        plain(name, _FIGURE.sub(f"{end:.9g} ", said, count=1), system, mixing_temperature)
        for end in (figure - away, figure + away)
    ]
    low, high = (float(end.to(term(name).unit).magnitude) for end in ends)
    return (high - low) / 2


def _figure(name: str, text: str, system: str) -> float:
    found = _FIGURE.search(text)
    try:
        return float(units.read(found[0] if found else text).magnitude)
    except BadInput as fault:
        _refuse(name, text, str(fault), system)


def _checked(name: str, half: float, middle, off: str, system: str) -> Tolerance:
    """Return a tolerance that can be meant."""
    entry = term(name)
    value = float(middle.to(entry.unit).magnitude)
    if not half >= 0:
        _refuse(name, off, "a tolerance is how far off it may be, and not below nothing", system)
    if entry.unit != CELSIUS and entry.low >= 0 and half >= value > 0:
        _refuse(name, off, "that is as much as the value itself", system)
    if half > (entry.high - entry.low) / 2:
        _refuse(name, off, "that is more than all that can be meant", system)
    return Tolerance(name, half)


def _refuse(name: str, off: str, why: str, system: str) -> NoReturn:
    entry = term(name)
    if entry.unit == CELSIUS:
        example = "± 4 °F" if system == "US" else "± 2 °C"
    else:
        example = f"{show(entry.quantity(entry._example()), entry.kind, system, fixed=False)} ± 5 %"
    raise BadInput(
        f"{entry.words}: {f'± {off}'.strip()} cannot be meant, since {why}; type how far off it may be either way, such as {example}."
    )
