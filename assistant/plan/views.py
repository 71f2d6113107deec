"""The contract's composite facts, put together from the single facts the rules conclude."""

from collections.abc import Mapping
from typing import Any

from assistant.model.derivation import Derivation, Run, Verdict
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import split_key


def flag_records(kb: KnowledgeBase, run: Run) -> list[dict[str, str]]:
    """Return `{id, severity}` for every flag in force, most severe first.

    A flag that somebody decided about stays, with the lesser severity of what is left of it.
    """
    declaration = kb.facts.get("screen.severity")
    if declaration is None:
        return []
    order = list(declaration.choices)
    found = _indexed(run, declaration)
    ranked = sorted(found.items(), key=lambda pair: (-order.index(pair[1]), pair[0]))
    return [{"id": flag, "severity": severity} for flag, severity in ranked]


def referral_records(kb: KnowledgeBase, run: Run) -> list[dict[str, str]]:
    """Return `{to, urgency}`, one a role, most urgent first."""
    declaration = kb.facts["screen.referral_urgency"]
    found = _indexed(run, declaration)
    order = list(declaration.choices)
    ranked = sorted(found.items(), key=lambda pair: (-order.index(pair[1]), pair[0]))
    return [{"to": role, "urgency": urgency} for role, urgency in ranked]


def week_structure(kb: KnowledgeBase, run: Run) -> dict[str, str]:
    """Return the day type of each weekday that has one, Monday first."""
    declaration = kb.facts.get("week.day_type")
    if declaration is None:
        return {}
    found = _indexed(run, declaration)
    return {day: found[day] for day in kb.book.domains["weekday"] if day in found}


def composite_facts(kb: KnowledgeBase, run: Run) -> Mapping[str, Any]:
    """Return the composite values by the fact name of the contract."""
    views: dict[str, Any] = {
        "screen.flags": flag_records(kb, run),
        "screen.referrals": referral_records(kb, run),
    }
    if "screen.withheld" not in run.facts:
        views["screen.withheld"] = []
    structure = week_structure(kb, run)
    if structure:
        views["week.structure"] = structure
    return views


def items_of(run: Run, key: str) -> tuple[str, ...]:
    """Return the items of a list fact, none where nothing was concluded."""
    fact = run.facts.get(key)
    return fact.value if fact is not None and isinstance(fact.value, tuple) else ()


def _indexed(run: Run, declaration: FactDeclaration) -> dict[str, str]:
    found: dict[str, str] = {}
    for key, fact in run.facts.items():
        fact_id, index = split_key(key)
        if fact_id == declaration.id and index is not None:
            found[index] = str(fact.value)
    return found


def acts_on_flag(record: Derivation, flag: str) -> bool:
    """Tell whether a fired rule acted because of this flag."""
    return record.verdict is Verdict.FIRED and any(
        reading.role == "when" and reading.fact == "screen.flags" and reading.want == flag
        for reading in record.readings
    )


def raised_flags(record: Derivation) -> frozenset[str]:
    """Return the flags that a fired rule found."""
    if record.verdict is not Verdict.FIRED:
        return frozenset()
    return frozenset(
        str(flag)
        for item in record.conclusions
        if item.fact == "screen.found"
        for flag in (item.value if isinstance(item.value, tuple) else (item.value,))
    )
