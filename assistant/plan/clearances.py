"""A decision holds for what was seen when it was given, and for nothing new or worse.

What "worse" means is read off the rules: a list answer with a new item; a yes/no or a choice that a
rule raises a flag on and that was not seen; a number past a line of the screen that it had not passed;
a time since an event that has become shorter, which says that it happened again.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from functools import cached_property

from assistant.knowledge.walk import clause_facts, clauses, facts_written, operand
from assistant.model.case import Decision
from assistant.model.clauses import Clause
from assistant.model.expressions import ParameterTerm
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import Status, Value, split_key

_FOUND = "screen.found"
_UP, _DOWN = {"at_least", "more_than"}, {"at_most", "less_than"}
_TIME_SINCE = {"wk", "mo"}


class Clearances:
    """Judges clearances by the answers of a day. given: what is known, by fact."""

    def __init__(self, kb: KnowledgeBase, given: Mapping[str, object], on: dt.date) -> None:
        self.kb = kb
        self.given = given
        self.on = on

    def void_by(self, decision: Decision) -> tuple[str, ...]:
        """Return the facts that make a decision void, in order of name; empty if it holds.

        A clearance that does not say what was seen is void by everything it would lift. What a coach set
        aside is void by a change since then, and by what its own `seen`, where it has one, did not hold.
        """
        if decision.flag not in self.kb.flags:
            return ()
        deciding, rests_on = self.kb.screen_words.deciding, self.answers_of(decision.flag)
        changed = {deciding.changed} if self.given.get(deciding.changed) is True else set()
        if decision.seen is None:
            return tuple(sorted(rests_on if decision.kind == "cleared" else changed))
        looked_at = rests_on | self._watched
        return tuple(
            sorted(changed | {fact for fact in looked_at if self._is_worse(fact, decision.seen)})
        )

    def to_be_seen(self, flag: str) -> dict[str, Value]:
        """Return the answers of the day that a clearance of a flag must have seen to hold, by key."""
        if flag not in self.kb.flags:
            return {}
        looked_at = self.answers_of(flag) | self._watched
        facts = {fact for fact in looked_at if self._is_worse(fact, {})}
        return {
            key: value  # type: ignore[misc]  # what is worse is a value, not a status
            for key, value in sorted(self.given.items())
            if split_key(key)[0] in facts
        }

    def is_new_since(self, seen: Mapping[str, Value]) -> bool:
        """Tell whether anything in a watched answer is new or worse than what was seen."""
        return any(self._is_worse(fact, seen) for fact in self._watched)

    def _is_worse(self, fact_id: str, seen: Mapping[str, Value]) -> bool:
        """Tell whether a fact, or any of its values by joint or the like, is new or worse."""
        keys = [key for key in self.given if split_key(key)[0] == fact_id]
        return any(self._value_is_worse(fact_id, self.given[key], seen.get(key)) for key in keys)

    def _value_is_worse(self, fact_id: str, now: object, before: Value | None) -> bool:
        if now is None or isinstance(now, Status) or now == before:
            return False
        declaration = self.kb.facts[fact_id]
        if declaration.type is FactType.CHOICES:
            had = before if isinstance(before, tuple) else ()
            return isinstance(now, tuple) and not set(now) <= set(had)
        if isinstance(now, int | float) and not isinstance(now, bool):
            return self._number_is_worse(declaration, float(now), before)
        if fact_id in self._watched and now is True:
            return True
        return any(self._raises(clause, now) for clause in self._tests.get(fact_id, ()))

    def _number_is_worse(
        self, declaration: FactDeclaration, now: float, before: Value | None
    ) -> bool:
        was = float(before) if isinstance(before, int | float) else None
        for clause in self._tests.get(declaration.id, ()):
            line = self._line(clause)
            if line is None:
                continue
            if clause.operator in _UP and now >= line and (was is None or was < line):
                return True
            if clause.operator in _DOWN and now <= line:
                again = declaration.unit in _TIME_SINCE and was is not None and now < was
                if was is None or was > line or again:
                    return True
        return False

    def _raises(self, clause: Clause, now: object) -> bool:
        """Tell whether a yes/no or a choice is what the clause looks for."""
        if clause.one_of is not None:
            return now in clause.one_of
        return clause.operator == "equals" and clause.equals == now

    def _line(self, clause: Clause) -> float | None:
        value = operand(clause)
        if isinstance(value, ParameterTerm):
            return self.kb.parameter_value(value.param, self.on).value
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return float(value) if is_number else None  # type: ignore[arg-type]

    @cached_property
    def _watched(self) -> frozenset[str]:
        """Answers in which anything new counts: those that hold all exercise, and those the book names."""
        held = {fact.id for fact in self.kb.facts.values() if fact.tier == "A"}
        return frozenset(held | set(self.kb.screen_words.deciding.watched))

    @cached_property
    def _screening(self) -> tuple[Rule, ...]:
        return tuple(rule for rule in self.kb.rules.values() if rule.stage == "screen")

    @cached_property
    def _tests(self) -> Mapping[str, tuple[Clause, ...]]:
        """The clauses of the screen's rules that speak for a flag, by the fact they test."""
        found: dict[str, list[Clause]] = {}
        for rule in self._screening:
            for each in clauses(rule):
                if each.role == "when":
                    for fact in clause_facts(each.clause):
                        found.setdefault(fact, []).append(each.clause)
        return {fact: tuple(listed) for fact, listed in found.items()}

    def answers_of(self, flag: str) -> set[str]:
        """Return the answers and facts of the record that a flag can rest on, all the way down."""
        waiting = [rule for rule in self._screening if flag in _finds(rule)]
        answers: set[str] = set()
        seen: set[str] = set()
        while waiting:
            for fact in _speaking_facts(waiting.pop()):
                if fact in seen:
                    continue
                seen.add(fact)
                if self.kb.facts[fact].origin in {"answer", "record"}:
                    answers.add(fact)
                else:
                    waiting += [r for r in self._screening if fact in facts_written(r)]
        return answers


def _finds(rule: Rule) -> set[object]:
    return {conclusion.item for conclusion in rule.then if conclusion.add == _FOUND}


def _speaking_facts(rule: Rule) -> Iterator[str]:
    for each in clauses(rule):
        if each.role == "when":
            yield from clause_facts(each.clause)
