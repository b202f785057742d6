"""What may be off about an input, as people write it: 42 ± 2 °C, 500 g/L ± 3 %.

A tolerance alone says that the true value lies within, and nothing of where:
every value between its ends is as likely as any other (JCGM 100, 4.3.7), none
lies beyond. Where more is known, it stands behind:

- ``(95 %)``, ``at 95 %`` or ``(k=2)``, as a certificate of calibration has it: normal, the half
  width so many standard uncertainties (JCGM 100, 4.3.3 for k, 4.3.4 for a level);
- ``mostly in the middle`` or ``triangular``: likeliest in the middle, falling evenly to nothing at
  the ends (JCGM 100, 4.3.9; JCGM 101, 6.4.5);
- ``rectangular``: the same as nothing.
"""

import re
from dataclasses import dataclass, field
from math import inf
from typing import NoReturn

from etchcalc.core import units
from etchcalc.core.faults import BadInput
from etchcalc.core.units import CELSIUS, DIFFERENCE, KELVIN, KINDS, ONE, Quantity, show
from etchcalc.core.vocabulary import term
from etchcalc.job.first_order import (
    NORMAL,
    RECTANGULAR,
    TRIANGULAR,
    Estimate,
    Shape,
    coverage_factor,
)
from etchcalc.job.strengths import read_hydrometer, read_strength

_FIGURE = units._NUMBER
# What is decided, not measured: how many, how much is accepted.
DECIDED = ("plate_count", "coats", "coated_faces", "lacquer_coats", "coat_interval", "chance_too_deep",
           "practical_stop", "soda_waters")  # fmt: skip
CERTAIN_WORDS = "it is decided, not measured; leave the ± out"

SHAPES = {"mostly in the middle": TRIANGULAR, "triangular": TRIANGULAR, "rectangular": RECTANGULAR}
LEVELS, FACTORS = (50.0, 99.9), (1.0, 4.0)  # of a certificate, in per cent; its k
ACCEPTED = (
    "after a ± type nothing, (95 %) with any level from 50 % to 99.9 %, (k=2) with any k from 1 to 4, "
    "or mostly in the middle"
)
_PLAIN = r"\d+(?:[.,]\d+)?"
_LEVEL, _FACTOR = rf"({_PLAIN})\s*(?:%|per\s?cent)", rf"k\s*=\s*({_PLAIN})"
_WORDS = "|".join(words.replace(" ", r"\s+") for words in SHAPES)
_MORE = re.compile(rf"{_LEVEL}|{_FACTOR}|({_WORDS})", re.IGNORECASE)
_TAIL = re.compile(
    rf"(?:\((?:{_LEVEL}|{_FACTOR}|{_WORDS}|at|[\s,;])+\)|(?<=[\s,;])(?:at\s+{_LEVEL}|{_FACTOR}|{_WORDS}))$",
    re.IGNORECASE,
)
_BETWEEN = " \t\r\n,;"
_LONGEST = (
    80  # what is longer was not typed to say how a ± is meant, and would take long to look at
)


@dataclass(frozen=True)
class Tolerance:
    """How far off an input may be, either way.

    Parameters
    ----------
    name : str
        Of the input.
    half_width : float
        In the metric unit of its kind; of a temperature in kelvin.
    shape : Shape
        How the truth lies about the middle.
    words : str
        What was said of the shape, as it stood behind the half width.
    """

    name: str
    half_width: float
    shape: Shape = RECTANGULAR
    words: str = field(default="", compare=False)

    @property
    def uncertainty(self) -> float:
        """Its standard uncertainty, in the metric unit; of a normal the whole one, never truncated."""
        return self.half_width / self.shape.coverage

    def about(self, middle: float) -> Estimate:
        """Return what is known of the input whose middle, in the metric unit, is given."""
        return Estimate(middle, self.uncertainty, shape=self.shape)

    def said(self, system: str = "metric") -> str:
        """Return it as it is typed behind a value, such as ``± 2 °C (95 %)``; `read` reads it."""
        entry = term(self.name)
        own = KINDS[entry.kind].unit(system)
        ends = (float(entry.quantity(end).to(own).magnitude) for end in (self.half_width, 0.0))
        off = Quantity(next(ends) - next(ends), own)  # of a temperature the difference
        return f"± {show(off, entry.kind, system, count=6, fixed=False)}{self.words}"


