"""Live panels for the workbooks: plain objects that show as widgets and read as text."""

from etchcalc.pages.panels.bath_and_time import BathAndTime, bath_and_time
from etchcalc.pages.panels.bench import Bench, bench
from etchcalc.pages.panels.film import FilmDesk, film
from etchcalc.pages.panels.job_sheet import JobSheet, job_sheet
from etchcalc.pages.panels.lesson import LessonPanel, lesson
from etchcalc.pages.panels.records_and_price import RecordsAndPrice, records_and_price
from etchcalc.pages.panels.running_etch import RunningEtch, running_etch

__all__ = [
    "BathAndTime", "Bench", "FilmDesk", "JobSheet", "LessonPanel", "RecordsAndPrice", "RunningEtch",
    "bath_and_time", "bench", "film", "job_sheet", "lesson", "records_and_price", "running_etch",
]  # fmt: skip
