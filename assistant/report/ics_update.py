"""A new calendar file against the one it replaces: what is gone is called off, what changed counts up.

A calendar that reads only the new file would keep sessions on days the new plan no longer has.
"""

import datetime as dt
from typing import Any

from icalendar import Calendar, Event

from assistant.model.errors import InputProblems, Problem
from assistant.report.ics import SLOT, Heading, entry_uid, sequence_of

_OWN = ("DTSTAMP", "SEQUENCE")


def updated(
    made: list[Event], old_file: bytes, place: str, heading: Heading
) -> tuple[list[Event], int]:
    """Return the events of a file that follows an older one, and how many are called off.

    Unchanged events keep their sequence. Events of the old file that the new plan lacks are called
    off from the plan's day on; what lies before it stays as history. Raises InputProblems if the
    old file is no calendar, or belongs to someone else.
    """
    before = _events_of(old_file, place, heading)
    new = {str(event["UID"]) for event in made}
    result = [_counted_up(event, before.get(str(event["UID"]))) for event in made]
    gone = [event for uid, event in before.items() if uid not in new]
    called_off = [_called_off(event, heading) for event in gone if _day(event) >= heading.as_of]
    return result + called_off, len(called_off)


def _events_of(old_file: bytes, place: str, heading: Heading) -> dict[str, Event]:
    try:
        calendar = Calendar.from_ical(old_file)
    except (ValueError, KeyError, IndexError, TypeError) as error:
        text = f"is no calendar file ({_one_line(error)}); give the file made for the plan before"
        raise InputProblems([Problem(place, "bad-calendar", text)]) from None
    found: dict[str, Event] = {}
    for event in calendar.walk("VEVENT"):
        uid, slot = str(event.get("UID", "")), str(event.get(SLOT, ""))
        kind, _, rest = slot.partition(" ")
        if not isinstance(event, Event) or start_of(event) is None:
            continue
        if uid == entry_uid(heading.identity, kind, rest):
            found[uid] = event
    if not found:
        text = "holds no entry of this client; give the file made for this client's plan before"
        raise InputProblems([Problem(place, "other-calendar", text)])
    return found


def _one_line(error: Exception) -> str:
    return " ".join(str(error).split())[:120] or type(error).__name__


def start_of(event: Event) -> dt.date | None:
    """Return an event's start, a day or a moment; None where it has none that can be read."""
    start: Any = event.get("DTSTART")
    moment = getattr(start, "dt", None)
    return moment if isinstance(moment, dt.date) else None


def _day(event: Event) -> dt.date:
    start = start_of(event)
    assert start is not None
    return start.date() if isinstance(start, dt.datetime) else start


def _content(event: Event) -> bytes:
    bare: Event = event.copy(recursive=True)
    for name in _OWN:
        bare.pop(name, None)
    content: bytes = bare.to_ical()
    return content


def _sequence(event: Event) -> int:
    number: Any = event.get("SEQUENCE", 0)
    return number if isinstance(number, int) else 0


def _set_sequence(event: Event, number: int) -> None:
    event.pop("SEQUENCE", None)
    event.add("sequence", number)


def _counted_up(event: Event, old: Event | None) -> Event:
    if old is None:
        return event
    if _content(event) == _content(old):
        return old
    _set_sequence(event, max(_sequence(event), _sequence(old) + 1))
    return event


def _called_off(event: Event, heading: Heading) -> Event:
    if str(event.get("STATUS", "")) == "CANCELLED":
        return event
    off: Event = event.copy(recursive=True)
    off.subcomponents = []
    for name in ("STATUS", "DTSTAMP"):
        off.pop(name, None)
    off.add("status", "CANCELLED")
    start = start_of(event)
    if isinstance(start, dt.datetime) and start.tzinfo is not None:
        # Whatever zone the old file named, the new file's own zone is written out with it.
        off.pop("DTSTART")
        off.add("dtstart", start.astimezone(heading.zone))
    off.add("dtstamp", dt.datetime.combine(heading.as_of, dt.time.min, dt.UTC))
    _set_sequence(off, max(_sequence(event) + 1, sequence_of(heading.as_of)))
    return off
