"""What the shop knows beside a commission: the log of its bath, what earlier jobs taught."""

from dataclasses import replace
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.core.units import show
from etchcalc.job import baths, calibrate, corrections, learning, prices
from etchcalc.job.commission import Commission
from etchcalc.job.givens import Known
from etchcalc.job.plan import Plan, planned
from etchcalc.job.shop import shop_folder


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
    lessons = corrections.opened(learning.file_of(root))
    return Known(_bath(root, commission, name), lessons, name, prices.opened(root))


def _bath(root: Path, commission: Commission, name: str) -> baths.State | None:
    words = commission.words
    if words["bath_is"] != "used and written down" or not words["bath_name"]:
        return None
    return baths.state(_log(root, commission), without=name)


def known_to_file(path: Path, commission: Commission) -> Known:
    """Return what is known beside a commission's file: all that its shop knows, if it lies in one.

    A file that lies elsewhere is planned by itself, but for the log of a bath that it names.
    """
    folder = path.resolve().parent
    if folder.parent.name == "commissions":
        return known_to(folder.parents[1], commission, folder.name)
    return Known(bath=_bath(shop_folder(), commission, ""))


def enter_in_log(root: Path, plan: Plan, name: str, date: str) -> Path:
    """Enter a done commission in the log of its bath, begun where there is none; return the file.

    Parameters
    ----------
    root : Path
        The shop's folder.
    plan : Plan
        Of the commission, which names its bath.
    name : str
        Of the commission; entered again it takes the place of its old entry.
    date : str
        As 2026-02-01.

    Raises
    ------
    BadInput
        The commission names no bath, or the log cannot be meant so.
    """
    words = plan.commission.words
    _has_name(words["bath_name"])
    path = baths.path_of(root, words["bath_name"])
    if path.is_file():
        log = baths.opened(path)
    elif words["bath_is"] == "new":
        strength, volume = (
            show(plan.middle(n), kind, "metric", count=4, fixed=False)
            for n, kind in (("strength", "strength"), ("whole_bath", "volume"))
        )
        log = baths.checked(baths.Bath(words["bath_name"], strength, volume, date))
    else:
        raise BadInput(
            f"bath name: there is no log of “{words['bath_name']}”; a log begins with the job for which "
            "the bath was new."
        )
    metal = plan.commission.alloy["known_as"][0]
    log = baths.with_job(
        log, commission=name, date=date, metal=metal, metal_removed=plan.middle("metal_removed")
    )
    baths.keep(log, path)
    return path


def top_up(root: Path, commission: Commission, said: dict[str, str], date: str) -> Path:
    """Enter in the log of a commission's bath what was taken out and put in; return the file.

    Parameters
    ----------
    root : Path
        The shop's folder.
    commission : Commission
        Which names its bath.
    said : dict of str to str
        As of `baths.with_topping`.
    date : str
        As 2026-02-01.

    Raises
    ------
    BadInput
        The bath has no log, or it cannot be meant so.
    """
    _has_name(commission.words["bath_name"])
    log = baths.with_topping(_log(root, commission), date=date, said=said)
    path = baths.path_of(root, log.name)
    baths.keep(log, path)
    return path


def keep_lesson(root: Path, plan: Plan, name: str, date: str) -> Path:
    """Keep what the readings of a done commission taught, for the shop's next job.

    Parameters are those of `enter_in_log`.

    Raises
    ------
    BadInput
        There is no reading yet, or the file of corrections is faulty.
    """
    if not plan.commission.readings:
        raise BadInput("There is no gauge reading to learn from; add one first.")
    unread = replace(plan.commission, readings=())
    before = planned(unread, plan.drawing, None, plan.known)
    alone = learning.from_readings(plan.commission, before.book, before.history, calibrate.ALONE)
    path = learning.file_of(root)
    corrections.kept(path, learning.entry(plan.commission, before.book, alone, name, date))
    return path


def _has_name(bath: str) -> None:
    if not bath:
        raise BadInput("bath name: type what is written on the bottle first.")


def _log(root: Path, commission: Commission) -> baths.Bath:
    path = baths.path_of(root, commission.words["bath_name"])
    if not path.is_file():
        names = sorted(p.stem for p in (root / "baths").glob("*.toml"))
        there = (
            f"type one of {', '.join(names)}"
            if names
            else "a log begins with the job for which the bath was new"
        )
        raise BadInput(
            f"bath name: there is no log of “{commission.words['bath_name']}” in this shop; {there}, or leave the name out."
        )
    return baths.opened(path)
