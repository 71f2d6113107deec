"""Calendar entries as an iCalendar file (RFC 5545), the same bytes for the same entries.

An entry's UID comes from client, kind and slot alone. So the file of a later plan updates what
an earlier file put into a calendar; SEQUENCE counts the days of plans and says which is newer.
"""

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event

from assistant.report.calendar import Entry
from assistant.report.ics_zone import time_zone

# Fixed for good: another value would make every entry in every client's calendar a stranger.
_NAMESPACE = uuid.UUID("6f0f2d0e-5d0b-5f0a-9a37-2f6b8d1c4e75")
SLOT = "X-WHYPLAN-SLOT"
_FIRST_SEQUENCE = dt.date(2020, 1, 1)


@dataclass(frozen=True)
class Heading:
    """What stands at the head of a file: its name, whose it is, the day of the plan, the zone."""

    name: str
    identity: str
    as_of: dt.date
    zone: ZoneInfo


def entry_uid(identity: str, kind: str, slot: str) -> str:
    """Return the UID of an entry: a UUID (RFC 7986 asks for one) of client, kind and slot."""
    return str(uuid.uuid5(_NAMESPACE, f"{identity}\x1f{kind}\x1f{slot}"))


def sequence_of(as_of: dt.date) -> int:
    """Return the sequence number of a plan's entries: later plans have higher ones."""
    return max(0, (as_of - _FIRST_SEQUENCE).days)


def events(entries: Iterable[Entry], heading: Heading) -> list[Event]:
    """Return the entries as events."""
    return [_event(entry, heading) for entry in entries]


def ics_bytes(made: list[Event], heading: Heading) -> bytes:
    """Return the file with the time zone its events need. Raises ValueError without events."""
    if not made:
        raise ValueError("a calendar without entries is no calendar")
    calendar = Calendar()
    calendar.add("prodid", "-//whyplan//plan//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", heading.name)
    calendar.add("x-wr-calname", heading.name)
    for zone, days in sorted(_zones(made).items()):
        calendar.add_component(time_zone(ZoneInfo(zone), min(days), max(days)))
    for event in made:
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    return content


def _zones(made: list[Event]) -> dict[str, list[dt.date]]:
    """Return the zones the events name, each with the days it is needed for."""
    needed: dict[str, list[dt.date]] = {}
    for event in made:
        start: Any = event["DTSTART"]
        zone = start.params.get("TZID")
        if zone is not None:
            needed.setdefault(str(zone), []).append(start.dt.date())
    return needed


def _event(entry: Entry, heading: Heading) -> Event:
    event = Event()
    event.add("uid", entry_uid(heading.identity, entry.kind, entry.slot))
    event.add("dtstamp", dt.datetime.combine(heading.as_of, dt.time.min, dt.UTC))
    event.add("sequence", sequence_of(heading.as_of))
    event.add("summary", entry.title)
    event.add("description", entry.text)
    event.add("categories", [entry.kind.upper().replace("_", "-")])
    event.add("class", "PRIVATE")
    event.add("status", "CONFIRMED")
    event.add(SLOT, f"{entry.kind} {entry.slot}")
    if entry.start is None:
        event.add("dtstart", entry.day)
        event.add("dtend", entry.day + dt.timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        trigger = dt.timedelta(minutes=entry.alarm_minutes)
    else:
        event.add("dtstart", dt.datetime.combine(entry.day, entry.start, heading.zone))
        # A duration, not an end: an end in the hour that a clock change repeats has no spelling.
        event.add("duration", dt.timedelta(minutes=entry.minutes))
        event.add("transp", "OPAQUE")
        trigger = -dt.timedelta(minutes=entry.alarm_minutes)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.title)
    alarm.add("trigger", trigger)
    event.add_component(alarm)
    return event
