"""From bound rules to a `Program`: alternatives multiplied out, the rest prepared by the host."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from math import prod
from typing import Any

from assistant.engine.bound import BoundClause, BoundRule
from assistant.engine.lookup import problem
from assistant.engine.program import Absence, Attribute, CompiledRule, Program, Test
from assistant.engine.readings import SIGN_TESTS, UNORDERED
from assistant.engine.strata import Levels
from assistant.engine.terms import FactRef, Literal
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey

MOST_ALTERNATIVES = 64
YES_NO = {True: "true", False: "false"}
NUMERIC = frozenset({FactType.NUMBER, FactType.INTEGER})
SINGLE = frozenset({FactType.BOOLEAN, FactType.CHOICE, FactType.TEXT, FactType.DATE})


@dataclass
class Lowering:
    """Collects attributes and absences while rules are lowered one by one."""

    levels: Levels
    kb: KnowledgeBase
    attributes: list[Attribute] = field(default_factory=list)
    numbers: dict[tuple[str, FactKey | BoundClause], int] = field(default_factory=dict)
    absences: dict[tuple[Test, ...], int] = field(default_factory=dict)
    absence_levels: list[int] = field(default_factory=list)

    def program(self, bound_rules: Sequence[BoundRule]) -> Program:
        """Return the program for all rules in force.

        Raises InputProblems where a rule has too many alternatives.
        """
        rules = [
            compiled
            for owner, bound in enumerate(bound_rules)
            if bound.in_force
            for compiled in self._rule(owner, bound)
        ]
        absences = zip(self.absences, self.absence_levels, strict=True)
        return Program(
            attributes=tuple(self.attributes),
            rules=tuple(rules),
            absences=tuple(Absence(tests, level) for tests, level in absences),
            levels=self.levels.count,
        )

    # Rules.

    def _rule(self, owner: int, bound: BoundRule) -> Iterator[CompiledRule]:
        groups = [
            [test for clause in group for test in self._alternatives(clause)]
            for group in bound.when
        ]
        alternatives = prod(len(group) for group in groups)
        if alternatives > MOST_ALTERNATIVES:
            text = (
                f"its conditions multiply out to {alternatives} alternatives, at most "
                f"{MOST_ALTERNATIVES} are allowed; conclude a fact of its own for one of them"
            )
            raise problem(self.kb, bound.rule.id, "too-many-alternatives", text)
        level = self.levels.rules[bound.rule.id]
        absence = self._absence(bound, level)
        for chosen in product(*groups):
            tests = tuple(dict.fromkeys(chosen)) or (
                Test(self._attribute("always", "", 0), "==", "true"),
            )
            yield CompiledRule(owner, level, tests, absence)

    def _absence(self, bound: BoundRule, level: int) -> int | None:
        """Return the number of the absence that stands for all brakes of a rule."""
        tests: dict[Test, None] = {}
        for clause in bound.brakes:
            tests.update(dict.fromkeys(self._alternatives(clause)))
            if clause.role == "unless" and clause.operator != "status":
                tests.update(dict.fromkeys(self._open_tests(clause)))
        if not tests:
            return None
        key = tuple(tests)
        if key not in self.absences:
            self.absences[key] = len(self.absence_levels)
            self.absence_levels.append(level)
        number = self.absences[key]
        # The same brakes may stand in rules of several levels: settled for the earliest.
        self.absence_levels[number] = min(level, self.absence_levels[number])
        return number

    # Clauses.

    def _alternatives(self, clause: BoundClause) -> list[Test]:
        """Return tests of which one passes exactly where the clause is true."""
        subject = clause.subjects[0]
        if clause.operator == "status":
            return [Test(self._of_fact("status", subject), "==", clause.options[0])]
        if clause.operator == "one_of":
            attribute = self._of_fact("value", subject)
            return [Test(attribute, "==", option) for option in dict.fromkeys(clause.options)]
        if clause.operator == "not_empty":
            return [Test(self._of_fact("size", subject), ">", 0.0)]
        sign_operator = SIGN_TESTS[clause.operator][0]
        direct = self._direct(clause)
        if direct is not None:
            kind, literal = direct
            return [
                Test(self._of_fact(kind, each), sign_operator, literal) for each in clause.subjects
            ]
        return [Test(self._of_comparison("sign", clause), sign_operator, 0.0)]

    def _direct(self, clause: BoundClause) -> tuple[str, float | str] | None:
        """Return attribute kind and fixed value if an engine can make the comparison itself."""
        if not isinstance(clause.operand, Literal) or clause.counting == "true":
            return None
        value = clause.operand.value
        kind = clause.subjects[0].type
        if isinstance(value, bool):
            return ("value", YES_NO[value]) if kind is FactType.BOOLEAN else None
        if isinstance(value, float):
            if clause.counting == "items":
                return ("size", value)
            return ("value", value) if kind in NUMERIC else None
        if clause.operator == "has" and kind is FactType.CHOICES:
            return ("value", value)
        return ("value", value) if clause.operator in UNORDERED and kind in SINGLE else None

    def _open_tests(self, clause: BoundClause) -> list[Test]:
        """Return tests that pass where a brake is open because of an unanswered question."""
        if clause.operator in {"one_of", "not_empty"} or self._direct(clause) is not None:
            subject = clause.subjects[0]
            if not subject.is_answer:
                return []
            return [Test(self._of_fact("status", subject), "==", "unanswered")]
        if not any(ref.is_answer for ref in clause.facts_read()):
            return []
        return [Test(self._of_comparison("unanswered", clause), "==", "unanswered")]

    # Attributes.

    def _of_fact(self, kind: str, fact: FactRef) -> int:
        return self._attribute(kind, fact.key, self.levels.of_fact(fact.fact_id), fact=fact)

    def _of_comparison(self, kind: str, clause: BoundClause) -> int:
        # Equal comparisons share an attribute, wherever they stand. Read as `unless`, a comparison
        # tells an open question from a conclusion that nobody drew.
        placeless = replace(clause, role="unless", address="")
        level = max(self.levels.of_fact(ref.fact_id) for ref in clause.facts_read())
        return self._attribute(kind, placeless, level, comparison=placeless)

    def _attribute(
        self, kind: str, about: FactKey | BoundClause, level: int, **subject: Any
    ) -> int:
        number = self.numbers.setdefault((kind, about), len(self.numbers))
        if number == len(self.attributes):
            self.attributes.append(Attribute(kind, level, **subject))
        return number
