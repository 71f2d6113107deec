"""A coach's change of a line of a past decision, written down with its reason (`assistant/plan/by_hand.py`)."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.audit.entry import FORMAT, DecisionEntry, Entry, OverrideEntry
from assistant.knowledge.nearest import did_you_mean
from assistant.model.chain import plain
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.by_hand import Ground, checked_change
from assistant.plan.signed import checked_words


@dataclass(frozen=True)
class Wish:
    """What a coach asks for: a line of a decision, its new value as typed, by whom and why."""

    line: str
    to: str
    by: str
    reason: str


def override_body(
    entry: DecisionEntry, wish: Wish, kb: KnowledgeBase, written: dt.datetime
) -> dict[str, Any]:
    """Return a change of a decision, ready to be sealed. Raises InputProblems where it is not allowed."""
    by, reason = checked_words(wish.by, wish.reason)
    outcome = entry.outcome
    ground = Ground(outcome.facts, outcome.withheld, outcome.level, entry.as_of)
    line = outcome.lines.get(wish.line)
    if line is None and outcome.level != "stop":
        near = did_you_mean(wish.line, outcome.lines, "; `whyplan log show` lists its lines")
        text = f"decision {entry.sequence} has no line `{wish.line}`; what is left out cannot be changed{near}"
        raise InputProblems([Problem("--line", "unknown-line", text)])
    fact, value = checked_change(wish.line, wish.to, ground, kb)
    assert line is not None  # under a stop nothing can be changed
    return {
        "format": FORMAT,
        "kind": "override",
        "written": written.isoformat(timespec="seconds"),
        "decision": entry.sequence,
        "decision_id": entry.id,
        "line": wish.line,
        "fact": fact,
        "rule": line.rule,
        "was": plain(outcome.facts[fact].value),
        "to": plain(value),
        "by": by,
        "reason": reason,
    }


@dataclass(frozen=True)
class OftenOverridden:
    """A rule and how often its conclusion was changed by hand: times changed, decisions it fired in."""

    rule: str
    changed: int
    fired: int
    reasons: tuple[str, ...]


def often_overridden(entries: Iterable[Entry]) -> tuple[OftenOverridden, ...]:
    """Return the rules whose lines were changed, the most often changed first.

    Two changes of one line of one decision count once: the later one replaces the earlier.
    """
    latest: dict[tuple[int, str], OverrideEntry] = {}
    fired: Counter[str] = Counter()
    for entry in entries:
        if isinstance(entry, OverrideEntry):
            latest[entry.decision, entry.line] = entry
        else:
            fired.update({name.partition("[")[0] for name in entry.outcome.fired})
    by_rule: dict[str, list[OverrideEntry]] = {}
    for change in latest.values():
        by_rule.setdefault(change.rule, []).append(change)
    found = [
        OftenOverridden(
            rule,
            len({change.decision for change in changes}),
            fired[rule],
            tuple(dict.fromkeys(change.reason for change in changes)),
        )
        for rule, changes in by_rule.items()
    ]
    return tuple(sorted(found, key=lambda row: (-row.changed, row.rule)))


@dataclass(frozen=True)
class Rate:
    """In how many decisions of the log a rule fired, and in how many its line was changed by hand."""

    rule: str
    fired: int
    changed: int


def firing_rates(entries: Sequence[Entry]) -> tuple[Rate, ...]:
    """Return each rule that fired, the most often changed first, then the most often fired."""
    fired: Counter[str] = Counter()
    for entry in entries:
        if isinstance(entry, DecisionEntry):
            fired.update({name.partition("[")[0] for name in entry.outcome.fired})
    changed = {row.rule: row.changed for row in often_overridden(entries)}
    rates = (Rate(rule, fired[rule], changed.get(rule, 0)) for rule in {*fired, *changed})
    return tuple(sorted(rates, key=lambda row: (-row.changed, -row.fired, row.rule)))
