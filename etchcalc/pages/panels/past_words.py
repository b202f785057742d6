"""What past jobs, baths and lessons look like: as a table, as lists, everything escaped."""

from collections.abc import Iterable
from html import escape
from pathlib import Path
from urllib.parse import quote

from etchcalc.core import tables
from etchcalc.core.faults import BadInput
from etchcalc.core.units import clock
from etchcalc.job import baths, corrections, keeping, learning
from etchcalc.job.memory import Job

HEAD = ("job", "client", "metal", "tray", "date", "foretold", "took")


def called(job: Job) -> str:
    """Return what a job is called among others of the same title."""
    return f"{job.title[:60]}, {job.date or 'not yet saved'} ({job.name})"


def listed(lines: Iterable[str]) -> str:
    """Return lines as a list; nothing where there are none."""
    found = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul>{found}</ul>" if found else ""


def table(root: Path, jobs: list[Job]) -> str:
    """Return jobs as a table; the title leads to the record where there is one."""
    if not jobs:
        return "<p>No job is found; type less, or another word.</p>"
    rows = "".join(_row(root, job) for job in jobs)
    heads = "".join(f"<th scope='col'>{words}</th>" for words in HEAD)
    return (
        f"<div class='etch-scroll'><table class='etch-table'><tr>{heads}</tr>{rows}</table></div>"
    )


def _row(root: Path, job: Job) -> str:
    title = escape(job.title)
    if (root / "commissions" / job.name / keeping.PAGE).exists():
        there = f"/files/commissions/{quote(job.name)}/{keeping.PAGE}"
        title = f"<a href='{there}' target='_blank'>{title}</a>"
    if job.fault:
        title += f"<br><span class='etch-aside' role='alert'>{escape(job.fault)}</span>"
    foretold = ""
    if job.foretold:
        early, middle, late = (clock(minutes) for minutes in job.foretold)
        foretold = f"{middle} ({early} to {late})"
    key = job.metal.partition(", ")[0]  # then all that people call it
    metal = tables.load("alloys.toml").get(key, {}).get("name", job.metal)
    took = clock(job.took) if job.took else ""
    cells = (job.client, metal, job.tray, job.date, foretold, took)
    said = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
    return f"<tr><th scope='row'>{title}</th>{said}</tr>"


def baths_html(root: Path, units: str) -> str:
    """Return the log of every bath of the shop."""
    found = []
    for path in sorted((root / "baths").glob("*.toml")):
        try:
            bath = baths.opened(path)
            found.append(f"<h3>{escape(bath.name)}</h3>{listed(baths.said(bath, units))}")
        except BadInput as fault:
            found.append(f"<p role='alert'><b>{escape(str(fault))}</b></p>")
    return "".join(found) or "<p>No bath has a log yet; one is begun with “Bath and time”.</p>"


def lessons_html(root: Path) -> str:
    """Return what each job taught, in a sentence."""
    try:
        entries = corrections.opened(learning.file_of(root)).entries
    except BadInput as fault:
        return f"<p role='alert'><b>{escape(str(fault))}</b></p>"
    lines = []
    for e in entries:
        told = f"{e.date}, {e.commission}: {e.rate:.3g} times the rate worked out, by {e.readings} readings"
        if e.etch_factor:
            told += f"; {e.etch_factor:.3g} times the usual etch factor"
        where = f"{e.metal}, lines of {e.line}, {e.tray}, {e.lies}, {e.moved}"
        lines.append(f"{told} ({where}).")
    return listed(lines) or "<p>No job has taught anything yet.</p>"
