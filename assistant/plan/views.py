"""The contract's composite facts, put together from the single facts the rules conclude."""

from collections.abc import Mapping
from typing import Any

from assistant.model.derivation import Derivation, Run
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import fact_key, split_key


def flag_records(kb: KnowledgeBase, run: Run) -> list[dict[str, str]]:
    """Return `{id, severity}` for every flag in force, most severe first, then most urgent.

    A flag that somebody decided about stays, with the lesser severity of what is left of it.
    """
    ranked = _ranked(kb, run, "screen.severity")
    return [{"id": flag, "severity": severity} for flag, severity in ranked]


def referral_records(kb: KnowledgeBase, run: Run) -> list[dict[str, str]]:
    """Return `{to, urgency}`, one a role, most urgent first."""
    ranked = _ranked(kb, run, "screen.referral_urgency")
    return [{"to": role, "urgency": urgency} for role, urgency in ranked]


def week_structure(kb: KnowledgeBase, run: Run) -> dict[str, str]:
    """Return the day type of each weekday that has one, Monday first."""
    found = _indexed(kb, run, "week.day_type")
    return {day: found[day] for day in kb.book.domains.get("weekday", ()) if day in found}


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


def _indexed(kb: KnowledgeBase, run: Run, fact_id: str) -> dict[str, str]:
    """Return the values of an indexed fact, for each index that has one."""
    declaration = kb.facts.get(fact_id)
    domain = declaration.index if declaration is not None else None
    keys = {index: fact_key(fact_id, index) for index in kb.book.domains.get(domain or "", ())}
    return {index: str(run.facts[key].value) for index, key in keys.items() if key in run.facts}


def _ranked(kb: KnowledgeBase, run: Run, fact_id: str) -> list[tuple[str, str]]:
    """Return what an indexed choice is for each index: the last of its choices first, then by domain.

    The domain of flags stands in the order of urgency, that of roles in the order they press.
    """
    found = _indexed(kb, run, fact_id)
    if not found:
        return []
    fact = kb.facts[fact_id]
    order, place = fact.choices.index, kb.book.domains[fact.index or ""].index
    return sorted(found.items(), key=lambda pair: (-order(pair[1]), place(pair[0])))


def referring_flags(run: Run, role: str | None = None) -> set[str]:
    """Return the flags because of which fired rules asked for somebody, or for one role."""
    return {
        str(reading.want)
        for record in run.records.fired()
        if any(
            fact_id == "screen.referral_urgency" and role in {None, index}
            for fact_id, index in (split_key(item.fact) for item in record.conclusions)
        )
        for reading in record.readings
        if reading.role == "when" and reading.fact == "screen.flags"
    }


def raised_flags(record: Derivation) -> frozenset[str]:
    """Return the flags that a fired rule found."""
    return frozenset(
        str(flag)
        for item in record.conclusions
        if item.fact == "screen.found"
        for flag in (item.value if isinstance(item.value, tuple) else (item.value,))
    )
