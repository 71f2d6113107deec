"""A coach's change of a line of a past decision, written down with its reason (`assistant/plan/by_hand.py`)."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from assistant.audit.entry import FORMAT, DecisionEntry
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
    by, reason = checked_words(wish.by, wish.reason, kb.overrides.reasons)
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
