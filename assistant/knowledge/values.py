"""One typed value: from what a file or a form says to what rules reason about. Nothing is guessed."""

import datetime as dt
import math
import re
from typing import Any

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.model.book import Book
from assistant.model.errors import Refused
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.values import Status, Value

MAX_TEXT = 500
MAX_LISTED = 24
_NUMBER_WITH_UNIT = re.compile(r"\s*[-+]?[0-9]+([.,][0-9]+)?\s*(\S.*)?")
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def read_value(  # noqa: PLR0911 - one return for each type of fact
    declaration: FactDeclaration, book: Book, raw: Any
) -> Value:
    """Return the checked value of a fact.

    Numbers come out as floats, lists as sorted tuples, dates as ISO text, and the four words for
    having no value as Status (unless the fact has a choice of that name). Raises Refused.
    """
    choices = book.choices_of(declaration)
    if isinstance(raw, str) and raw in set(Status) and raw not in choices:
        return _status(declaration, Status(raw))
    if raw is None:
        raise Refused("bad-type", "has no value; leave the field out or write unknown")
    if declaration.type in {FactType.NUMBER, FactType.INTEGER}:
        return _number(declaration, raw)
    if declaration.type is FactType.BOOLEAN:
        return _boolean(raw)
    if declaration.type is FactType.CHOICE:
        return _choice(raw, choices)
    if declaration.type is FactType.CHOICES:
        return _choices(raw, choices)
    if declaration.type is FactType.DATE:
        return _date(raw)
    return _text(raw)


def _status(declaration: FactDeclaration, status: Status) -> Status:
    if status is Status.NONE and not declaration.allows_none and declaration.origin == "answer":
        raise Refused("bad-value", "cannot be `none`; write unknown if it is not known")
    return status


def _number(declaration: FactDeclaration, raw: Any) -> float:
    unit = "" if declaration.unit == "1" else f" in {declaration.unit}"
    kind = "whole number" if declaration.type is FactType.INTEGER else "number"
    if isinstance(raw, str) and _NUMBER_WITH_UNIT.fullmatch(raw):
        has_unit = any(character.isalpha() for character in raw)
        hint = f"write only the {kind}{unit}" if has_unit else "remove the quotes"
        raise Refused("bad-type", f"is the text `{shown(raw)}`; {hint}")
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise Refused("bad-type", f"is `{shown(raw)}`; allowed: a {kind}{unit}")
    number = float(raw)
    if not math.isfinite(number):
        raise Refused("bad-value", f"is `{shown(raw)}`; allowed: a {kind}{unit}")
    if declaration.type is FactType.INTEGER and not number.is_integer():
        raise Refused("bad-value", f"is `{shown(raw)}`; allowed: a whole number{unit}")
    if declaration.range is not None:
        low, high = declaration.range
        if not low <= number <= high:
            raise Refused("out-of-range", f"is {number:g}; allowed: {low:g} to {high:g}{unit}")
    return number


def _boolean(raw: Any) -> bool:
    if not isinstance(raw, bool):
        hint = " (without quotes)" if isinstance(raw, str) else ""
        raise Refused("bad-type", f"is `{shown(raw)}`; allowed: true or false{hint}")
    return raw


def _choice(raw: Any, choices: tuple[str, ...]) -> str:
    if not isinstance(raw, str):
        raise Refused("bad-type", f"is `{shown(raw)}`; allowed: {_listed(choices)}")
    if raw not in choices:
        hint = did_you_mean(raw, choices)
        raise Refused("unknown-choice", f"is `{shown(raw)}`; allowed: {_listed(choices)}{hint}")
    return raw


def _choices(raw: Any, choices: tuple[str, ...]) -> tuple[str, ...]:
    if isinstance(raw, str) and raw in choices:
        return (raw,)
    if not isinstance(raw, (list, tuple)):
        hint = ""
        if isinstance(raw, str):
            hint = did_you_mean(raw, choices)
        raise Refused(
            "bad-type", f"is `{shown(raw)}`; allowed: a list out of {_listed(choices)}{hint}"
        )
    seen: set[str] = set()
    for item in raw:
        if not isinstance(item, str):
            raise Refused("bad-type", f"has the item `{shown(item)}`; allowed: {_listed(choices)}")
        if item in set(Status) and item not in choices:
            raise Refused("bad-value", f"has `{item}` in its list; write it alone, not in a list")
        if item not in choices:
            hint = did_you_mean(item, choices)
            raise Refused(
                "unknown-choice", f"has `{shown(item)}`; allowed: {_listed(choices)}{hint}"
            )
        if item in seen:
            raise Refused("repeated-item", f"has `{item}` twice; name it once")
        seen.add(item)
    return tuple(sorted(seen))


def _date(raw: Any) -> str:
    if isinstance(raw, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", raw, re.ASCII):
        try:
            return dt.date.fromisoformat(raw).isoformat()
        except ValueError:
            text = f"is `{raw}`, a day that does not exist; allowed: a date such as 2026-01-31"
            raise Refused("bad-value", text) from None
    raise Refused("bad-type", f"is `{shown(raw)}`; allowed: a date such as 2026-01-31")


def _text(raw: Any) -> str:
    if not isinstance(raw, str):
        raise Refused("bad-type", f"is `{shown(raw)}`; allowed: text (put quotes around it)")
    if len(raw) > MAX_TEXT:
        raise Refused("bad-value", f"is longer than {MAX_TEXT} characters")
    if _CONTROL.search(raw):
        raise Refused("bad-value", "has control characters or several lines; write one line")
    return raw


def _listed(choices: tuple[str, ...]) -> str:
    if len(choices) > MAX_LISTED:
        return ", ".join(choices[:MAX_LISTED]) + ", …"
    return ", ".join(choices)
