"""Clauses that can never hold or always do, and rules whose clauses shut each other out."""

import json
from collections.abc import Iterator
from itertools import combinations
from typing import Any

from assistant.knowledge.checks.disjoint import can_not_both_hold
from assistant.knowledge.checks.exclusive import bounds_of
from assistant.knowledge.walk import AddressedClause, clauses
from assistant.model.clauses import AnyOf
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.lint.possible import Always, Possible

_ADVICE = {
    Always.TRUE: "remove it, or correct the line",
    Always.FALSE: "correct the line, or remove the rule",
}


def hopeless_clauses(kb: KnowledgeBase) -> list[Problem]:
    """Return clauses without effect and rules that can never fire."""
    possible = Possible(kb)
    bounds = bounds_of(kb)
    problems: list[Problem] = []
    for rule in kb.rules.values():
        for addressed in clauses(rule):
            problems.extend(_constant(addressed, rule, kb, possible))
        problems.extend(_repeated(rule, kb))
        problems.extend(_shut_out(rule, kb, bounds))
    return problems


def _constant(
    addressed: AddressedClause, rule: Rule, kb: KnowledgeBase, possible: Possible
) -> Iterator[Problem]:
    outcome = possible.outcome(addressed.clause)
    if outcome is None:
        return
    always, why = outcome
    code = "constant-clause" if always is Always.TRUE else "impossible-clause"
    word = "always holds" if always is Always.TRUE else "can never hold"
    text = f"{rule.id} {addressed.address} {word}: {why}; {_ADVICE[always]}"
    yield Problem(kb.place("rule", rule.id, *addressed.path), code, text)


def _repeated(rule: Rule, kb: KnowledgeBase) -> Iterator[Problem]:
    seen: dict[tuple[str, str], str] = {}
    for addressed in clauses(rule):
        group = ".".join(map(str, addressed.path[:2])) if len(addressed.path) > 2 else ""  # noqa: PLR2004
        text = json.dumps(_plain(addressed.clause), sort_keys=True)
        first = seen.setdefault((addressed.role + group, text), addressed.address)
        if first != addressed.address:
            told = f"{rule.id} {addressed.address} repeats {first}; remove one of them"
            yield Problem(kb.place("rule", rule.id, *addressed.path), "repeated-clause", told)


def _shut_out(
    rule: Rule, kb: KnowledgeBase, bounds: dict[str, tuple[float, float]]
) -> Iterator[Problem]:
    needed = [
        [_plain(each) for each in (c.any_of if isinstance(c, AnyOf) else (c,))] for c in rule.when
    ]
    for (n, one), (m, other) in combinations(enumerate(needed), 2):
        if all(can_not_both_hold(a, b, bounds) for a in one for b in other):
            text = (
                f"{rule.id} can never fire: when.{n} and when.{m} exclude each other; "
                "correct one of them"
            )
            yield Problem(kb.place("rule", rule.id, "when", m), "impossible-rule", text)
    for role in ("unless", "excused_by"):
        for number, clause in enumerate(getattr(rule, role)):
            for n, group in enumerate(needed):
                if group == [_plain(clause)]:
                    text = (
                        f"{rule.id} can never fire: when.{n} asks for what {role}.{number} "
                        "shuts out; remove one of them"
                    )
                    place = kb.place("rule", rule.id, role, number)
                    yield Problem(place, "impossible-rule", text)


def _plain(clause: Any) -> dict[str, Any]:
    plain: dict[str, Any] = clause.model_dump(mode="json", by_alias=True, exclude_none=True)
    return plain
