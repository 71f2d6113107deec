"""What stands beside everything that a gym lays over the book: who wrote it, when, why, and who read it."""

import datetime as dt
from typing import Annotated, Self

from pydantic import Field, model_validator

from assistant.model.base import Document

_Line = Annotated[str, Field(min_length=1, max_length=300)]


class Signed(Document):
    """Who answers for something in a house's folder.

    by: its author. day: when it was written. reviewed_by: somebody else who read it. since, until: the
    first and the last day it is in force; outside of them the book's own holds.
    """

    by: _Line
    day: dt.date
    reason: _Line
    reviewed_by: _Line
    since: Annotated[dt.date | None, Field(alias="from")] = None
    until: dt.date | None = None

    @model_validator(mode="after")
    def _two_people_and_in_order(self) -> Self:
        if _person(self.by) == _person(self.reviewed_by):
            raise ValueError(f"`{self.by}` wrote it and read it; name somebody else in reviewed_by")
        if self.since and self.until and self.until < self.since:
            text = f"until {self.until} is before from {self.since}; put the earlier day first"
            raise ValueError(text)
        return self

    def in_force(self, on: dt.date | None) -> bool:
        """Tell whether it counts on a day; on no day in particular everything does."""
        if on is None:
            return True
        return (self.since is None or self.since <= on) and (self.until is None or on <= self.until)

    @property
    def dates(self) -> str:
        """When it is in force, in words; empty where it always is."""
        first = f"from {self.since}" if self.since else ""
        return " ".join(filter(None, (first, f"until {self.until}" if self.until else "")))

    @property
    def told(self) -> str:
        """Who, when, why, who read it, and the days it is in force."""
        dates = f"; {self.dates}" if self.dates else ""
        return (
            f"{self.by}, {self.day}: {self.reason.rstrip('.')}; read by {self.reviewed_by}{dates}"
        )


def _person(name: str) -> str:
    return " ".join(name.split()).casefold()
