"""The words of how plates stand in the tray: spacers, layout, levels."""

import numpy as np

from etchcalc.core.term import PRACTICE, Term

# fmt: off
WORDS: tuple[Term, ...] = (
    # spacers
    Term("ferric_at_once", "mass", "crystals that the plates lying in the tray at once use up", 0, 1e6, 12),
    Term("needed_spacer_height", "size", "height of spacers under which enough ferric lies for the open metal"),
    Term("elastic_modulus", "stiffness", "stiffness of the metal; of the sheets etched here brass has nearly the least",
         1, 500, 103, spread=0.045, status="data sheet", source="brass_stiffness"),
    Term("accepted_sag", "fine", "sag of a plate between its spacers that does no harm", 0.001, 10, 0.2, **PRACTICE),
    Term("sag", "fine", "sag of a plate between two spacers"),
    Term("spacer_span", "size", "how far apart the spacers under a plate stand", 1, 3000, 150),
    Term("spacer_count", "number", "spacers under one plate", 3, 10000, 3),
    Term("spacer_foot", "area", "area of one spacer, seen from above", 0.01, 1000, 1, **PRACTICE),
    Term("spacers_volume", "little volume", "volume of the spacers in the tray"),
    # what else lies in the tray
    Term("heater_length", "size", "what a heater in the tray takes along its length; nothing where none lies in it",
         0, 3000, 0, **PRACTICE),
    Term("heater_width", "size", "what a heater in the tray takes along its width; nothing where none lies in it",
         0, 3000, 0, **PRACTICE),
    # tilting and level
    Term("tray_depth", "size", "height of the tray's walls inside", 10, 1000, 65, **PRACTICE),
    Term("slosh_margin", "size", "wall left above the etchant at the low end when the tray is tilted", 0, 200, 10,
         **PRACTICE),
    Term("tilt_slope", "share", "rise of the tilted tray's floor over its length", -np.inf),
    Term("greatest_tilt", "size", "how far one end of the tray may be lifted", -np.inf),
    Term("bench_slope", "share", "rise of the bench over a length; 1 % is 10 mm in a metre", 0, 20, 0.5, **PRACTICE),
    Term("face_cover", "size", "etchant above the under face of the plates", -np.inf),
    Term("shim_needed", "size", "shim under the tray's low end; nothing where the etchant touches all faces without"),
    # water
    Term("water_each_look", "little volume", "warm water to add at each look"),
    Term("lid_saving", "share", "share of an open tray's loss that a lid keeps in"),
)
# fmt: on
