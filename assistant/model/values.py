"""Values a fact can have, and the four ways of having no value."""

import datetime as dt
from enum import StrEnum
from typing import TypeAlias


class Status(StrEnum):
    """Why a fact has no value. None of the four means "no".

    unknown: not asked, left blank. declined: asked, would rather not say.
    not_applicable: the question makes no sense for this person.
    none: a quantity that is known not to exist ("no goal weight", "never had surgery").
    """

    UNKNOWN = "unknown"
    DECLINED = "declined"
    NOT_APPLICABLE = "not_applicable"
    NONE = "none"

    @property
    def is_answered(self) -> bool:
        """True where the person did answer, even if the answer is that there is no value."""
        return self in {Status.NOT_APPLICABLE, Status.NONE}


Scalar: TypeAlias = bool | float | str
# A list answer is a tuple sorted by the loader, so equal answers are equal values.
Value: TypeAlias = Scalar | tuple[str, ...] | Status

# Monday first, as the calendar of the standard library counts them.
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

FactKey: TypeAlias = str
"""`family.name`, or `family.name[index]` for a fact that has one value per muscle or role."""


def weekday_of(day: dt.date) -> str:
    """Return the id of a day's weekday, `mon` to `sun`."""
    return WEEKDAYS[day.weekday()]


def fact_key(fact_id: str, index: str | None = None) -> FactKey:
    """Return the key of a fact, with its index where it has one."""
    return fact_id if index is None else f"{fact_id}[{index}]"


def split_key(key: FactKey) -> tuple[str, str | None]:
    """Return fact id and index of a key."""
    if key.endswith("]"):
        fact_id, _, index = key[:-1].partition("[")
        return fact_id, index
    return key, None


def spelled(value: Value) -> str:
    """Return a value as a person types it in a change or a question."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ",".join(value) or "none"
    return value if isinstance(value, str) else f"{value:g}"


def as_json(value: Value) -> bool | float | int | str | list[str]:
    """Return a value as JSON has it; a whole number without a decimal point."""
    if isinstance(value, bool):
        return value
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, str) else value
