"""The words of spent etchant, rinse water, what the carrier takes."""

import numpy as np

from etchcalc.core import tables
from etchcalc.core.term import PRACTICE, Term

_COPPER_LIMIT = next(row for row in tables.rows("discharge_limits.csv") if row["metal"] == "copper")

# fmt: off
WORDS: tuple[Term, ...] = (
    # the spent bath, for the carrier's sheet
    Term("metal_taken_up", "mass", "metal in the whole bath after the commission, for the carrier's sheet",
         0, np.inf, 20),
    Term("alloy_share", "share", "one metal's share of the alloy, by mass", 0, 100, 37),
    Term("waste_metal", "mass", "one metal of the alloy in the spent bath, for the carrier's sheet"),
    Term("waste_copper", "mass", "copper in the spent bath, for the carrier's sheet"),
    Term("waste_zinc", "mass", "zinc in the spent bath, for the carrier's sheet"),
    Term("waste_nickel", "mass", "nickel in the spent bath, for the carrier's sheet"),
    Term("waste_tin", "mass", "tin in the spent bath, for the carrier's sheet"),
    Term("waste_lead", "mass", "lead in the spent bath, for the carrier's sheet"),
    Term("waste_iron", "mass", "iron in the spent bath, for the carrier's sheet", 0, np.inf, 310),
    Term("waste_chloride", "mass", "chloride in the spent bath, for the carrier's sheet", 0, np.inf, 590),
    Term("waste_water", "mass", "water in the spent bath, that of the crystals counted"),
    Term("waste_mass", "mass", "mass of the spent bath, for the carrier's sheet"),
    Term("waste_part", "mass", "one thing that the spent bath holds", 0, np.inf, 310),
    Term("waste_in_litre", "metal in bath", "one thing in a litre of the spent bath, for the carrier's sheet"),
    Term("iron_in_bath", "metal in bath", "iron in a litre of the spent bath"),
    Term("zinc_in_bath", "metal in bath", "zinc in a litre of the spent bath"),
    Term("nickel_in_bath", "metal in bath", "nickel in a litre of the spent bath"),
    Term("tin_in_bath", "metal in bath", "tin in a litre of the spent bath"),
    Term("lead_in_bath", "metal in bath", "lead in a litre of the spent bath"),
    Term("chloride_in_bath", "metal in bath", "chloride in a litre of the spent bath"),
    Term("soda_in_bath", "metal in bath", "anhydrous soda that a litre of the spent bath would take up"),
    # never a step: what the carrier has to deal with
    Term("soda_taken_up", "mass",
         "anhydrous soda that the spent bath would take up, for the carrier's sheet: never done at the bench",
         0, np.inf, 880),
    Term("carbon_dioxide", "volume", "gas at 20 °C that so much soda would give off, for the carrier's sheet"),
    Term("sludge_when_dry", "mass",
         "dry hydroxides of all metals in the spent bath, for the carrier's sheet; wet, several times that"),
    # the rinse
    Term("drag_out", "drag-out", "etchant that clings to an area of plate when it is lifted",
         0.01, 2, 0.15, spread=0.2, **PRACTICE),
    Term("wetted_area", "area", "both faces of all blanks", 0, np.inf, 250),
    Term("carried_over", "little volume", "etchant that the plates carry into the rinse", 0, np.inf, 4),
    Term("rinse_volume", "volume", "water in the rinse", 0.1, 1000, 10, **PRACTICE),
    Term("rinse_share", "share", "what a litre of the rinse holds, over what the liquor before it holds",
         0, 100, 0.04),
    Term("rinse_copper", "metal in rinse", "copper in a litre of the first rinse, for the carrier's sheet"),
    Term("rinse_content", "metal in rinse", "one thing in a litre of a rinse, for the carrier's sheet"),
    Term("content_before", "metal in bath", "one thing in a litre of the liquor before the rinse",
         0, 1000, 100),
    Term("rinse_iron", "metal in rinse", "iron in a litre of the first rinse, for the carrier's sheet"),
    Term("rinse_zinc", "metal in rinse", "zinc in a litre of the first rinse, for the carrier's sheet"),
    Term("rinse_nickel", "metal in rinse", "nickel in a litre of the first rinse, for the carrier's sheet"),
    Term("rinse_lead", "metal in rinse", "lead in a litre of the first rinse, for the carrier's sheet"),
    Term("rinse_soda", "metal in rinse",
         "acid of the first rinse, told as the anhydrous soda that a litre would take up"),
    Term("second_rinse_copper", "metal in rinse", "copper in a litre of the second rinse, after the first"),
    Term("content_of_rinse", "metal in rinse", "metal in a litre of a rinse", 0, np.inf, 4),
    Term("sewer_limit", "metal in rinse",
         "published limit to a sewer, to show the scale: American, on any one day, of copper where not said",
         0.001, 1000, float(_COPPER_LIMIT["daily"]), status="published", source=_COPPER_LIMIT["source"]),
    Term("times_over_limit", "number", "how many times a published limit a rinse holds"),
)
# fmt: on
