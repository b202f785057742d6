"""What happens on the bench: one topic of physics or chemistry a file.

Importing the package registers every formula.
"""

from etchcalc.process import (
    bath,
    coatings,
    etching,
    gauging,
    heating,
    hydrometer,
    plate,
    rates,
    solutions,
    tray,
    undercut,
)

__all__ = [
    "bath",
    "coatings",
    "etching",
    "gauging",
    "heating",
    "hydrometer",
    "plate",
    "rates",
    "solutions",
    "tray",
    "undercut",
]
