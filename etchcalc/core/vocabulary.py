"""Every physical quantity of the trade that a formula takes or gives, declared once.

One entry gives the check of what is typed, the error sentence, the slider, the
word in the working and the commission's schema. Names are whole words without
units; values here stand in the metric unit of their kind (`units.KINDS`).
"""

from typing import Any

import numpy as np

from etchcalc.core.tables import checked
from etchcalc.core.term import Term


def _terms(*entries: Term) -> dict[str, Term]:
    found = {entry.name: entry for entry in entries}
    if len(found) != len(entries):
        raise KeyError("a term is declared twice")
    for entry in entries:
        checked(entry.status, entry.source)
    return found


_PRACTICE: dict[str, Any] = {"status": "common practice", "source": "practice"}

# fmt: off
VOCABULARY = _terms(
    # the plate
    Term("plate_width", "size", "finished width of the plate", 5, 2000, 120),
    Term("plate_height", "size", "finished height of the plate", 5, 2000, 45),
    Term("plate_thickness", "fine", "thickness of the sheet", 0.2, 12, 1.6),
    Term("plate_count", "number", "how many plates are ordered", 1, 500, 1),
    Term("waste_margin", "size", "metal left round the finished plate for handling, cut off at the end",
         0, 50, 12, **_PRACTICE),
    Term("edges", "area", "edges of one blank"),
    Term("blank_area", "area", "area of one face of the blank: the finished plate and its waste margin"),
    # the metal
    Term("metal_density", "density", "density of the alloy", 1000, 20000, 8440,
         status="data sheet", source="mill_sheet"),
    Term("copper_share", "share", "copper in the alloy, by mass", 0, 100, 63,
         status="data sheet", source="cda_120"),
    Term("zinc_share", "share", "zinc in the alloy, by mass", 0, 100, 37,
         status="data sheet", source="cda_120"),
    Term("nickel_share", "share", "nickel in the alloy, by mass", 0, 100, 0),
    Term("tin_share", "share", "tin in the alloy, by mass", 0, 100, 0),
    Term("lead_share", "share", "lead in the alloy, by mass", 0, 100, 0),
    Term("ferric_demand", "concentration", "ferric ions that one litre of the alloy takes to dissolve"),
    Term("copper_atom_share", "share", "copper in the alloy, by number of atoms", 0, 100),
    # lines and film
    Term("finest_line", "fine", "finished width of the finest line, at the top of the groove",
         0.05, 25, 0.4, 0.01, (0.1, 1.5), (0.3, 0.8)),
    Term("depth", "fine", "depth of the etched groove below the metal's face",
         0.01, 3, 0.2, 0.01, (0.02, 0.6), (0.08, 0.4)),
    Term("depth_allowance", "fine", "how much deeper than ordered still passes", 0, 1, 0.02,
         **_PRACTICE),
    Term("chance_too_deep", "share", "accepted chance that the finest line is too deep when first gauged",
         0.5, 50, 5, **_PRACTICE),
    Term("usual_etch_factor", "number", "etch factor to start from for a line of this width, not measured"),
    Term("etch_factor_correction", "number", "the etch factor of this shop over the usual one",
         0.3, 3, 1, spread=0.195, **_PRACTICE),
    Term("etch_factor", "number", "depth of etch over the undercut at one edge; by the line's width when not measured",
         0.3, 10, 1.4,
         status="common practice", source="still_tray_etch_factor"),
    Term("undercut", "fine", "sideways etch under the resist, at one edge"),
    Term("film_line", "fine", "width to draw the finest line on the film", -10, 25),
    Term("film_line_compensation", "fine", "film width less finished width of the finest line", -10, 10),
    Term("narrowest_film_line", "fine", "narrowest line that film and resist resolve", 0.01, 1, 0.1,
         spread=0.10, **_PRACTICE),
    Term("narrowest_resist_land", "fine", "narrowest strip of resist that must still be held by metal",
         0.01, 2, 0.1, **_PRACTICE),
    Term("drawn_line", "fine", "narrowest line on the film as it is", 0.005, 25, 0.2),
    Term("drawn_land", "fine", "narrowest land on the film as it is", 0.005, 100, 1),
    Term("greatest_depth", "fine", "greatest depth that the finest line takes", -10, 100),
    Term("line_limit", "fine", "greatest depth that the line allows on the film as it is", -100, 100),
    Term("land_limit", "fine", "greatest depth that the land allows on the film as it is", -100, 100),
    Term("narrowest_finished_line", "fine", "narrowest finished line that this depth allows"),
    Term("narrowest_line", "fine", "narrowest line of the drawing, to a pixel of the film",
         0.005, 100),
    Term("narrowest_land", "fine", "narrowest land of the drawing, to a pixel of the film",
         0.005, 1000),
    Term("open_fraction", "share", "share of the plate's face that is open to the etchant",
         0.1, 100, 15, 1, (1, 100), (5, 30)),
    Term("open_area", "area", "open metal of one plate", spread=0.03),
    Term("open_area_of_all", "area", "open metal of all plates of the commission"),
    # the bath
    Term("strength", "strength", "ferric chloride hexahydrate in one litre of fresh etchant",
         50, 1100, 500, 10, (200, 900), (420, 690), spread=0.03, **_PRACTICE),
    Term("temperature", "temperature", "temperature of the bath", 5, 60, 42, 1, (15, 60), (38, 50),
         spread=2.0, additive=True, **_PRACTICE,
         refusal="since above 60 °C the bath fumes acid and the resist lets go"),
    Term("mixing_temperature", "temperature", "temperature at which the etchant is made up to volume",
         5, 40, 20, status="published", source="glassware"),
    Term("warm_density", "density", "density of the etchant at the bath's temperature"),
    Term("mass_fraction", "share", "anhydrous ferric chloride in the etchant, by mass", 0, 60, 24.4),
    Term("wanted_mass_fraction", "share", "anhydrous ferric chloride after dilution, by mass",
         0.1, 60, 20),
    Term("baume", "number", "degrees Baumé, modulus 145, at 60 °F", 0, 70, 42),
    Term("specific_gravity", "number", "density over that of water, both at 60 °F", 1, 2, 1.2),
    Term("etchant_mass", "mass", "mass of etchant to be diluted", 0, np.inf, 1000),
    Term("dilution_water", "mass", "water that dilutes an etchant to a lower mass fraction"),
    Term("etchant_volume", "volume", "etchant poured into the tray", 0, 1000, 3),
    Term("etchant_crystals", "mass", "ferric chloride hexahydrate to weigh out"),
    Term("etchant_water", "mass", "water to weigh out"),
    Term("crystal_water", "mass", "water that the crystals bring with them"),
    Term("etchant_mass_fraction", "share", "anhydrous ferric chloride in the etchant, by mass", 0, 60),
    Term("etchant_density", "density", "density of the fresh etchant", 900, 2000, 1229),
    Term("etchant_baume", "number", "what a hydrometer reads in the fresh etchant at 60 °F", 0, 70),
    Term("molality", "molality", "ferric chloride to a kilogram of water", 0, 20, 2),
    Term("ferric_concentration", "concentration", "ferric ions in a litre of etchant", 0, 10, 1.85),
    Term("viscosity", "viscosity", "viscosity of the etchant in the tray", 0.1, 1000, 2),
    Term("density_rise", "density", "how much denser the spent liquor at the metal is than the bath",
         0, 500, 80),
    Term("ferric_diffusivity", "diffusivity", "diffusivity of ferric ions in the etchant", 1, 10000, 250),
    # the rate
    Term("line_width", "fine", "width of the open line or field", 0.02, 2000, 0.4),
    Term("reaction_constant", "kinetic", "first-order rate constant of copper in ferric chloride"),
    Term("reaction_velocity", "velocity", "how fast the reaction alone would take up ferric ions"),
    Term("open_plate_velocity", "velocity", "how fast sinking liquor brings ferric ions to a wide field"),
    Term("narrow_line_velocity", "velocity", "how fast sinking liquor brings ferric ions to a narrow line"),
    Term("transport_velocity", "velocity", "how fast ferric ions are brought to the metal", 0, 1000, 3),
    Term("recess_number", "number", "how strongly the liquor in the groove turns over"),
    Term("rate_correction", "number", "the true rate over the rate worked out", 0.02, 50, 1,
         spread=0.45, status="worked out", source="rate_spread"),
    Term("fresh_rate", "rate", "mean rate over the depth in a fresh bath"),
    Term("tiring", "number", "mean rate while the ferric is used up, over the fresh rate", 0, 1, 1),
    Term("etch_rate", "rate", "mean rate of the finest line over the ordered depth", 0, 1000, 1.7),
    Term("etch_time", "time", "time in the bath to the ordered depth, finest line"),
    Term("gauge_depth", "fine", "depth that is just not too deep: ordered depth and allowance"),
    Term("gauge_fresh_rate", "rate", "mean rate over the depth that is just not too deep, fresh bath"),
    Term("gauge_rate", "rate", "mean rate over the depth that is just not too deep"),
    Term("too_deep_time", "time", "time at which the finest line would be just not too deep"),
    Term("gauge_time", "time", "time at which to lift the plate and gauge it"),
    Term("field_depth", "fine", "depth of a wide field when the finest line is done"),
    Term("field_fresh_rate", "rate", "mean rate of a wide open field over the ordered depth, fresh bath"),
    Term("field_width", "fine", "width of a field so wide that its edges do not matter", 1, 2000, 50,
         **_PRACTICE),
    Term("field_rate", "rate", "mean rate of a wide open field over the ordered depth"),
    # metal taken up
    Term("metal_removed", "mass", "metal dissolved from all plates of the commission"),
    Term("ferric_in_bath", "mass", "ferric chloride hexahydrate in the etchant poured"),
    Term("ferric_used", "mass", "ferric chloride hexahydrate used up by the commission"),
    Term("ferric_left", "mass", "ferric chloride hexahydrate left after the commission", -np.inf),
    Term("spent_share", "share", "share of the ferric that the commission uses up", 0, np.inf, 10),
    Term("load_share", "share", "share of the ferric used up in one filling of the bath", 0, 99.9, 10),
    Term("practical_stop", "share", "share of the ferric at which a bath is refreshed", 5, 95, 50,
         status="published", source="discard"),
    Term("plates_to_come", "number", "further plates like this before the bath is refreshed", -np.inf),
    Term("bath_copper_after", "metal in bath", "copper in the bath after the commission"),
    # tray
    Term("tray_length", "size", "inside length of the tray", 50, 3000, 330, **_PRACTICE),
    Term("tray_width", "size", "inside width of the tray", 50, 3000, 250, **_PRACTICE),
    Term("liquid_depth", "size", "depth of etchant that the maker pours", 3, 500, 36,
         spread=1.0, additive=True, **_PRACTICE),
    Term("spacer_height", "size", "height of the spacers under the plates", 1, 100, 10, **_PRACTICE),
    Term("heater_cover", "size", "depth of etchant that keeps the heater covered; nothing for no heater",
         0, 400, 30, **_PRACTICE),
    Term("etchant_level", "size", "depth of etchant in the tray"),
    Term("touching_margin", "size", "etchant above the spacers that surely wets the under face", 0, 50, 3,
         **_PRACTICE),
    Term("plate_gap", "size", "gap between plates in the tray", 0, 100, 10, **_PRACTICE),
    Term("tilt_habit", "time", "longest time between tiltings", 1, 120, 15, **_PRACTICE),
    Term("tilt_interval", "time", "time between tiltings of the tray"),
    Term("pooling_interval", "time", "time in which spent liquor fills a third of the gap"),
    # paint
    Term("coats", "number", "coats of stop-out paint", 1, 10, 2, **_PRACTICE),
    Term("coat_thickness", "film", "dry film of one coat of stop-out", 2, 500, 25, spread=0.2,
         **_PRACTICE),
    Term("stop_out_solids", "share", "volume solids of the stop-out paint", 5, 100, 25, spread=0.1),
    Term("fill_solids", "share", "volume solids of the fill paint", 5, 100, 40, spread=0.1),
    Term("paint_loss", "share", "paint lost in brush and pot", 0, 90, 12, spread=0.15,
         status="published", source="brush_loss"),
    Term("stop_out_area", "area", "backs and edges of all blanks"),
    Term("stop_out_paint", "little volume", "stop-out paint for the backs and edges of all plates"),
    Term("fill_paint", "little volume", "wet paint that fills the lines of all plates"),
)
# fmt: on


def term(name: str) -> Term:
    """Return a term; raise KeyError for a word that the vocabulary lacks."""
    if name not in VOCABULARY:
        raise KeyError(f"the vocabulary has no word {name!r}")
    return VOCABULARY[name]
