"""A time zone as RFC 5545 wants it: one observance for each change of the clock in a span of days.

The observances are written out one by one (no yearly rule), so zones whose changes follow no rule
are right too. The onset stands in the local time that held before the change (RFC 5545, 3.6.5).
"""

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

_STEP = dt.timedelta(hours=6)
_SECOND = dt.timedelta(seconds=1)


def time_zone(zone: ZoneInfo, first: dt.date, last: dt.date) -> Timezone:
    """Return the VTIMEZONE of a zone, good for local times from the first to the last day."""
    component = Timezone()
    component.add("tzid", zone.key)
    # Two days around the span: every local time in it has its observance, wherever it is read.
    start = dt.datetime.combine(first - 2 * dt.timedelta(days=1), dt.time.min, dt.UTC)
    end = dt.datetime.combine(last + 3 * dt.timedelta(days=1), dt.time.min, dt.UTC)
    component.add_component(_observance(zone, start, before=start))
    for onset in _changes(zone, start, end):
        component.add_component(_observance(zone, onset, before=onset - _SECOND))
    return component


def _changes(zone: ZoneInfo, start: dt.datetime, end: dt.datetime) -> Iterator[dt.datetime]:
    """Yield each moment (UTC) from which another offset or another name holds."""
    moment = start
    while moment < end:
        after = moment + _STEP
        if _state(zone, moment) != _state(zone, after):
            low, high = moment, after
            while high - low > _SECOND:
                middle = low + dt.timedelta(seconds=(high - low) // _SECOND // 2)
                if _state(zone, middle) == _state(zone, moment):
                    low = middle
                else:
                    high = middle
            yield high
        moment = after


def _state(zone: ZoneInfo, moment: dt.datetime) -> tuple[dt.timedelta | None, str | None]:
    local = moment.astimezone(zone)
    return local.utcoffset(), local.tzname()


def _observance(
    zone: ZoneInfo, onset: dt.datetime, *, before: dt.datetime
) -> TimezoneStandard | TimezoneDaylight:
    local = onset.astimezone(zone)
    offset_before = before.astimezone(zone).utcoffset() or dt.timedelta()
    component = TimezoneDaylight() if local.dst() else TimezoneStandard()
    component.add("dtstart", (onset + offset_before).replace(tzinfo=None))
    component.add("tzoffsetfrom", offset_before)
    component.add("tzoffsetto", local.utcoffset() or dt.timedelta())
    component.add("tzname", local.tzname() or zone.key)
    return component