def read(name: str, text, system: str = "metric", mixing_temperature=None):
    """Return what a person typed as its middle and its tolerance.

    Parameters
    ----------
    name : str
        A word of the vocabulary.
    text : str
        ``0.40 mm ± 0.01 mm``, ``42 +/- 2 °C``. A tolerance in per cent is a share of the value,
        and of a share, points: 15 % ± 3 % is 12 % to 18 %. Behind it may stand how it is meant:
        ``42 ± 2 °C (95 %)``.
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
    whole, words = _parted(str(text).strip())
    said, *more = re.split(DIFFERENCE.pattern.replace("(", "(?:"), whole)
    entry = term(name)
    if name in DECIDED and (words or (more and said)):
        raise BadInput(f"{entry.words}: {CERTAIN_WORDS}.")
    if words and not more:
        raise BadInput(
            f"{entry.words}: “{words.strip(_BETWEEN)}” tells how a ± is meant, and there is none; "
            f"type how far off it may be too, such as {_example(name, system)} (95 %)."
        )
    if not more or not said:
        return plain(name, whole, system, mixing_temperature), None
    if len(more) > 1:
        raise BadInput(f"{entry.words}: ± stands twice; type the value once and how far off once.")
    shape, off = _shape(name, words), more[0].strip()
    try:
        middle, half = _apart(name, said, off, system, mixing_temperature)
    except BadInput:
        _refuse_unknown(name, said, off, system, mixing_temperature)
        raise
    return middle, Tolerance(name, half, shape, words)


def _apart(name: str, said: str, off: str, system: str, mixing_temperature):
    """Return the middle, and the half width in the metric unit, of what stands about a ±."""
    entry = term(name)
    unit_of_off = _FIGURE.sub("", off, count=1).strip()
    of_it = unit_of_off == "%" and entry.kind != "share"
    if _FIGURE.fullmatch(said.strip()) and not of_it:  # 42 ± 2 °C
        said = f"{said} {unit_of_off}"
    middle = plain(name, said, system, mixing_temperature)
    half = _half_width(name, said, off, middle, system, mixing_temperature)
    _check(name, half, middle, off, system)
    return middle, half


def _parted(text: str) -> tuple[str, str]:
    """Return a text without what stands behind to say how its ± is meant, and that as it stands."""
    rest = text
    while found := _TAIL.search(rest, max(len(rest) - _LONGEST, 0)):
        rest = rest[: found.start()].rstrip(_BETWEEN)
    return rest, re.sub(r"\s+", " ", text[len(rest) :])


def _shape(name: str, words: str) -> Shape:
    """Return the shape that words behind a ± mean; without any, that none within is likelier."""
    found = [match.groups() for match in _MORE.finditer(words)]
    if not found:
        return RECTANGULAR
    (level, factor, word), why = found[0], ""
    share, k = (float((figure or "0").replace(",", ".")) for figure in (level, factor))
    if len(found) > 1:
        why = "one of them says it all"
    elif level and not LEVELS[0] <= share <= LEVELS[1]:
        why = "that is no level of a certificate"
    elif factor and not FACTORS[0] <= k <= FACTORS[1]:
        why = "that is no coverage factor of a certificate"
    if why:
        meant = words.strip(_BETWEEN)
        raise BadInput(f"{term(name).words}: {meant} cannot be meant, since {why}; {ACCEPTED}.")
    if word:
        return SHAPES[" ".join(word.lower().split())]
    return Shape(NORMAL.name, k or coverage_factor(inf, share / 100))


def _refuse_unknown(name: str, said: str, off: str, system: str, mixing_temperature) -> None:
    """Refuse words behind a tolerance that could be read but for them."""
    parts = off.split() if len(off) <= _LONGEST else []
    for place in range(len(parts) - 1, 0, -1):
        rest = " ".join(parts[place:])
        try:
            units.read(f"1 {rest}")
        except BadInput as fault:
            if "is not a unit" not in str(fault):
                continue
        else:
            continue
        try:
            _apart(name, said, " ".join(parts[:place]).rstrip(_BETWEEN), system, mixing_temperature)
        except BadInput:
            continue
        raise BadInput(f"{term(name).words}: “{rest}” is not known here; {ACCEPTED}.")


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


def _check(name: str, half: float, middle, off: str, system: str) -> None:
    """Refuse a tolerance that cannot be meant."""
    entry = term(name)
    value = float(middle.to(entry.unit).magnitude)
    if not half >= 0:
        _refuse(name, off, "a tolerance is how far off it may be, and not below nothing", system)
    if entry.unit != CELSIUS and entry.low >= 0 and half >= value > 0:
        _refuse(name, off, "that is as much as the value itself", system)
    if half > (entry.high - entry.low) / 2:
        _refuse(name, off, "that is more than all that can be meant", system)


def _refuse(name: str, off: str, why: str, system: str) -> NoReturn:
    entry = term(name)
    example = _example(name, system)
    if entry.unit == CELSIUS:
        example = example[example.index("±") :]
    raise BadInput(
        f"{entry.words}: {f'± {off}'.strip()} cannot be meant, since {why}; type how far off it may be either way, such as {example}."
    )


def _example(name: str, system: str) -> str:
    entry = term(name)
    value = show(entry.quantity(entry._example()), entry.kind, system, fixed=False)
    if entry.unit == CELSIUS:
        return f"{value} ± {'4 °F' if system == 'US' else '2 °C'}"
    return f"{value} ± 5 %"
