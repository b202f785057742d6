"""The etch that runs: what was done at the bath and when, kept beside the commission.

``running.json`` holds every press of a bar as an event with its own id, and nothing is ever
taken out of it: what was undone is named by an event of its own. So two pages that write at
once lose nothing: whoever writes reads the newest first and writes the union of both.
"""

import json
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta, tzinfo
from pathlib import Path

from etchcalc.core.faults import BadInput
from etchcalc.job import files
from etchcalc.job.clocks import read_clock

NAME, SCHEMA = "running.json", 2  # 1 knew no stopping out
# In the order of a job; `out` and `in` are the plates lifted and laid back, measured. `stopped` is
# lifted too: of a plate with two depths the fine lines are stopped out then.
DONE = ("started", "tilted", "moved", "looked", "gauged", "watered", "stopped", "out", "in", "ended", "undone")  # fmt: skip
LIFTS = ("looked", "gauged")
_OUT = ("stopped", "out")
_BACK_WITHIN = timedelta(hours=12)


@dataclass(frozen=True)
class Event:
    """One thing done at the bath.

    Parameters
    ----------
    kind : str
        Of `DONE`.
    at : datetime
        The instant, with its zone.
    said : dict of str to str
        What belongs to it: a reading as typed, the water added, of what it is the undoing.
    """

    kind: str
    at: datetime
    said: dict[str, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """Its instant and what it is; of an undoing, what it undoes, so that twice is once."""
        when = self.said.get("of") or self.at.astimezone(UTC).isoformat(timespec="milliseconds")
        return f"{self.kind} {when}"


@dataclass(frozen=True)
class Running:
    """All that was noted of one load in the bath.

    Parameters
    ----------
    name : str
        Told apart by it from the load before; "" where no file is there yet.
    events : tuple of Event
        In the order in which they were noted.
    version : int
        One more with each writing.
    """

    name: str = ""
    events: tuple[Event, ...] = ()
    version: int = 0

    @property
    def held(self) -> list[Event]:
        """What was done and not undone, as noted."""
        undone = {e.said.get("of") for e in self.events if e.kind == "undone"}
        return [e for e in self.events if e.kind != "undone" and e.id not in undone]

    @property
    def started(self) -> datetime | None:
        """When the plates went in."""
        return self._first.at if self._first else None

    @property
    def _first(self) -> Event | None:
        return min((e for e in self.held if e.kind == "started"), key=_order, default=None)

    @property
    def ended(self) -> datetime | None:
        """When they came out for good."""
        return min((e.at for e in self.held if e.kind == "ended"), default=None)

    @property
    def stopped(self) -> datetime | None:
        """When they were lifted to stop the fine lines out."""
        return min((e.at for e in self.held if e.kind == "stopped"), default=None)

    @property
    def readings_before(self) -> int:
        """How many readings the commission had when the plates went in: not of this load."""
        return int(self._first.said.get("readings", "0")) if self._first else 0

    def last(self, *kinds: str) -> Event | None:
        """Return the latest event of some kinds."""
        return max((e for e in self.held if e.kind in kinds), key=_order, default=None)

    @property
    def out_since(self) -> datetime | None:
        """When the plates were lifted, where they have not been laid back."""
        back = self.last("in")
        lifted = (e for e in self.held if e.kind in _OUT)
        return min((e.at for e in lifted if not back or _order(e) > _order(back)), default=None)

    def joined(self, *more: Event) -> "Running":
        """Return the state with events that it does not have yet."""
        known = {e.id for e in self.events}
        new = {e.id: e for e in more if e.id not in known}
        return replace(self, events=(*self.events, *new.values()))

    def minutes_at(self, now: datetime, pause: timedelta) -> float:
        """Return the minutes in the bath until an instant, what the plates were out taken off.

        Parameters
        ----------
        now : datetime
        pause : timedelta
            Taken off for a look or a gauging; where lifting and laying back were noted, that counts.
        """
        if self.started is None:
            return 0.0
        end = min(now, self.ended or now)
        away = sum(
            (max(min(b, end) - max(a, self.started), timedelta()) for a, b in self._away(end, pause)),
            timedelta(),
        )  # fmt: skip
        return max((end - self.started - away) / timedelta(minutes=1), 0.0)

    def pause_left(self, now: datetime, pause: timedelta) -> timedelta:
        """Return how much of a look's or gauging's pause is still to come."""
        left = [b - now for a, b in self._away(now, pause) if a <= now < b]
        return max(left, default=timedelta())

    def _away(self, now: datetime, pause: timedelta) -> list[tuple[datetime, datetime]]:
        """Return when the plates were out, one stretch after the other, none twice."""
        found, since = [], None
        for event in sorted(self.held, key=_order):
            if event.kind in _OUT and since is None:
                since = event.at
            elif event.kind == "in" and since is not None:
                found.append((since, event.at))
                since = None
        if since is not None:
            found.append((since, max(now, since)))
        lifts = [e.at for e in self.held if e.kind in LIFTS]
        assumed = [
            (at, at + pause)
            for at in lifts
            if not any(a - pause <= at <= b + pause for a, b in found)
        ]
        whole: list[tuple[datetime, datetime]] = []
        for a, b in sorted([*found, *assumed]):
            if whole and a <= whole[-1][1]:
                whole[-1] = whole[-1][0], max(b, whole[-1][1])
            else:
                whole.append((a, b))
        return whole


def _order(event: Event) -> tuple[datetime, int]:
    """Return by what events follow each other: the instant, and at one instant the order of a job."""
    return event.at, DONE.index(event.kind)


NOTHING = Running()


# ---- the file


def opened(folder: Path) -> tuple[Running, str]:
    """Return what a commission's folder holds of a running etch, and a sentence where it was damaged.

    A damaged file is set aside whole.

    Raises
    ------
    BadInput
        It cannot be read at all, or a newer version of the program wrote it.
    """
    path = folder / NAME
    try:
        return _understood(path.read_bytes()), ""
    except FileNotFoundError:
        return NOTHING, ""
    except OSError as fault:
        raise BadInput(f"{NAME} cannot be read ({fault.strerror}).") from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        if isinstance(fault, BadInput):
            raise
        aside = _aside(path, "damaged")
        return NOTHING, (
            f"What was noted of the etch that runs could not be read: it is set aside whole as {aside}. "
            "Type when the plates went in and go on; gauge readings stand in the commission."
        )


def note(folder: Path, *events: Event, known: Running = NOTHING) -> tuple[Running, str]:
    """Add events to the file: what others wrote meanwhile stays.

    Parameters
    ----------
    folder : Path
        Of the commission.
    events : Event
    known : Running
        What the page that writes has seen: it goes in again where the file has lost it.

    Returns
    -------
    Running, str
        What the file holds now; a sentence as `opened` gives it.

    Raises
    ------
    BadInput
        The folder cannot be written; the file is unchanged.
    """
    with files.alone(folder, NAME):
        found, told = opened(folder)
        if not found.name:
            found = replace(found, name=known.name or (events[0].id if events else ""))
        before = known.events if known.name in ("", found.name) else ()
        merged = found.joined(*before, *events)
        merged = replace(merged, version=max(found.version, known.version) + 1)
        files.write_whole(folder / NAME, _text(merged).encode())
    return merged, told


def undoing(last: Event, now: datetime) -> Event:
    """Return the event that takes another back."""
    return Event("undone", now, {"of": last.id})


def another(folder: Path, now: datetime) -> Running:
    """Put the file of a load that is done aside, and begin that of the next."""
    with files.alone(folder, NAME):
        if (folder / NAME).exists():
            _aside(folder / NAME, f"{now.astimezone(UTC):%Y-%m-%d-%H%M}")
        fresh = Running(f"load {now.astimezone(UTC).isoformat(timespec='milliseconds')}", (), 1)
        files.write_whole(folder / NAME, _text(fresh).encode())
    return fresh


def stamp(folder: Path) -> tuple[str, int, int]:
    """Return what changes when another page has written the file."""
    with suppress(OSError):
        found = (folder / NAME).stat()
        return folder.name, found.st_mtime_ns, found.st_size
    return folder.name, 0, 0


def _aside(path: Path, why: str) -> str:
    """Rename a file out of the way, over no other; return its name then."""
    numbers = (f"-{n}" if n > 1 else "" for n in range(1, 10_000))
    names = (path.with_name(f"{path.stem}-{why}{number}.json") for number in numbers)
    free = next(name for name in names if not name.exists())
    try:
        path.rename(free)
    except FileNotFoundError:  # another page has just done it
        pass
    except OSError as fault:
        raise BadInput(
            f"{path.name} cannot be set aside ({fault.strerror}); move it out of {path.parent}."
        ) from None
    return free.name


def _text(running: Running) -> str:
    rows = [{"id": e.id, "kind": e.kind, "at": e.at.isoformat(), **e.said} for e in running.events]
    whole = {"schema": SCHEMA, "name": running.name, "version": running.version, "events": rows}
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _understood(content: bytes) -> Running:
    said = json.loads(content)
    if said["schema"] > SCHEMA:
        raise BadInput(f"{NAME} was written by a newer version of this program; use that one.")
    events = []
    for row in said["events"]:
        more = {k: str(v) for k, v in row.items() if k not in ("id", "kind", "at")}
        event = Event(row["kind"], datetime.fromisoformat(row["at"]), more)
        if event.kind not in DONE or event.at.tzinfo is None:
            raise ValueError(row)
        if event.kind == "started":
            int(more.get("readings", "0"))
        events.append(event)
    return Running(str(said["name"]), tuple(events), int(said["version"]))


# ---- clocks


def clock_before(text: str, now: datetime, zone: tzinfo | None = None) -> datetime:
    """Return the instant, in UTC, at which the clock on the wall last showed a time.

    Parameters
    ----------
    text : str
        Such as ``13:05``.
    now : datetime
    zone : tzinfo, optional
        The zone of this computer where none is given.

    Raises
    ------
    BadInput
        It is no time of the day, or was more than twelve hours ago.
    """
    wanted: time = read_clock(text, "time")
    today = now.astimezone(zone)
    found = []
    for day in (today.date(), today.date() - timedelta(days=1)):
        for fold in (0, 1):  # the hour that comes twice in autumn
            wall = datetime.combine(day, wanted).replace(fold=fold)
            instant = (wall.replace(tzinfo=zone) if zone else wall).astimezone(UTC)
            back = instant.astimezone(zone)
            if back.time().replace(fold=0) == wanted and now - _BACK_WITHIN <= instant <= now:
                found.append(instant)
    if not found:
        raise BadInput(
            f"time: {text.strip()} is still to come, or more than 12 hours ago; type when the plates went in, "
            f"such as {today:%H:%M}, or leave it empty for now."
        )
    return max(found)


def on_the_wall(
    instant: datetime, now: datetime, zone: tzinfo | None = None, later: bool = False
) -> str:
    """Return what the clock shows at an instant: ``14:40``, ``tomorrow 02:10``.

    Parameters
    ----------
    instant, now : datetime
    zone : tzinfo, optional
        The zone of this computer where none is given.
    later : bool
        The next whole minute, not the last.
    """
    seconds = timedelta(seconds=59 if later else 0)
    local, today = (instant + seconds).astimezone(zone), now.astimezone(zone)
    days = (local.date() - today.date()).days
    day = {0: "", 1: "tomorrow ", -1: "yesterday "}.get(days, f"{local:%Y-%m-%d} ")
    return f"{day}{local:%H:%M}{' (the second time)' if local.fold else ''}"
