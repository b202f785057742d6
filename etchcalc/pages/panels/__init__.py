"""Live panels for the workbooks: plain objects that show as widgets and read as text."""

from etchcalc.pages.panels.job_sheet import JobSheet, job_sheet

__all__ = ["JobSheet", "job_sheet"]
