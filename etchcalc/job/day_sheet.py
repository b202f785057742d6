"""A job by the clock: its entries, how long the hands are busy, what passes closing time, clashes.

Every instant stands in UTC, so that an hour is an hour where the clocks change; `Day.clock` says
what the clock on the wall then shows.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo

from etchcalc.job.clocks import beside

WARM = "Warm the bath"


@dataclass(frozen=True)
class Call:
    """A moment at which the tray wants somebody: when, in UTC, and what for."""

    at: datetime
    what: str


@dataclass(frozen=True)
class Entry:
    """One thing on the day sheet.

    Parameters
    ----------
    key : str
        The step of data/steps.toml.
    what : str
    begin, end : datetime
        In UTC.
    hands_on : bool
        The hands are busy; else it waits.
    tray_busy : bool
    rests : str
        How the work may be left overnight after this, such as "in the dark"; "" where it may not.
    calls : tuple of Call
    """

    key: str
    what: str
    begin: datetime
    end: datetime
    hands_on: bool
    tray_busy: bool
    rests: str = ""
    calls: tuple[Call, ...] = ()


@dataclass(frozen=True)
class Day:
    """A job by the clock.

    Parameters
    ----------
    title : str
        Of the commission.
    zone : tzinfo
        Of the clock on the wall.
    entries : tuple of Entry
        By their begin.
    warnings : tuple of str
        What passes closing time, and the like; whole sentences.
    """

    title: str
    zone: tzinfo
    entries: tuple[Entry, ...]
    warnings: tuple[str, ...] = ()

    @property
    def begin(self) -> datetime:
        """When the job begins, in UTC."""
        return self.entries[0].begin

    @property
    def end(self) -> datetime:
        """When the last of it ends, in UTC."""
        return max(entry.end for entry in self.entries)

    @property
    def hands_on(self) -> timedelta:
        """How long the hands are busy in all."""
        return sum((e.end - e.begin for e in self.entries if e.hands_on), timedelta())

    @property
    def waiting(self) -> timedelta:
        """How long the hands are free between begin and end."""
        return self.end - self.begin - self.hands_on

    @property
    def calls(self) -> tuple[Call, ...]:
        """Every tilt, look and lift, in order."""
        return tuple(sorted((c for e in self.entries for c in e.calls), key=lambda call: call.at))

    def clock(self, instant: datetime) -> str:
        """Return what the clock shows: "09:30", with the date on any day but the first."""
        return beside(instant, self.begin, self.zone)


@dataclass(frozen=True)
class Batch:
    """Plates that lie in the bath together: when they go in, are out, and are out at the latest."""

    begin: datetime
    end: datetime
    latest: datetime


def clashes(one: Day, other: Day) -> list[str]:
    """Return where two jobs want the one tray or the one pair of hands at once, as sentences."""
    found = []
    for what, wants in (("Tray", "tray_busy"), ("Hands", "hands_on")):
        for begin, end in _spans(one, wants):
            for first, last in _spans(other, wants):
                if max(begin, first) < min(end, last):
                    at, until = one.clock(max(begin, first)), one.clock(min(end, last))
                    found.append(
                        f"{what} busy from {at} to {until}: “{one.title}” and “{other.title}” at once."
                    )
    return found


def _spans(job: Day, wants: str) -> list[tuple[datetime, datetime]]:
    """Return when a job wants the tray or the hands, what follows without a gap as one."""
    found: list[tuple[datetime, datetime]] = []
    for entry in (e for e in job.entries if getattr(e, wants)):
        if found and entry.begin <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], entry.end)
        else:
            found.append((entry.begin, entry.end))
    return found


def warnings(job: Day, batches: list[Batch], opens: time, closes: time) -> list[str]:
    """Return what passes closing time or midnight, and a change of the clocks, as sentences.

    Parameters
    ----------
    job : Day
        Laid out.
    batches : list of Batch
        Of the etch.
    opens, closes : time
        By the clock on the wall.
    """
    first, last = (instant.astimezone(job.zone) for instant in (job.begin, job.end))
    found = []
    if not opens <= first.time() < closes:
        found.append(
            f"The job begins at {first:%H:%M}, outside opening time, {opens:%H:%M} to {closes:%H:%M}."
        )
    found += _past_closing(job, batches, _Hours(job, opens, closes))
    if last.date() > first.date():
        found.append(f"The job runs past midnight, to {last:%Y-%m-%d %H:%M}.")
    if first.utcoffset() != last.utcoffset():
        found.append(
            "The clocks change during this job: the times here are those that the clock then shows."
        )
    return found


class _Hours:
    """When the shop closes on the day of a job, and opens and closes on the next."""

    def __init__(self, job: Day, opens: time, closes: time) -> None:
        today = job.begin.astimezone(job.zone).date()
        tomorrow = today + timedelta(days=1)
        self.closing, self.opening, self.next_closing = (
            datetime.combine(date, clock, job.zone).astimezone(UTC)
            for date, clock in ((today, closes), (tomorrow, opens), (tomorrow, closes))
        )
        self.closes = f"{closes:%H:%M}"
        self.tomorrow = f"tomorrow, {tomorrow}, at {opens:%H:%M}"


def _past_closing(job: Day, batches: list[Batch], hours: _Hours) -> list[str]:
    """Return what would go on after closing time, and where to stop instead."""
    etch = next((batch for batch in batches if batch.latest > hours.closing), None)
    work = next((e for e in job.entries if e.hands_on and e.end > hours.closing), None)
    if etch is not None and (work is None or etch.begin <= work.begin):
        return [f"{_etch_past(job, etch, hours)}: {_etch_tomorrow(job, etch, hours)}"]
    if work is None:
        return []
    found = [
        f"“{work.what}” would pass closing time, {hours.closes}: {_tomorrow(job, work, hours)}"
    ]
    return found if etch is None else [*found, f"{_etch_past(job, etch, hours)}."]


def _tomorrow(job: Day, work: Entry, hours: _Hours) -> str:
    """Return where to stop before some work, and with what to go on."""
    rest = _rest(job, min(work.begin, hours.closing))
    if rest is None:
        return f"begin {hours.tomorrow}."
    after = (e for e in job.entries if e.hands_on and e.begin >= rest.end)
    then = next(e for e in after if e is work or not e.tray_busy)  # the tray is seen to beside
    return f"{_stop(job, rest)}, and go on {hours.tomorrow} with “{then.what}”."


def _etch_past(job: Day, etch: Batch, hours: _Hours) -> str:
    """Return that plates may still lie in the bath at closing time."""
    end, latest = job.clock(etch.end), job.clock(etch.latest)
    return (
        f"The etch should be done at about {end} but may take until {latest}; closing time is {hours.closes}, "
        "and it must never run unattended"
    )


def _etch_tomorrow(job: Day, etch: Batch, hours: _Hours) -> str:
    """Return where to stop before the plates go in, and when to put them in instead."""
    rest = _rest(job, min(etch.begin, hours.closing))
    stop = _stop(job, rest) if rest else "leave it for today"
    warming = sum((e.end - e.begin for e in job.entries if e.what.startswith(WARM)), timedelta())
    into = hours.opening + warming
    warm = (
        f"warm the bath {hours.tomorrow} and put the plates in at {into.astimezone(job.zone):%H:%M}"
    )
    said = f"{stop}, then {warm if warming else f'put the plates in {hours.tomorrow}'}."
    if into + (etch.latest - etch.begin) > hours.next_closing:
        said += (
            " It may take longer than the shop is open: then lift, rinse and dry the plates before closing "
            "time, and put them back the day after."
        )
    return said


def _rest(job: Day, before: datetime) -> Entry | None:
    """Return the last thing by whose end, not after `before`, the work can be left overnight."""
    good = [entry for entry in job.entries if entry.rests and entry.end <= before]
    return max(good, key=lambda entry: entry.end, default=None)


def _stop(job: Day, rest: Entry) -> str:
    return f"stop at {job.clock(rest.end)} after “{rest.what}”, leave it overnight {rest.rests}"
