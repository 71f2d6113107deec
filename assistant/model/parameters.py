"""Every number a coach could disagree with: dated, with unit, allowed range, step and source."""

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Self

from pydantic import Field, model_validator

from assistant.model.base import Document
from assistant.model.expressions import Name
from assistant.model.marks import Fact
from assistant.model.sources import Grade, SourceUse


@dataclass(frozen=True)
class Change:
    """One number set to a value by somebody of a house, on a day, for a reason. was: the value before."""

    parameter: str
    was: float
    now: float
    by: str
    day: str
    reason: str


class DatedValue(Document):
    """A value and the first day it is in force."""

    since: dt.date
    value: float


class Parameter(Document):
    """A named number. `range` is what a coach's own setting may be; `step` the smallest change.

    raises: the facts that get more, or stay, and never less, when the number goes up.
    """

    id: Name
    title: str
    unit: str
    values: Annotated[tuple[DatedValue, ...], Field(min_length=1)]
    range: tuple[float, float]
    step: Annotated[float, Field(gt=0)]
    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    raises: tuple[Fact, ...] = ()
    unmutated: str | None = None

    @model_validator(mode="after")
    def _dated_and_in_range(self) -> Self:
        days = [v.since for v in self.values]
        if days != sorted(set(days)):
            raise ValueError("dated values go in order of their day, one a day")
        low, high = self.range
        outside = [v.value for v in self.values if not low <= v.value <= high]
        if outside:
            raise ValueError(
                f"value {outside[0]:g} is outside the allowed range {low:g} to {high:g}"
            )
        return self

    def in_force(self, on: dt.date) -> DatedValue | None:
        """Return the value in force on a day, or None before the first one."""
        current = None
        for dated in self.values:
            if dated.since <= on:
                current = dated
        return current
