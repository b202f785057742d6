"""The strength of an etchant as makers and suppliers say it: read in any measure, said in all."""

import re
import unicodedata

import numpy as np

from etchcalc.core.faults import BadInput
from etchcalc.core.term import Term
from etchcalc.core.units import DIFFERENCE, ONE, Quantity, read, show, unit
from etchcalc.core.vocabulary import term
from etchcalc.process import hydrometer, solutions

PER_LITRE, PERCENT, MOLAR = unit("g/L"), unit("percent"), unit("mol/L")
MOLAL, ONE_MOLE = unit("mol/kg"), Quantity(1.0, unit("mol"))
NOTHING, WHOLE = Quantity(0.0, ONE), Quantity(1.0, ONE)
UNUSED = {"bath_spent_share": NOTHING, "copper_atom_share": NOTHING}
# A specific gravity of any ferric chloride lies here, and no Baumé of one that etches.
GRAVITIES = (1.0, 1.7)

_GRAVITY = r"(?:s\.?\s*g\.?|sp(?:ecific)?\.?\s*gr(?:avity)?\.?)"
_BAUME = r"(?:[°º]|deg(?:rees?)?\.?)?\s*b(?:aum)?[eé]\.?"
_CRYSTALS = r"(?:crystals?|hexahydrate|fecl3\s*[·.*]\s*6\s*h2o)"
_ANHYDROUS = r"(?:anhydrous(?:\s+(?:fecl3|ferric\s+chloride))?|fecl3)"


def read_strength(text, mixing_temperature, system="metric", hydrometer_error=None):
    """Return the strength of a fresh etchant that a maker said in any measure.

    Crystals or anhydrous salt in a litre (``500 g/L``, ``300 g/L FeCl3``),
    moles (``1.85 mol/L``, ``1.85 M``, ``2 mol/kg``), per cent by mass
    (``24.4 % FeCl3``, ``40 % crystals``), a hydrometer's reading (``SG 1.23``,
    ``27.3 °Bé``) or a density (``density 1.26 g/mL``), the last two with
    ``at 40 °C`` where they were read so.

    Parameters
    ----------
    text : str
        What was typed.
    mixing_temperature : Quantity
        At which the litre of the strength is read; and at which a density is
        meant that says no temperature. A hydrometer that says none is read at 60 °F.
    system : str
        In which units a sentence says what is accepted.
    hydrometer_error : Quantity, optional
        Degrees Baumé that the hydrometer shows too many.

    Returns
    -------
    Quantity
        Crystals in a litre, within what the word `strength` allows.

    Raises
    ------
    BadInput
        One sentence.
    """
    entry = term("strength")
    written = str(text).strip()
    measure, warm = _parted(written)
    at = term("reading_temperature").read(warm, system) if warm else None
    degrees = _degrees(measure, entry)
    density = None
    if degrees is not None:
        at = hydrometer.SIXTY_FAHRENHEIT if at is None else at
        density = hydrometer.true_density(
            hydrometer_reading=degrees,
            hydrometer_error=NOTHING if hydrometer_error is None else hydrometer_error,
            reading_temperature=at,
        )
    elif worded := re.match(r"density\b(.+)", measure, re.IGNORECASE):
        at = mixing_temperature if at is None else at
        density = term("etchant_density").read(worded[1], system)
    elif at is not None:
        raise BadInput(
            f"strength: only a hydrometer's reading or a density has a temperature; type {measure}."
        )
    if density is None:
        found = _weighed(measure, mixing_temperature, system)
    else:
        found = _by_density(density, at, mixing_temperature, written, system)
    return entry.check(found, written, system)


def read_hydrometer(text, system="metric"):
    """Return what a hydrometer shows in degrees Baumé, typed as ``27``, ``27 °Bé`` or ``SG 1.23``.

    Raises
    ------
    BadInput
        One sentence; also where a bare number looks like a specific gravity.
    """
    entry = term("hydrometer_reading")
    written = _plain(str(text))
    degrees = _degrees(written, entry)
    if degrees is None:
        if re.fullmatch(r"1(?:[.,]\d*)?", written):
            _not_a_gravity(float(written.replace(",", ".")), written, entry)
        degrees = entry.read(written, system)
    return entry.check(degrees, written, system)


