"""proportions.yaml: how the proportions of active adults spread."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Fact, SourceName

_Five = tuple[float, float, float, float, float]
_Count = Annotated[int, Field(gt=0)]


class BySex(Document):
    """Percentiles of a proportion."""

    female: _Five
    male: _Five


class People(Document):
    """How many people a table rests on."""

    female: _Count
    male: _Count


class Proportions(RuleFile):
    """The whole file: the 5th, 25th, 50th, 75th and 95th percentile of each proportion."""

    source: SourceName
    people: People
    percentiles: tuple[Literal[5], Literal[25], Literal[50], Literal[75], Literal[95]]
    proportions: dict[Fact, BySex]

    def faults(self) -> Iterator[Fault]:
        """Yield percentiles that do not rise."""
        for fact, by_sex in self.proportions.items():
            for sex in ("female", "male"):
                five = getattr(by_sex, sex)
                if list(five) != sorted(set(five)):
                    text = "percentiles rise from the first to the last; correct the order"
                    yield Fault(("proportions", fact, sex), "bad-value", text)
