"""What the shop knows beside a commission: the log of its bath, what earlier jobs taught."""

from dataclasses import replace
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.job import baths
from etchcalc.job.commission import Commission
from etchcalc.job.givens import Known


def known_to(root: Path, commission: Commission, name: str = "") -> Known:
    """Return what the shop's folder tells of a commission.

    Parameters
    ----------
    root : Path
        The shop's folder.
    commission : Commission
    name : str
        Of the commission, whose own entry in the bath's log is not counted before it is done.

    Raises
    ------
    BadInput
        The bath that the commission names has no log, or a faulty one.
    """
    known = Known()
    if commission.words["bath_is"] == "used and written down" and commission.words["bath_name"]:
        known = replace(known, bath=baths.state(_log(root, commission), without=name))
    return known


def _log(root: Path, commission: Commission) -> baths.Bath:
    path = baths.path_of(root, commission.words["bath_name"])
    if not path.is_file():
        names = sorted(p.stem for p in (root / "baths").glob("*.toml"))
        there = f"type one of {', '.join(names)}" if names else "enter a job of it in the log first"
        raise BadInput(
            f"bath name: there is no log of “{commission.words['bath_name']}” in this shop; {there}, or leave the name out."
        )
    return baths.opened(path)
