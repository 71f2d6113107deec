"""Where a client is and when they train, as they were typed: a time zone and a time of day."""

import datetime as dt
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.model.errors import InputProblems, Problem


def zone_of(name: str | None) -> ZoneInfo:
    """Return a time zone by its name. Raises InputProblems."""
    if name is None:
        text = "is missing; a calendar needs the client's time zone, such as Europe/London"
        raise InputProblems([Problem("--timezone", "missing-option", text)])
    try:
        zone = ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        hint = did_you_mean(name, available_timezones(), "; write it like Europe/London")
        text = f"`{shown(name)}` is no time zone{hint}"
        raise InputProblems([Problem("--timezone", "unknown-timezone", text)]) from None
    return zone


def time_of(text: str | None) -> dt.time | None:
    """Return a time of day written as HH:MM; None where none is said. Raises InputProblems."""
    if text is None:
        return None
    try:
        return dt.datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007 - a time of day has no zone
    except ValueError:
        wrong = f"`{shown(text)}` is no time of day; write it like 18:00"
        raise InputProblems([Problem("--time", "bad-time", wrong)]) from None
