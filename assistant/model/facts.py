"""Declaration of a fact: its type, unit, range, and how conclusions about it combine."""

import math
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, Tag, model_validator

from assistant.model.base import Document, told_apart
from assistant.model.values import Status, Value

FactId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+$")]
Identifier = Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]


# Days in a unit that a time since something is told in.
DAYS_IN = {"wk": 7.0, "mo": 365.25 / 12.0}


class FactType(StrEnum):
    """What kind of value a fact has. `choices` is a list of ids; the others are single values."""

    NUMBER = "number"
    INTEGER = "integer"
    BOOLEAN = "boolean"
    CHOICE = "choice"
    CHOICES = "choices"
    DATE = "date"
    TEXT = "text"

    def suits(self, value: Value) -> bool:
        """Tell whether a value, in the form rules reason about, is of this kind."""
        if self in {FactType.NUMBER, FactType.INTEGER}:
            if isinstance(value, bool) or not isinstance(value, int | float):
                return False
            return math.isfinite(value)
        if self is FactType.BOOLEAN:
            return isinstance(value, bool)
        if self is FactType.CHOICES:
            return isinstance(value, tuple) and all(type(item) is str for item in value)
        return isinstance(value, str) and not isinstance(value, Status)


class Combine(StrEnum):
    """What happens when several rules conclude the same fact.

    one: a single value; two different ones are an error unless a rule `overrides` the other.
    min, max: the smallest or largest; for choices, by the declared order.
    collect: the union (only `choices`). any: true if any rule says so (only `boolean`).
    """

    ONE = "one"
    MIN = "min"
    MAX = "max"
    COLLECT = "collect"
    ANY = "any"


class Default(Document):
    """A harmless assumption used when the answer is missing; it is printed with the plan."""

    value: Annotated[
        Annotated[bool, Tag("<bool>")]
        | Annotated[float, Tag("<number>")]
        | Annotated[str, Tag("<text>")]
        | Annotated[tuple[str, ...], Tag("<list>")],
        told_apart("true, false, a number, text or a list"),
    ]
    because: str


class Lever(Document):
    """An answer that the client can change, for the search for the smallest change.

    step: smallest change tried, in the fact's unit (numbers only). cost: effort of one step, of one
    item of a list, of one rank of an ordered choice, or of any other choice. reach: the values
    tried, where narrower than the fact's range. direction: which way the client may be asked to go.
    ordered: the choices stand in an order. least: fewest items a list may keep.
    """

    cost: Annotated[float, Field(gt=0)]
    step: Annotated[float, Field(gt=0)] | None = None
    reach: tuple[float, float] | None = None
    direction: Literal["both", "up", "down"] = "both"
    ordered: bool = False
    least: Annotated[int, Field(ge=0)] = 0


class FactDeclaration(Document):
    """One fact of the vocabulary.

    origin: `answer` comes from the person, `record` from what the client's record holds (asked by no
    question, unknown without a record), `derived` from rules, `context` from the run (as-of date).
    index: the domain (book.yaml) the fact has one value for each of, e.g. `muscle`.
    tier: for safety answers only; what an unanswered question costs (A, B, C) or `free`.
    reveals: output ids; while one of them is withheld, no rule outside the screen stage may
    conclude this fact, and nobody but the coach's screen audit may see it.
    groups: names that stand for several choices in `add` conclusions.
    lever: how the client can change this answer; never for safety answers.
    ages: the answer is a time since something that permits, so in a record it grows with the days since
    it was told. A time since a harm does not age: only a new answer makes it longer.
    """

    id: FactId
    label: str
    type: FactType
    origin: Literal["answer", "record", "derived", "context"]
    unit: str = "1"
    range: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()
    choice_domain: str | None = None
    groups: dict[str, tuple[str, ...]] = {}
    index: str | None = None
    combine: Combine = Combine.ONE
    tier: Literal["A", "B", "C", "free"] | None = None
    allows_none: bool = False
    personal: bool = False
    reveals: tuple[str, ...] = ()
    default: Default | None = None
    loinc: str | None = None
    decimals: int = 0
    has_range: bool = False
    lever: Lever | None = None
    # None where it does not, so that books without it keep their fingerprint.
    ages: Literal[True] | None = None

    @property
    def is_safety(self) -> bool:
        """Whether the answer decides about safety, so that silence about it costs something."""
        return self.tier not in {None, "free"}

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        numeric = self.type in {FactType.NUMBER, FactType.INTEGER}
        if numeric and self.origin == "answer" and self.range is None:
            raise ValueError("a number that people type needs a `range`")
        if self.type in {FactType.CHOICE, FactType.CHOICES} and not (
            self.choices or self.choice_domain
        ):
            raise ValueError("a choice needs `choices` or a `choice_domain`")
        if self.combine is Combine.COLLECT and self.type is not FactType.CHOICES:
            raise ValueError("`combine: collect` needs `type: choices`")
        if self.combine is Combine.ANY and self.type is not FactType.BOOLEAN:
            raise ValueError("`combine: any` needs `type: boolean`")
        if self.default is not None and (self.is_safety or self.origin != "answer"):
            raise ValueError("a safety answer or a derived fact never takes a default")
        if self.ages and (self.origin != "answer" or self.unit not in DAYS_IN):
            raise ValueError(f"`ages` belongs to an answer in {', '.join(DAYS_IN)}")
        if self.origin in {"answer", "record"} and self.combine is not Combine.ONE:
            raise ValueError("an answer has one value; `combine` is for derived facts")
        return self

    @model_validator(mode="after")
    def _lever_is_the_clients(self) -> Self:
        if self.lever is None:
            return self
        if self.origin != "answer" or self.personal or self.index is not None:
            raise ValueError("a `lever` is an answer of one value that rules may read")
        if self.is_safety or self.id.startswith("screen."):
            raise ValueError("a safety answer is never a `lever`")
        if self.type in {FactType.DATE, FactType.TEXT}:
            raise ValueError("a `lever` is a number, a choice, a list or a yes/no answer")
        numeric = self.type in {FactType.NUMBER, FactType.INTEGER}
        if numeric != (self.lever.step is not None):
            raise ValueError("a `lever` has a `step` if the fact is a number, and only then")
        if self.lever.reach is not None and self.range is not None:
            low, high = self.lever.reach
            if not self.range[0] <= low <= high <= self.range[1]:
                raise ValueError("the `reach` of a lever lies within the fact's `range`")
        return self
