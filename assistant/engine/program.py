"""What a rule engine is given: positive tests of single attributes, and absences.

This is the part of rule matching that durable_rules does soundly: every condition is one fact
with one comparison against a fixed value. No negation, no references between facts, no
alternatives, no arithmetic: whatever needs those is prepared by the host (`lower.py`).
"""

import operator
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from assistant.engine.bound import BoundClause
from assistant.engine.strata import sort_by_level
from assistant.engine.terms import FactRef

Plain: TypeAlias = float | str

COMPARISONS: dict[str, Callable[[Plain, Plain], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    ">=": operator.ge,
    "<=": operator.le,
    ">": operator.gt,
    "<": operator.lt,
}


@dataclass(frozen=True, slots=True)
class Test:
    """A comparison of one attribute with a fixed value. Texts are only equal or different."""

    __test__ = False  # not a test class for pytest

    attribute: int
    operator: str
    literal: Plain

    def meets(self, value: Plain) -> bool:
        """True if a value of the attribute passes."""
        return COMPARISONS[self.operator](value, self.literal)


@dataclass(frozen=True, slots=True)
class Absence:
    """Holds where no fact passes any of the tests, once everything they read is closed."""

    tests: tuple[Test, ...]
    level: int


@dataclass(frozen=True, slots=True)
class CompiledRule:
    """One way in which a bound rule can fire: all tests pass, and the absence holds.

    owner: number of the bound rule. level: the level of that rule. Alternatives in a rule's
    conditions become several compiled rules with the same owner.
    """

    owner: int
    level: int
    tests: tuple[Test, ...]
    absence: int | None


@dataclass(frozen=True, slots=True)
class Attribute:
    """Something the host tells the engines of a case, as any number of values.

    kind: of a fact its `value` (each item, where it is a list), its `size` (how many items) or its
    `status` (`known`, or the status and, if open, `unanswered`). Of a comparison that the host works
    out: its `sign`, or `unanswered` while it is open. `always` is there in every case.
    level: the level after which all that it tells of is closed.
    """

    kind: str
    level: int
    fact: FactRef | None = None
    comparison: BoundClause | None = None

    @property
    def name(self) -> str:
        """Kind and fact, for people."""
        return self.kind if self.fact is None else f"{self.kind} of {self.fact.key}"


@dataclass(frozen=True)
class Program:
    """Compiled rules, and the attributes and absences they test, each known by its place here."""

    attributes: tuple[Attribute, ...]
    rules: tuple[CompiledRule, ...]
    absences: tuple[Absence, ...]
    levels: int

    @cached_property
    def attributes_of(self) -> tuple[tuple[int, ...], ...]:
        """The numbers of the attributes of each level."""
        return sort_by_level(((a.level, n) for n, a in enumerate(self.attributes)), self.levels)

    @cached_property
    def absences_of(self) -> tuple[tuple[int, ...], ...]:
        """The numbers of the absences of each level."""
        return sort_by_level(((a.level, n) for n, a in enumerate(self.absences)), self.levels)
