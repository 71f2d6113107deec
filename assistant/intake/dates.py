"""A day as people write it. One that could be two days is refused."""

import datetime as dt
import re

from assistant.intake.quantities import Refusal

_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NAME = r"([a-z]{3})[a-z]*\.?"
_BY_NAME = (
    re.compile(rf"(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?(?: of)? {_NAME},? (?P<year>[0-9]{{4}})"),
    re.compile(rf"{_NAME} (?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?,? (?P<year>[0-9]{{4}})"),
)
_BY_NUMBERS = re.compile(r"([0-9]{1,2})([./])([0-9]{1,2})\2([0-9]{4})")
_LAST_MONTH = 12
_GERMAN = {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}
_NUMBER_OF = {name: number for number, name in enumerate(_MONTHS, start=1)} | _GERMAN
_SINCE = re.compile(
    r"(?:since|seit)(?: last| letztem)? (?P<month>[a-zä]{3})[a-zä]*\.?,?(?: (?P<year>[0-9]{4}))?"
)


def read_day(plain: str) -> dt.date | None:
    """Return the day of a tidied text such as `20 june 2026` or `20.6.2026`; None for any other.

    With points the day comes first; with strokes it may be either, so both must not fit. Raises Refusal.
    """
    for form in _BY_NAME:
        found = form.fullmatch(plain)
        if found and found.group(1 if form is _BY_NAME[1] else 2) in _MONTHS:
            name = found.group(1 if form is _BY_NAME[1] else 2)
            return _day(int(found["year"]), _MONTHS.index(name) + 1, int(found["day"]), plain)
    if (numbers := _BY_NUMBERS.fullmatch(plain)) is None:
        return None
    first, second, year = int(numbers[1]), int(numbers[3]), int(numbers[4])
    if numbers[2] == "/" and first != second and max(first, second) <= _LAST_MONTH:
        told = "`{typed}` can be two days; type year-month-day, for example 2026-03-01"
        raise Refusal(told, typed=plain)
    if numbers[2] == "/" and second > _LAST_MONTH:
        first, second = second, first
    return _day(year, second, first, plain)


def days_since(plain: str, today: dt.date) -> int | None:
    """Return the days since the first of a month that was named (`since september`); None for any other text.

    Without its year it is the last such month. Raises Refusal for one that is still to come.
    """
    found = _SINCE.fullmatch(plain)
    if found is None or found["month"] not in _NUMBER_OF:
        return None
    month = _NUMBER_OF[found["month"]]
    year = int(found["year"] or today.year - (month > today.month))
    days = (today - _day(year, month, 1, plain)).days
    if days < 0:
        raise Refusal("`{typed}` is still to come; check the year", typed=plain)
    return days


def _day(year: int, month: int, day: int, typed: str) -> dt.date:
    try:
        return dt.date(year, month, day)
    except ValueError as problem:
        told = "`{typed}` is not in the calendar; check month and day"
        raise Refusal(told, typed=typed) from problem
