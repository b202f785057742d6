"""What happens on the bench: one topic of physics or chemistry a file.

Importing the package registers every formula.
"""

from etchcalc.process import (
    bath,
    coatings,
    developing,
    etching,
    exposure,
    gauging,
    heating,
    hydrometer,
    plate,
    rates,
    solutions,
    standing,
    tray,
    undercut,
    waste,
)

__all__ = [
    "bath",
    "coatings",
    "developing",
    "etching",
    "exposure",
    "gauging",
    "heating",
    "hydrometer",
    "plate",
    "rates",
    "solutions",
    "standing",
    "tray",
    "undercut",
    "waste",
]
