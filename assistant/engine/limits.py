"""Sizes up to which durable_rules 2.0.28 is known to work, kept with a margin.

Beyond them it refuses, hangs or crashes: 17 conditions in a rule, 65 conditions of one fact that
hold at once, 256 rules that share a condition, 512 different first conditions. Rules are
therefore dealt out to rulesets that stay below all of these by construction; what cannot be
split is refused when the book is compiled.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isqrt

from assistant.engine.bound import BoundRule
from assistant.engine.lookup import problem
from assistant.engine.program import CompiledRule, Program, Test
from assistant.model.knowledge import KnowledgeBase

MOST_CONDITIONS = 16
MOST_RULES_IN_A_SET = 150
MOST_TESTS_ON_AN_ATTRIBUTE = 60
MOST_ATTRIBUTES_IN_A_SET = 4_000
MOST_FACTS_IN_A_CASE = 20_000


@dataclass
class RuleShare:
    """The rules (by number) of one ruleset, with the distinct tests on every attribute."""

    rules: list[int] = field(default_factory=list)
    tests: dict[int, set[Test]] = field(default_factory=dict)
    absences: set[int] = field(default_factory=set)

    def has_room(self, rule: CompiledRule) -> bool:
        """True if the rule fits without passing a limit."""
        if len(self.rules) >= MOST_RULES_IN_A_SET:
            return False
        added: dict[int, set[Test]] = {}
        for test in rule.tests:
            added.setdefault(test.attribute, set()).add(test)
        return all(
            len(self.tests.get(attribute, set()) | tests) <= MOST_TESTS_ON_AN_ATTRIBUTE
            for attribute, tests in added.items()
        )

    def add(self, number: int, rule: CompiledRule) -> None:
        """Take a rule in."""
        self.rules.append(number)
        for test in rule.tests:
            self.tests.setdefault(test.attribute, set()).add(test)
        if rule.absence is not None:
            self.absences.add(rule.absence)

    @property
    def groups(self) -> int:
        """Number of groups that keep the first conditions few: about the root of what is tested."""
        return max(1, isqrt(max(len(self.tests), len(self.absences))))


def shares(program: Program) -> list[RuleShare]:
    """Deal the rules out, by level, so that a level's facts concern few rulesets."""
    dealt: list[RuleShare] = []
    by_level = sorted(range(len(program.rules)), key=lambda number: program.rules[number].level)
    for number in by_level:
        rule = program.rules[number]
        if not dealt or not dealt[-1].has_room(rule):
            dealt.append(RuleShare())
        dealt[-1].add(number, rule)
    return dealt


def check_limits(program: Program, bound: Sequence[BoundRule], kb: KnowledgeBase) -> None:
    """Raise InputProblems for a rule that no split can bring within the limits."""
    for rule in program.rules:
        conditions = len(rule.tests) + (rule.absence is not None)
        owner = bound[rule.owner].rule.id
        if conditions > MOST_CONDITIONS:
            text = (
                f"the rule has {conditions} conditions (facts used in `then` count, all brakes "
                f"together count as one), at most {MOST_CONDITIONS} are allowed; conclude a fact "
                "of its own from some of them"
            )
            raise problem(kb, owner, "too-many-conditions", text)
    if len(program.attributes) > MOST_ATTRIBUTES_IN_A_SET:
        raise problem(
            kb,
            kb.book.name,
            "too-many-attributes",
            f"the rules test {len(program.attributes)} different attributes, at most "
            f"{MOST_ATTRIBUTES_IN_A_SET} are allowed",
        )