def said_every_way(strength, mixing_temperature, system="metric") -> list[tuple[str, str]]:
    """Return what it is and the figure, for a strength in every measure of a fresh etchant.

    Every figure is one that `read_strength` reads; the density after the word ``density``.

    Parameters
    ----------
    strength : Quantity
        Crystals in a litre, made up to volume at `mixing_temperature`.
    mixing_temperature : Quantity
    system : str
    """
    w = solutions.etchant_mass_fraction(strength=strength, mixing_temperature=mixing_temperature)
    density = solutions.etchant_density(mass_fraction=w, temperature=mixing_temperature)
    degrees = solutions.etchant_baume(mass_fraction=w)
    gravity = solutions.specific_gravity(baume=degrees)
    moles = solutions.ferric_concentration(mass_fraction=w, etchant_density=density)
    crystals = strength / density
    litre = f"a litre at {show(mixing_temperature, 'temperature', system)}"
    return [
        (f"crystals in {litre}", show(strength, "strength", system, 4)),
        ("anhydrous ferric chloride by mass", f"{show(w, 'share', system, 4)} FeCl3"),
        ("crystals by mass", f"{show(crystals, 'share', system, 4)} crystals"),
        (f"moles in {litre}", show(moles, "concentration", system, 4)),
        (
            "moles to a kilogram of water",
            show(solutions.molality(mass_fraction=w), "molality", system, 4),
        ),
        ("specific gravity at 60 °F", f"SG {show(gravity, 'number', system, 5)}"),
        ("hydrometer at 60 °F", f"{show(degrees, 'number', system)} °Bé"),
        (f"density of {litre}", show(density, "density", system, 4)),
    ]


def _plain(text: str) -> str:
    """Return a text with its accents put together, and the 3 of FeCl₃ on the line."""
    return unicodedata.normalize("NFC", text).translate(str.maketrans("₂₃₆", "236")).strip()


def _parted(text: str) -> tuple[str, str]:
    """Return the measure, and the temperature that was said after ``at``."""
    plain = re.sub(r"\(?\b(?:w/w|by\s+(?:mass|weight))\b\)?", " ", _plain(text), flags=re.I)
    measure, _, warm = re.sub(r"\s+at\s+|\s*@\s*", "@", plain, count=1).partition("@")
    return measure.strip(), warm.strip()


def _degrees(written: str, entry: Term):
    """Return degrees Baumé for what names them or a specific gravity, None for anything else."""
    for word, is_gravity in ((_GRAVITY, True), (_BAUME, False)):
        worded = re.fullmatch(rf"{word}\s*(\S.*)|(\S.*?)\s*{word}", written, re.IGNORECASE)
        if worded:
            return _checked_degrees(worded[1] or worded[2], is_gravity, written, entry)
    return None


def _checked_degrees(figure: str, is_gravity: bool, written: str, entry: Term):
    low, high = term("baume").low, term("baume").high
    accepted = f"type degrees Baumé from {low:g} to {high:g}, such as 27.3 °Bé or SG 1.23."
    try:
        number = read(figure)
    except BadInput as fault:
        raise BadInput(f"{entry.words}: {fault}; {accepted}") from None
    if number.units != ONE or DIFFERENCE.match(figure):
        raise BadInput(f"{entry.words}: “{written}” is not a hydrometer's reading; {accepted}")
    value = float(number.magnitude)
    if not is_gravity:
        _not_a_gravity(value, written, entry)
    elif 5 <= value <= high:
        gravity = show(solutions.specific_gravity(baume=number), "number", count=4)
        raise BadInput(
            f"{entry.words}: {written} looks like degrees Baumé; "
            f"type {value:g} °Bé, which is SG {gravity}."
        )
    elif value > 0:
        value = float(solutions.baume(specific_gravity=number).to(ONE).magnitude)
    else:
        value = np.nan
    if not low <= value <= high:
        raise BadInput(f"{entry.words}: {written} cannot be meant; {accepted}")
    return Quantity(value, ONE)


