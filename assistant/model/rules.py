"""A rule: when, unless, then, because, source, grade, and its own tests."""

import datetime as dt
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from assistant.model.base import Document
from assistant.model.clauses import Clause, Condition
from assistant.model.expressions import Expression
from assistant.model.facts import FactId
from assistant.model.marks import Text
from assistant.model.sources import Grade, SourceUse

# Prose, sources, grades and tests may change without changing what a rule concludes.
_LOGIC = {
    "id",
    "stage",
    "in_force_from",
    "in_force_until",
    "for_each",
    "when",
    "unless",
    "excused_by",
    "then",
    "overrides",
}

RuleId = Annotated[str, Field(pattern=r"^[A-Z]{3}-[A-Z0-9_-]+$")]


class Conclusion(Document):
    """What a fired rule says: `set` a fact `to` a value, or `add` an `item` to a list fact.

    low, high: the ends of the range where the value is given with one (otherwise the range of a
    calculator's estimate is used). method: a short name of how the number was found.
    """

    set: FactId | None = None
    to: Expression | None = None
    add: FactId | None = None
    item: Expression | None = None
    of: str | None = None
    low: Expression | None = None
    high: Expression | None = None
    method: str | None = None

    @model_validator(mode="after")
    def _set_or_add(self) -> Self:
        if (self.set is None) == (self.add is None):
            raise ValueError("a conclusion either sets a fact or adds an item to a list fact")
        if self.set is not None and (self.to is None or self.item is not None):
            raise ValueError("`set` needs `to`")
        if self.add is not None and (self.item is None or self.to is not None):
            raise ValueError("`add` needs `item`")
        return self

    @property
    def fact(self) -> FactId:
        """The fact this conclusion is about."""
        fact = self.set if self.set is not None else self.add
        assert fact is not None  # the validator saw to it
        return fact


class RuleTestCase(Document):
    """A variation of a rule's test: what differs, and what then is expected.

    fires: whether the rule fires. failed_at / blocked_by / needs: the facts at fault.
    expect: conclusions, as fact key -> value (for a list fact: the items added).
    """

    but: dict[str, Any]
    fires: bool | None = None
    failed_at: str | None = None
    blocked_by: str | None = None
    needs: tuple[str, ...] | None = None
    expect: dict[str, Any] | None = None


class RuleTests(Document):
    """Examples that a rule must get right. `given` are final facts, also derived ones.

    loop: the element the rule is tested for, where it has `for_each`.
    """

    on: dt.date | None = None
    loop: str | None = None
    given: dict[str, Any] = {}
    expect: dict[str, Any] = {}
    cases: tuple[RuleTestCase, ...] = ()


class Rule(Document):
    """One rule of the knowledge base.

    when: all must hold, each known. unless: a brake; each must be known not to hold, so an
    unanswered question blocks too. excused_by: an excuse; only a known one excuses, so an
    unanswered question never lifts a flag.
    kind: `house` for a rule that makes no claim about bodies (it counts days, carries a value on,
    routes what others found, or says what is not known); it is counted apart and is no evidence.
    settled_by: where trade and literature differ (`because` says what both say and what we do): the study or record
    that would move the figure, as it ends "would be settled by".
    for_each: {variable: domain} or {variable: list fact}; the rule runs once per element.
    overrides: rules whose different conclusion on the same one-valued fact gives way to this one.
    unmutated: written reasons for mutations that no test of this rule can or should notice,
    keyed by clause address (e.g. `when.1`) or parameter id.
    """

    id: RuleId
    title: str
    stage: str
    # None for a claim, so that books from before the field keep their fingerprint.
    kind: Literal["house"] | None = None
    in_force_from: dt.date | None = None
    in_force_until: dt.date | None = None
    for_each: dict[str, str] | None = None
    when: tuple[Condition, ...] = ()
    unless: tuple[Clause, ...] = ()
    excused_by: tuple[Clause, ...] = ()
    then: Annotated[tuple[Conclusion, ...], Field(min_length=1)]
    overrides: tuple[RuleId, ...] = ()
    because: str
    settled_by: Text | None = None
    client_because: str | None = None
    source: Annotated[tuple[SourceUse, ...], Field(min_length=1)]
    grade: Grade
    tests: RuleTests
    unmutated: dict[str, str] = {}

    @property
    def logic(self) -> dict[str, Any]:
        """What the rule does, as plain data: without prose, sources, grades and tests."""
        return self.model_dump(mode="json", by_alias=True, include=_LOGIC, exclude_none=True)

    def in_force(self, on: dt.date) -> bool:
        """Tell whether the rule's own dates include a day."""
        first, last = self.in_force_from, self.in_force_until
        return (first is None or first <= on) and (last is None or on <= last)

    @property
    def loop_variable(self) -> str | None:
        """Name of the loop variable, if the rule has one."""
        return next(iter(self.for_each)) if self.for_each else None


Audience = Literal["coach", "client"]
