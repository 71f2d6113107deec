"""What a rule engine is given: positive tests of single attributes, and absences.

This is the part of rule matching that durable_rules does soundly: every condition is one fact
with one comparison against a fixed value. No negation, no references between facts, no
alternatives, no arithmetic: whatever needs those is prepared by the host (`lower.py`).
"""

import operator
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from assistant.engine.bound import BoundClause
from assistant.model.values import FactKey

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
class Emission:
    """Which attributes a fact feeds, for the facts that some test reads.

    value: the value, or one fact for each item of a list. size: number of items.
    status: `known`, or the status and (if open) `unanswered`.
    """

    key: FactKey
    value: int | None = None
    size: int | None = None
    status: int | None = None


@dataclass(frozen=True, slots=True)
class Computed:
    """An attribute that the host works out: the sign of a comparison.

    unanswered: attribute that says the comparison is open, where a brake asks for it.
    level: the level after which all facts it reads are closed.
    """

    clause: BoundClause
    level: int
    sign: int
    unanswered: int | None = None


@dataclass(frozen=True)
class Program:
    """Compiled rules and the attributes they test; attribute numbers index `attributes`."""

    attributes: tuple[str, ...]
    rules: tuple[CompiledRule, ...]
    absences: tuple[Absence, ...]
    emissions: tuple[tuple[Emission, ...], ...]
    computed: tuple[tuple[Computed, ...], ...]
    levels: int
    always: int | None = None
