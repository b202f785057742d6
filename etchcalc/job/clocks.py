"""Days and clocks as people type them, in the time zone of the shop, and as the page shows them."""

import re
from datetime import UTC, datetime, time, tzinfo
from zoneinfo import ZoneInfo

import tzlocal

from etchcalc.core.faults import BadInput

USUAL_ZONE = "UTC"  # taken where none is said
_CLOCK = r"(\d{1,2})[:.](\d{2})"
_START = re.compile(rf"(2\d{{3}})-(\d{{1,2}})-(\d{{1,2}})[ T]+{_CLOCK}(?:\s+(first|second))?", re.A)
_EXAMPLE = "type a day and a time such as 2027-03-26 08:30"


def read_zone(text: str) -> ZoneInfo:
    """Return a time zone by its name in the tz database, such as ``Europe/London``.

    Raises
    ------
    BadInput
    """
    try:
        return ZoneInfo(text.strip())
    except (KeyError, ValueError, OSError):  # not found; no such name; a folder of zones
        raise BadInput(
            f"time zone: “{text}” is not one that is known here; type one such as Europe/London or America/New_York."
        ) from None


def own_zone() -> str:
    """Return the name of this computer's time zone; "" where it cannot be told."""
    now = datetime.now().astimezone()
    try:
        zone = read_zone(tzlocal.get_localzone_name() or "")
    except (BadInput, LookupError, ValueError, OSError):  # LookupError: two settings contradict
        return ""
    # the clock may go by a rule without a name, whatever name stands elsewhere
    return zone.key if now.astimezone(zone).utcoffset() == now.utcoffset() else ""


def read_clock(text: str, what: str) -> time:
    """Return a time of the day; `what` it is begins the sentence where it is none.

    Raises
    ------
    BadInput
    """
    found = re.fullmatch(_CLOCK, text.strip(), re.A)
    hour, minute = map(int, found.groups()) if found else (99, 0)
    if hour > 23 or minute > 59:
        raise BadInput(f"{what}: “{text}” is not a time of the day; type one such as 17:30.")
    return time(hour, minute)


def read_start(text: str, zone: str) -> datetime:
    """Return the instant that a day and a time on the wall mean.

    Parameters
    ----------
    text : str
        Such as ``2027-03-26 08:30``; of an hour that comes twice, with ``first`` or ``second``.
    zone : str
        As `read_zone` takes it.

    Returns
    -------
    datetime
        In that zone.

    Raises
    ------
    BadInput
        It is no such day or time, the clocks leave it out, or they show it twice.
    """
    where = read_zone(zone)
    found = _START.fullmatch(text.strip())
    if not found:
        raise BadInput(f"start: “{text}” is not a day and a time; {_EXAMPLE}.")
    *numbers, which = found.groups()
    try:
        wall = datetime(*(int(number) for number in numbers))  # type: ignore[arg-type]
    except ValueError:
        raise BadInput(f"start: there is no “{text.strip()}”; {_EXAMPLE}.") from None
    return _instant(wall, where, which or "")


def _instant(wall: datetime, zone: ZoneInfo, which: str) -> datetime:
    """Return the instant at which the clock shows `wall`; which of them, where there are two."""
    first, second = (
        wall.replace(tzinfo=zone, fold=fold).astimezone(UTC).astimezone(zone) for fold in (0, 1)
    )
    if first.replace(tzinfo=None) != wall:
        raise BadInput(
            f"start: the clocks in {zone.key} leave out {wall:%Y-%m-%d %H:%M}; "
            f"do you mean {second:%Y-%m-%d %H:%M} or {first:%Y-%m-%d %H:%M}? type that."
        )
    if first.utcoffset() != second.utcoffset() and not which:
        raise BadInput(
            f"start: the clocks in {zone.key} show {wall:%Y-%m-%d %H:%M} twice; which do you mean? type "
            f"{wall:%Y-%m-%d %H:%M} first or {wall:%Y-%m-%d %H:%M} second."
        )
    return second if which == "second" else first


def beside(instant: datetime, first: datetime, zone: tzinfo) -> str:
    """Return what the clock shows: ``09:30``; with the date where it is not the day of `first`."""
    local = instant.astimezone(zone)
    date = "" if local.date() == first.astimezone(zone).date() else f"{local:%Y-%m-%d} "
    again = " (the second time)" if local.fold else ""
    return f"{date}{local:%H:%M}{again}"
