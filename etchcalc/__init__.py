"""etchcalc: a calculation workbook for photo-etching metal plates to commission."""

__version__ = "0.1.0"
