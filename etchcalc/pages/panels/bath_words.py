"""What bath and time asks for, in the maker's words: labels, hints, what belongs to which bath."""

from etchcalc.core.units import show
from etchcalc.job.bath_state import State
from etchcalc.job.schema import WORDS

NEW, WRITTEN, SHELF = WORDS["bath"]["bath_is"] or ()
# Boxes by what they ask: label, and what stands in them while nothing is said.
BATH = {
    "bath_name": ("Its name, if it has a log", "as on the bottle"),
    "strength": ("Strength", ""),
    "hydrometer_reading": ("The hydrometer shows", "27 °Bé or SG 1.23"),
    "reading_temperature": ("Read at", ""),
    "hydrometer_error": ("It reads too high by", ""),
    "bath_volume": ("How much there is", "what the tray takes"),
    "metal_dissolved": ("Metal etched in it so far", "such as 25 g"),
    "copper_lost": ("The copper lost", "such as 2 g"),
    "sample_volume": ("in a sample of", ""),
    "strip_share": ("Strip here over fresh", "such as 60 %"),
}
HEAT = {
    "heater_rating": ("Heater", ""),
    "room_temperature": ("Room", ""),
    "starting_temperature": ("Etchant at the start", ""),
    "lid_cover": ("Covered by a lid", ""),
    "temperature_log": ("Thermometer's log", "such as probe.csv"),
}
LATE = {"cleared_late": ("It cleared late by", "such as 20 min")}
GAUGE = {"gauge_tip": ("The gauge's tip", "such as 0.4 mm")}
# Words, which are no quantity.
FREE = ("bath_name", "temperature_log", "tray_material")
SECOND = {"second_line": ("The deeper lines", "such as 0.8 mm"), "second_depth": ("Their depth", "such as 0.3 mm")}  # fmt: skip
OF_STATE = {
    NEW: ("strength",),
    WRITTEN: ("bath_name", "strength", "metal_dissolved", "bath_volume"),
    SHELF: ("hydrometer_reading", "reading_temperature", "hydrometer_error", "bath_volume"),
}
FACTS = {"nothing more": "", "the metal etched in it": "metal_dissolved",
         "a bottle trial": "copper_lost", "a test strip": "strip_share"}  # fmt: skip
OF_FACT = {"copper_lost": ("copper_lost", "sample_volume")}
SLIDERS = {"temperature": "Bath temperature", "strength": "Strength", "depth": "Depth"}
CHOICES = {
    "plate_lies": "The plate lies",
    "moved": "The tray is",
    "plates_go_in": "The plates go in",
}
ETCH = ("density_rise", "fresh_rate", "tiring", "etch_rate", "etch_time", "gauge_time", "second_time")  # fmt: skip
WARM = ("heat_capacity", "heat_loss", "heat_to_warm", "heater_power", "warm_up_time",
        "evaporation_rate", "water_lost", "heater_bared_time")  # fmt: skip
MEASURES = "500 g/L of crystals, 300 g/L FeCl3, 24 % FeCl3, 40 % crystals, 1.85 mol/L, 27.3 °Bé or SG 1.232"
_NOTES = {
    "": "The hydrometer reads dissolved metal too: a second fact tells how much of it is ferric.",
    "metal_dissolved": "All the metal that was etched in it, with how much bath there is.",
    "copper_lost": "Clean copper weighed, kept warm overnight in a little of the bath, rinsed, dried, weighed again.",
    "strip_share": "The same strip, as long, in this bath and in a fresh one: its depth here over its depth there.",
}


def asked(state: str, fact: str, logged: bool) -> set[str]:
    """Return the boxes that belong to what the bath is."""
    if logged:
        return {"bath_name"}
    more = OF_FACT.get(fact, (fact,)) if state == SHELF and fact else ()
    return {*OF_STATE[state], *more}


def noted(state: str, fact: str, waits: bool, bath: State | None, system: str) -> str:
    """Return what to know of the boxes that stand under the choice.

    Parameters
    ----------
    state, fact : str
        What the bath is, and what else is said of one found on the shelf.
    waits : bool
        For the hydrometer's reading.
    bath : State or None
        What the bath's log tells.
    system : str
    """
    if waits:
        return "Type what the hydrometer shows. Until then what follows is of the bath as it was."
    if bath is not None:
        volume, strength = (
            show(quantity, kind, system)
            for quantity, kind in ((bath.volume, "volume"), (bath.strength, "strength"))
        )
        spent = show(bath.bath_spent_share, "share", count=2)
        return (
            f"Its log says: {volume} of {strength} when fresh, {spent} of its ferric spent; "
            "this job's own entry is not counted."
        )
    if state == SHELF:
        return _NOTES[fact]
    said = f"Strength in any measure: {MEASURES}."
    if state == NEW:
        return f"{said} How much to make is worked out from the tray."
    return f"{said} With a log, the name alone is enough."
