"""Times of day hold over clock changes, read back by two libraries that know nothing of ours.

Outside checks: the IANA time zone data (zoneinfo), the reading of VTIMEZONE by vobject (dateutil),
and by icalendar. RFC 5545: a start is local time with a zone; where the clock jumps over it, the
offset before the jump counts (3.3.5); a duration in hours is exact time (3.3.6).
"""

import datetime as dt
import io
import re
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from dateutil.tz import tzical
from hypothesis import example, given, settings
from hypothesis import strategies as st

from assistant.report.calendar import Entry
from assistant.report.ics import Heading, events, ics_bytes

# Both hemispheres, half hours, a half-hour change (Lord Howe), changes that follow the moon
# (Casablanca), a change at midnight (Santiago, Beirut), no change at all (Tokyo, UTC).
ZONES = (
    "Europe/London", "America/New_York", "Australia/Sydney", "Australia/Lord_Howe", "Asia/Kathmandu",
    "Africa/Casablanca", "America/Santiago", "Asia/Beirut", "America/St_Johns", "Asia/Tokyo", "UTC",
)  # fmt: skip
STRANGER = "Zone-That-No-Library-Knows"
FIRST = dt.date(2026, 1, 1)


def _file(zone: str, days: list[dt.date], start: dt.time, minutes: int = 50) -> bytes:
    entries = [
        Entry("session", day.isoformat(), day, start, minutes, "Training", "Squat", 60)
        for day in days
    ]
    heading = Heading("Plan", "somebody", days[0], ZoneInfo(zone))
    return ics_bytes(events(entries, heading), heading)


def _by_vobject(content: bytes, zone: str) -> Iterator[tuple[dt.datetime, dt.timedelta]]:
    """Read with vobject and the file's own VTIMEZONE as dateutil reads it.

    The zone is renamed, so that no library can take it from time zone data of its own.
    """
    text = content.decode()
    if "VTIMEZONE" in text:
        text = text.replace(zone, STRANGER)
        vobject.icalendar.registerTzid(STRANGER, tzical(io.StringIO(text)).get(STRANGER))
    for event in vobject.readOne(text).vevent_list:
        yield event.dtstart.value, event.duration.value


def _by_icalendar(content: bytes) -> Iterator[tuple[dt.datetime, dt.timedelta]]:
    for event in icalendar.Calendar.from_ical(content).walk("VEVENT"):
        yield event["DTSTART"].dt, event["DURATION"].dt


def _exists(moment: dt.datetime) -> bool:
    """Tell whether the clock ever shows this local time."""
    back = moment.astimezone(dt.UTC).astimezone(moment.tzinfo)
    return back.replace(tzinfo=None) == moment.replace(tzinfo=None)


@settings(max_examples=60, deadline=None)
@given(
    zone=st.sampled_from(ZONES),
    first=st.dates(FIRST, dt.date(2029, 12, 31)),
    weeks=st.integers(1, 12),
    start=st.times().map(lambda t: t.replace(second=0, microsecond=0)),
)
@example("Europe/London", dt.date(2026, 3, 27), 3, dt.time(18, 0))
@example("Europe/London", dt.date(2026, 10, 18), 3, dt.time(1, 30))
@example("Europe/London", dt.date(2026, 3, 22), 3, dt.time(2, 0))
@example("Australia/Lord_Howe", dt.date(2026, 4, 1), 3, dt.time(1, 45))
@example("America/Santiago", dt.date(2026, 9, 1), 3, dt.time(0, 15))
@example("Africa/Casablanca", dt.date(2026, 2, 1), 8, dt.time(6, 30))
def test_local_time_holds_over_every_clock_change(
    zone: str, first: dt.date, weeks: int, start: dt.time
) -> None:
    days = [first + dt.timedelta(weeks=week, days=week % 2) for week in range(weeks)]
    content = _file(zone, days, start)
    there = ZoneInfo(zone)
    wanted = [dt.datetime.combine(day, start, there) for day in days]
    for name, read in (
        ("vobject", _by_vobject(content, zone)),
        ("icalendar", _by_icalendar(content)),
    ):
        found = list(read)
        assert len(found) == len(wanted)
        for (moment, duration), want in zip(found, wanted, strict=True):
            assert moment.replace(tzinfo=None) == want.replace(tzinfo=None), name
            assert duration == dt.timedelta(minutes=50)
            if _exists(want):
                assert moment.astimezone(dt.UTC) == want.astimezone(dt.UTC), f"{name}: {zone}"


@pytest.mark.parametrize("zone", [z for z in ZONES if z != "UTC"])
def test_the_zone_says_what_the_time_zone_data_says(zone: str) -> None:
    """Onsets in the file, read by the words of RFC 5545 3.6.5, against the data hour by hour."""
    days = [FIRST, dt.date(2027, 12, 30)]
    text = _file(zone, days, dt.time(18)).decode()
    blocks = re.findall(r"BEGIN:(STANDARD|DAYLIGHT)\r\n(.*?)END:\1", text, re.DOTALL)
    observances = []
    for _, block in blocks:
        at = {name: value for name, _, value in (row.partition(":") for row in block.split("\r\n"))}
        onset = dt.datetime.strptime(at["DTSTART"] + "Z", "%Y%m%dT%H%M%S%z")
        onset -= _offset(at["TZOFFSETFROM"])
        observances.append((onset, _offset(at["TZOFFSETTO"])))
    assert observances == sorted(observances)
    moment, there = dt.datetime(2026, 1, 1, tzinfo=dt.UTC), ZoneInfo(zone)
    while moment < dt.datetime(2027, 12, 31, tzinfo=dt.UTC):
        said = max(item for item in observances if item[0] <= moment)[1]
        assert said == moment.astimezone(there).utcoffset(), moment
        moment += dt.timedelta(minutes=30)


def _offset(text: str) -> dt.timedelta:
    hours, minutes = int(text[1:3]), int(text[3:5])
    return (-1 if text[0] == "-" else 1) * dt.timedelta(hours=hours, minutes=minutes)


def test_a_session_through_the_repeated_hour_keeps_its_length() -> None:
    """On 25 October 2026 London's clock shows 01:00 to 02:00 twice; 50 minutes stay 50 minutes."""
    content = _file("Europe/London", [dt.date(2026, 10, 25)], dt.time(1, 30))
    ((moment, duration),) = _by_icalendar(content)
    assert moment.astimezone(dt.UTC) == dt.datetime(2026, 10, 25, 0, 30, tzinfo=dt.UTC)
    assert duration == dt.timedelta(minutes=50)