def _not_a_gravity(value: float, written: str, entry: Term) -> None:
    if GRAVITIES[0] <= value <= GRAVITIES[1]:
        degrees = show(solutions.baume(specific_gravity=Quantity(value, ONE)), "number")
        raise BadInput(
            f"{entry.words}: {written} looks like a specific gravity; "
            f"type SG {value:g}, which is {degrees} °Bé."
        )


def _by_density(density, at, mixing_temperature, written: str, system: str):
    """Return the strength of the fresh etchant that has a density at a temperature."""
    gravity = hydrometer.corrected_gravity(true_density=density, reading_temperature=at, **UNUSED)
    if np.isnan(gravity.magnitude):
        light = density < hydrometer.check_water_density(check_temperature=at)
        what = "lighter than water" if light else "denser than any fresh ferric chloride"
        raise BadInput(f"strength: {written} is {what}; {term('strength').accepted(system)}.")
    return hydrometer.strength_when_fresh(
        corrected_gravity=gravity, mixing_temperature=mixing_temperature, **UNUSED
    ).to(PER_LITRE)


def _weighed(measure: str, mixing_temperature, system: str):
    """Return the strength for crystals, salt or moles, in a litre or by mass."""
    entry = term("strength")
    worded = re.fullmatch(rf"(\S.*?)\s*(?:({_CRYSTALS})|{_ANHYDROUS})", measure, re.IGNORECASE)
    figure = worded[1] if worded else measure
    anhydrous = bool(worded and not worded[2])
    figure = re.sub(r"(?<=[\d\s½¼¾⅓⅔⅛⅜⅝⅞])(?:M|molar)$", " mol/L", figure)
    try:
        amount = read(figure)
    except BadInput:
        amount = None
    if amount is None or DIFFERENCE.match(figure):
        return entry.read(figure, system)  # it refuses, with its own sentence
    if amount.units == PERCENT:
        if not worded:
            raise BadInput(
                f"strength: {measure} by mass of what? type {measure} FeCl3 for anhydrous ferric "
                f"chloride, or {measure} crystals."
            )
        w = amount if anhydrous else solutions.mass_fraction_of_crystals(crystal_share=amount)
        return _by_mass(w.to(ONE), mixing_temperature)
    if amount.dimensionality == MOLAR.dimensionality:
        return solutions.strength_at_concentration(ferric_concentration=amount).to(PER_LITRE)
    if amount.dimensionality == MOLAL.dimensionality:
        return _by_mass(_at_molality(amount), mixing_temperature)
    if amount.dimensionality == PER_LITRE.dimensionality:
        if anhydrous:
            return solutions.strength_at_mass_fraction(
                mass_fraction=WHOLE, etchant_density=amount
            ).to(PER_LITRE)
        _not_a_density(amount, measure, entry)
    return entry.read(figure, system)


def _by_mass(w, mixing_temperature):
    """Return the strength at a mass fraction; nan beyond the density model's 0.6."""
    density = solutions.etchant_density(mass_fraction=w, temperature=mixing_temperature)
    found = solutions.strength_at_mass_fraction(mass_fraction=w, etchant_density=density)
    within = 0 <= float(w.magnitude) <= term("mass_fraction").high / 100
    return found.to(PER_LITRE) if within else Quantity(np.nan, PER_LITRE)


def _at_molality(molality):
    """Return the mass fraction of a mole's crystals in the water that they are said to have."""
    if not float(molality.magnitude) > 0:
        return NOTHING
    crystals = ONE_MOLE * solutions.HEXAHYDRATE
    water = ONE_MOLE / molality - solutions.crystal_water(etchant_crystals=crystals)
    return solutions.mixed_mass_fraction(etchant_crystals=crystals, etchant_water=water).to(ONE)


def _not_a_density(amount, measure: str, entry: Term) -> None:
    if entry.high < float(amount.to(PER_LITRE).magnitude) <= 1000 * GRAVITIES[1]:
        raise BadInput(
            f"strength: {measure} looks like the density of the etchant; type density {measure}."
        )
