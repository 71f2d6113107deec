"""Clauses: one readable test of one fact each, with an address for why-not, coverage, mutation."""

from typing import Annotated, Literal, Self, TypeAlias

from pydantic import Tag, model_validator

from assistant.model.base import Document, told_apart
from assistant.model.expressions import Expression
from assistant.model.facts import FactId

ORDER_OPERATORS = ("at_least", "at_most", "more_than", "less_than")
OPERATORS = (*ORDER_OPERATORS, "equals", "is_not", "one_of", "has", "lacks", "not_empty", "status")


class Clause(Document):
    """A test of one fact (or of a count) with exactly one operator.

    fact / of: which fact; `of` names the loop variable or a literal index.
    count_true: instead of `fact`, the number of these yes/no facts that are known to be yes.
    count_items: instead of `fact`, the number of items of a list fact.
    status: `known`, `unanswered` (unknown or declined), or one of the four statuses.
    lacks: the list is known and does not hold the item. is_not: known, and different.
    one_of: known, and equal to one of the given choices.
    """

    fact: FactId | None = None
    of: str | None = None
    count_true: tuple[FactId, ...] | None = None
    count_items: FactId | None = None
    at_least: Expression | None = None
    at_most: Expression | None = None
    more_than: Expression | None = None
    less_than: Expression | None = None
    equals: Expression | None = None
    is_not: Expression | None = None
    one_of: tuple[str, ...] | None = None
    has: Expression | None = None
    lacks: Expression | None = None
    not_empty: Literal[True] | None = None
    status: (
        Literal["known", "unanswered", "unknown", "declined", "not_applicable", "none"] | None
    ) = None

    @model_validator(mode="after")
    def _one_subject_one_operator(self) -> Self:
        subjects = [
            n for n in ("fact", "count_true", "count_items") if getattr(self, n) is not None
        ]
        if len(subjects) != 1:
            raise ValueError("a clause tests exactly one of fact, count_true, count_items")
        used = [name for name in OPERATORS if getattr(self, name) is not None]
        if len(used) != 1:
            raise ValueError(f"a clause has exactly one operator out of {', '.join(OPERATORS)}")
        if subjects[0] != "fact" and used[0] not in (*ORDER_OPERATORS, "equals"):
            raise ValueError("a count is compared with a number")
        return self

    @property
    def operator(self) -> str:
        """The one operator this clause uses."""
        fields = vars(self)
        return next(name for name in OPERATORS if fields[name] is not None)

    @property
    def operand(self) -> Expression | tuple[str, ...]:
        """What the fact is compared with."""
        operand: Expression | tuple[str, ...] = getattr(self, self.operator)
        return operand


class AnyOf(Document):
    """Holds if one of its clauses holds."""

    any_of: tuple[Clause, ...]


Condition: TypeAlias = Annotated[
    Annotated[Clause, Tag("<clause>")] | Annotated[AnyOf, Tag("<any_of>")],
    told_apart(
        "a clause {fact: ..., <operator>: ...} or {any_of: [...]}", "any_of", otherwise="<clause>"
    ),
]


def alternatives(condition: Condition) -> tuple[Clause, ...]:
    """Return the clauses of which one is enough; a plain clause is its own only one."""
    return condition.any_of if isinstance(condition, AnyOf) else (condition,)
