"""Days as spreadsheets write them. A day that can be read in two ways is never guessed.

The order of day and month is taken from the column as a whole: one cell such as 25/01/2026 settles
it for all. Days that lie in the future are no reading, because nothing can have been measured then.
"""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Literal

from assistant.model.errors import Refused

Order = Literal["dmy", "mdy"]
ORDERS: tuple[Order, ...] = ("dmy", "mdy")
_ORDER_WORDS = {"dmy": "day before month", "mdy": "month before day"}
_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            ("jan", "january"), ("feb", "february"), ("mar", "march"), ("apr", "april"), ("may",),
            ("jun", "june"), ("jul", "july"), ("aug", "august"), ("sep", "sept", "september"),
            ("oct", "october"), ("nov", "november"), ("dec", "december"),
        ),
        start=1,
    )
    for name in names
}  # fmt: skip
# Day 1 of the spreadsheet calendar is 1 January 1900, which also counts a 29 February 1900 that
# never was; from March 1900 on this start gives the right day (well known, from memory).
_SERIAL_START = dt.date(1899, 12, 30)
_SERIALS = range(36526, 73051)  # 2000 to 2099
_CENTURY = 2000
_EXAMPLE = "2026-01-31"


def read_days(
    cells: Sequence[str], today: dt.date, order: Order | None
) -> tuple[list[dt.date | Refused], list[str]]:
    """Return the day of each cell or why it is none, and notes on how the column was read.

    order: what the user says about the order of day and month; None to find it out.
    """
    readings = [readings_of(cell) for cell in cells]
    notes = []
    if order is None:
        order = _order_of(readings, today)
        if order is not None:
            notes.append(
                f"dates are read as {_ORDER_WORDS[order]}, as other dates in the file show"
            )
    if any(_is_serial(cell) for cell in cells):
        notes.append("plain numbers in the date column are read as a spreadsheet's own day numbers")
    pairs = zip(cells, readings, strict=True)
    return [_settled(cell, reading, today, order) for cell, reading in pairs], notes


def _is_serial(cell: str) -> bool:
    return re.fullmatch(r"[0-9]{5}(?:[.,]0+)?", cell.strip()) is not None


_DAY_MONTH_YEAR = re.compile(
    r"(?:[a-z]{2,9}\.?,? +)?([0-9]{1,2})\.?[ -]+([a-z]{3,9})\.?,?[ -]+([0-9]{2}|[0-9]{4})"
)
_MONTH_DAY_YEAR = re.compile(r"(?:[a-z]{2,9}\.?,? +)?([a-z]{3,9})\.? +([0-9]{1,2}),? +([0-9]{4})")
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_DOTS = re.compile(r"([0-9]{1,2})\. ?([0-9]{1,2})\. ?([0-9]{2}|[0-9]{4})")  # day first everywhere
_SLASHES = re.compile(r"([0-9]{1,2})([/-])([0-9]{1,2})\2([0-9]{2}|[0-9]{4})")
_TIME = re.compile(r"[ t][0-9]{1,2}:[0-9]{2}(:[0-9]{2})?(\.[0-9]+)?z?$")


def readings_of(cell: str) -> Mapping[Order, dt.date]:
    """Return what a cell can mean under each order; both alike where there is only one reading.

    A time of day beside the day is of no interest here.
    """
    text = _TIME.sub("", cell.strip().lower())
    if match := _SLASHES.fullmatch(text):
        found = {
            "dmy": _day(match[4], match[3], match[1]),
            "mdy": _day(match[4], match[1], match[3]),
        }
        return {each: day for each in ORDERS if (day := found[each]) is not None}
    day = _plain_day(text)
    return {} if day is None else {"dmy": day, "mdy": day}


def _plain_day(text: str) -> dt.date | None:
    """Return the day of a text that has one reading."""
    day = None
    if _is_serial(text):
        number = int(re.split(r"[.,]", text)[0])
        day = _SERIAL_START + dt.timedelta(days=number) if number in _SERIALS else None
    elif match := _YEAR_FIRST.fullmatch(text):
        day = _day(match[1], match[3], match[4])
    elif match := _DOTS.fullmatch(text):
        day = _day(match[3], match[2], match[1])
    elif (match := _DAY_MONTH_YEAR.fullmatch(text)) and match[2] in _MONTHS:
        day = _day(match[3], _MONTHS[match[2]], match[1])
    elif (match := _MONTH_DAY_YEAR.fullmatch(text)) and match[1] in _MONTHS:
        day = _day(match[3], _MONTHS[match[1]], match[2])
    return day


def _day(year: str, month: str | int, day: str) -> dt.date | None:
    whole = int(year) + (_CENTURY if len(year) == 2 else 0)  # noqa: PLR2004 - two digits
    try:
        return dt.date(whole, int(month), int(day))
    except ValueError:
        return None


def _order_of(readings: Sequence[Mapping[Order, dt.date]], today: dt.date) -> Order | None:
    """Return the only order under which every readable cell is a day that has been."""
    telling = [each for each in readings if each and len(set(each.values())) + (len(each) < 2) > 1]  # noqa: PLR2004
    if not telling:
        return None
    fitting = [
        order for order in ORDERS if all(order in each and each[order] <= today for each in telling)
    ]
    return fitting[0] if len(fitting) == 1 else None


def _settled(
    cell: str, reading: Mapping[Order, dt.date], today: dt.date, order: Order | None
) -> dt.date | Refused:
    told = f"`{cell.strip()}`"
    days = {day for each, day in reading.items() if order in {None, each}}
    if not days:
        what = f"no date with {_ORDER_WORDS[order]}" if reading and order else "not a date"
        return Refused("bad-date", f"{told} is {what}; write it like {_EXAMPLE}")
    been = {day for day in days if day <= today}
    if not been:
        text = f"{told} is after {today.isoformat()}; nothing can have been measured yet"
        return Refused("future-date", text)
    if len(been) > 1:
        first, second = sorted(been)
        text = (
            f"{told} can mean {first.isoformat()} or {second.isoformat()}; say which with "
            "--dates dmy or --dates mdy"
        )
        return Refused("two-dates", text)
    return been.pop()
