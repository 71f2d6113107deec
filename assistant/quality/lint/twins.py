"""Rules that say the same thing twice, and rules whose conclusions never count."""

import json
from typing import Any

from assistant.knowledge.walk import conclusion_expressions
from assistant.model.errors import Problem
from assistant.model.expressions import FactTerm, parts
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule

# Two rules may have the same logic but for these.
_OWN = {"id", "stage", "overrides"}


def dead_and_twin_rules(kb: KnowledgeBase) -> list[Problem]:
    """Return rules with the logic of another, and rules that are overridden whenever they fire."""
    problems: list[Problem] = []
    seen: dict[str, str] = {}
    for rule in kb.rules.values():
        logic = _text({name: part for name, part in rule.logic.items() if name not in _OWN})
        first = seen.setdefault(logic, rule.id)
        if first != rule.id:
            text = (
                f"{rule.id} has the same conditions and conclusions as {first}; remove one of them"
            )
            problems.append(Problem(kb.place("rule", rule.id), "twin-rule", text))
    for stronger in kb.rules.values():
        for weaker_id in stronger.overrides:
            weaker = kb.rules[weaker_id]
            if _always_with(stronger, weaker):
                text = (
                    f"{weaker_id} never counts: {stronger.id} overrides it and fires whenever it "
                    f"does; remove {weaker_id}, or give {stronger.id} a narrower condition"
                )
                problems.append(Problem(kb.place("rule", weaker_id), "dead-rule", text))
    return problems


def _always_with(stronger: Rule, weaker: Rule) -> bool:
    """Whether the stronger rule asks for nothing that the weaker one does not ask for, too."""
    if stronger.in_force_from or stronger.in_force_until or stronger.for_each != weaker.for_each:
        return False
    # What a conclusion is worked out from must be known, too, for a rule to fire.
    if not _made_of(stronger) <= _made_of(weaker):
        return False
    covered = {c.fact for c in weaker.then} <= {c.fact for c in stronger.then}
    return covered and all(
        _texts(getattr(stronger, part)) <= _texts(getattr(weaker, part))
        for part in ("when", "unless", "excused_by")
    )


def _made_of(rule: Rule) -> set[str]:
    return {
        term.fact
        for conclusion in rule.then
        for _, expression in conclusion_expressions(conclusion)
        for term in parts(expression)
        if isinstance(term, FactTerm)
    }


def _texts(conditions: tuple[Any, ...]) -> set[str]:
    return {_text(c.model_dump(mode="json", by_alias=True, exclude_none=True)) for c in conditions}


def _text(plain: Any) -> str:
    return json.dumps(plain, sort_keys=True)
