"""What happens on the bench: one topic of physics or chemistry a file.

Importing the package registers every formula.
"""

from etchcalc.process import bath, coatings, etching, plate, rates, solutions, tray, undercut

__all__ = ["bath", "coatings", "etching", "plate", "rates", "solutions", "tray", "undercut"]
