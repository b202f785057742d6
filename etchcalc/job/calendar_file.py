"""The day sheet as a calendar's file (iCalendar, RFC 5545), with an alarm at every tilt, look and lift.

Instants stand in UTC, which every calendar shows by its own clock, right where the clocks change.
"""

from collections import Counter
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from icalendar import Alarm, Calendar, Event

import etchcalc
from etchcalc.job.day_sheet import Call, Day, Entry


def calendar_text(job: Day, *, name: str, stamp: datetime) -> bytes:
    """Return a day as the content of a calendar's file.

    Parameters
    ----------
    job : Day
    name : str
        Of the commission's folder: a day saved anew replaces the one that the calendar has.
    stamp : datetime
        When the file is made, with a time zone.

    Returns
    -------
    bytes
        UTF-8, as a file ``.ics`` holds it.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//etchcalc//{etchcalc.__version__}//EN")
    calendar.add("version", "2.0")
    number: Counter[str] = Counter()
    for entry in job.entries:
        number[entry.key] += 1
        uid = sha256(f"{name}\n{entry.key}\n{number[entry.key]}".encode()).hexdigest()[:32]
        calendar.add_component(_event(entry, job.title, f"{uid}@etchcalc", stamp))
    return calendar.to_ical()


def _event(entry: Entry, title: str, uid: str, stamp: datetime) -> Event:
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp.astimezone(UTC))
    event.add("summary", _one_line(f"{title}: {entry.what}"))
    event.add("dtstart", entry.begin)
    event.add("dtend", entry.end)
    event.add("transp", "OPAQUE" if entry.hands_on else "TRANSPARENT")
    for call in entry.calls:
        event.add_component(_alarm(call, call.at - entry.begin))
    return event


def _alarm(call: Call, after: timedelta) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _one_line(call.what))
    alarm.add("trigger", after)
    return alarm


def _one_line(text: str) -> str:
    """Return a text without the signs that a calendar's file may not hold; it escapes the rest."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
