"""When the shop is open: the day of a commission by the clock, other jobs beside it, the earliest day."""

from collections.abc import Iterator
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from math import ceil

from etchcalc.core.faults import BadInput
from etchcalc.job import clocks, schedule
from etchcalc.job.commission import Commission
from etchcalc.job.known import known_to
from etchcalc.job.plan import Plan, planned
from etchcalc.job.schedule import Day
from etchcalc.job.shop import Shop

# Taken where the commission says nothing.
USUAL = {"opens": "08:00", "closes": "17:30", "zone": clocks.USUAL_ZONE}
MOST, NEAR = 20, timedelta(days=14)  # jobs that are read beside one, and how near their start is


def hours(commission: Commission) -> tuple[time, time]:
    """Return when the shop opens and closes, by the clock on the wall."""
    opens, closes = (clocks.read_clock(said(commission, n), n) for n in ("opens", "closes"))
    return opens, closes


def said(commission: Commission, name: str) -> str:
    """Return one of `USUAL` as the commission says it, else as usual."""
    return commission.words[name] or USUAL[name]


def day_of(plan: Plan) -> Day | None:
    """Return the day of a plan by the clock; None where nobody has said when it starts.

    Raises
    ------
    BadInput
        A time of the plan has no end, or the shop closes before it opens.
    """
    start = _start(plan.commission)
    return _laid(plan, start) if start else None


def _start(commission: Commission) -> datetime | None:
    text = commission.words["starts"]
    return clocks.read_start(text, said(commission, "zone")) if text else None


def _laid(plan: Plan, start: datetime) -> Day:
    opens, closes = hours(plan.commission)
    return schedule.day(plan, start, opens=opens, closes=closes)


def minutes_left(plan: Plan) -> float | None:
    """Return the minutes from when the plates go in until the shop closes that day.

    None where nobody has said when the day starts, or it cannot be laid out; nothing where they
    would go in after closing time.
    """
    with suppress(BadInput):
        job = day_of(plan)
        first = (
            next((e for e in job.entries if e.key == "etch" and e.tray_busy), None) if job else None
        )
        if job and first:
            begun = first.begin.astimezone(job.zone)
            closing = datetime.combine(begun.date(), hours(plan.commission)[1], job.zone)
            return max(0.0, (closing - begun).total_seconds() / 60)
    return None


def earliest(plan: Plan, today: date) -> date | None:
    """Return the earliest day on which a job is done that is begun tomorrow as the shop opens.

    Work and waiting are laid over the hours in which the shop is open; every day counts, and
    nothing else is on the bench. None where the shop closes before it opens.

    Parameters
    ----------
    plan : Plan
    today : date
    """
    opens, closes = hours(plan.commission)
    first = today + timedelta(days=1)
    with suppress(BadInput):
        start = datetime.combine(first, opens, clocks.read_zone(said(plan.commission, "zone")))
        job = _laid(plan, start)
        open_for = datetime.combine(first, closes) - datetime.combine(first, opens)
        return first + timedelta(days=ceil((job.end - job.begin) / open_for) - 1)
    return None


class Beside:
    """The days of the shop's other jobs, each planned once for as long as its file stays.

    Parameters
    ----------
    shop : Shop
    """

    def __init__(self, shop: Shop):
        self._shop = shop
        self._kept: dict[str, tuple[int, Day]] = {}

    def clashes(self, job: Day, name: str) -> list[str]:
        """Return where a job and another one want tray or hands at once, as sentences.

        Of the newest jobs only, that are not done and start within two weeks of this one; each
        is planned without its drawing, by the open metal that it says. One that cannot be read
        gets a sentence.

        Parameters
        ----------
        job : Day
        name : str
            Of its commission.
        """
        found = []
        for other, stamp in self._newest(name):
            try:
                day = self._day(other, stamp, job)
                found += schedule.clashes(job, day) if day else []
            except BadInput:
                found.append(f"The job in the folder {other} cannot be read and is passed over.")
        return found

    def _newest(self, name: str) -> Iterator[tuple[str, int]]:
        stamps = []
        for other in self._shop.names:
            with suppress(OSError, BadInput):
                path = self._shop.folder(other) / "commission.toml"
                stamps.append((path.stat().st_mtime_ns, other))
        newest = sorted(stamps, reverse=True)[: MOST + 1]
        yield from [(other, stamp) for stamp, other in newest if other != name][:MOST]

    def _day(self, name: str, stamp: int, job: Day) -> Day | None:
        if self._kept.get(name, (0,))[0] == stamp:
            return self._kept[name][1]
        commission = self._shop.open(name)
        start = _start(commission)
        if commission.words["done_on"] or not start or abs(start - job.begin) > NEAR:
            return None
        day = day_of(planned(commission, known=known_to(self._shop.root, commission, name)))
        assert day
        self._kept[name] = stamp, day
        return day
