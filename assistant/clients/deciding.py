"""A person's decision about a warning: checked as one in a case file is, and kept with its reason."""

from collections.abc import Callable, Mapping
from typing import Any

from assistant.casefiles.decisions import Kind, read_decisions
from assistant.clients.desk import Desk
from assistant.clients.kept import Why, told_anew
from assistant.clients.person import Person
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Decision
from assistant.model.errors import InputProblems, Problem
from assistant.model.values import FactKey, Value
from assistant.model.version import Version
from assistant.plan.clearances import Clearances
from assistant.plan.signed import checked_words
from assistant.records.store import Records

Decisions = tuple[Decision, ...]


def decision_of(
    person: Person,
    kind: Kind,
    flag: str,
    *,
    by: str,
    reason: str,
    role: str = "",
    until: str | None = None,
    seen: Mapping[str, Any] | None = None,
) -> Decision:
    """Return a decision of the day. seen: answers a professional saw, as plain data. Raises InputProblems."""
    written: dict[str, Any] = {
        kind: flag,
        "by": by,
        "reason": reason,
        "since": person.planner.on.isoformat(),
        "until": until,
    }
    if role:
        written["role"] = role
    if seen is not None:
        written["seen"] = dict(seen)
    problems: list[Problem] = []
    place = Parsed(f"--{kind.replace('_', '-')}", {}, {})
    found = read_decisions([written], person.planner.kb, place, problems, client=person.case.name)
    if problems:
        raise InputProblems(problems)
    return found[0]


def without(person: Person, decision: Decision) -> Decisions:
    """Return the decisions without one. Raises InputProblems where it is not there any more."""
    if decision not in person.case.decisions:
        text = "this decision was withdrawn meanwhile; nothing was kept"
        raise InputProblems([Problem("--withdraw", "unknown-decision", text)])
    return tuple(each for each in person.case.decisions if each != decision)


def to_be_seen(person: Person, flag: str) -> dict[FactKey, Value]:
    """Return the answers that a professional must have seen for a clearance of a flag to hold."""
    given = {key: fact.value for key, fact in person.run().facts.items()}
    return Clearances(person.planner.kb, given, person.planner.on).to_be_seen(flag)


def keep(
    desk: Desk,
    records: Records,
    name: str,
    decided: Callable[[Person], Decisions],
    by: str,
    reason: str,
) -> Version:
    """Keep what is decided, with who and why, as a version of the plan. Raises InputProblems.

    decided: gives the decisions that then stand, of the client as they stand when it is kept.
    """
    why = Why("decision", *checked_words(by, reason, desk.kb.overrides.reasons))
    return desk.keep(records, name, lambda now: told_anew(now, why, decisions=decided(now)))
