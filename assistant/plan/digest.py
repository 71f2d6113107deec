"""What is kept of a plan in a client's record: its facts, its flags, and when to ask again."""

import datetime as dt
from typing import Any

from assistant.model.derivation import Run, word_in
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.views import (
    composite_facts,
    flag_records,
    raised_flags,
    referring_flags,
    week_structure,
)
from assistant.plan.visibility import visible_conclusions, withheld_outputs

_REST = "rest"


def plan_digest(kb: KnowledgeBase, run: Run, on: dt.date) -> dict[str, Any]:
    """Return a plan as plain data, for the coach's side: what was concluded on a day, by what book.

    by_hand: the facts that a coach set by hand, where there are any. again: for every flag, the day its questions are due again and the answers it rests on. A
    referral names the flags it is `for`.
    """
    facts = visible_conclusions(kb, run, "coach")
    views = composite_facts(kb, run)
    days = week_structure(kb, run)
    return {
        "as_of": on.isoformat(),
        "book": kb.identity,
        "engine": run.engine,
        "level": word_in(run.facts, "screen.level", "none"),
        "flags": views["screen.flags"],
        "referrals": [
            {**each, "for": sorted(referring_flags(run, each["to"]))}
            for each in views["screen.referrals"]
        ],
        "withheld": sorted(withheld_outputs(run)),
        "training_days": [day for day, kind in days.items() if kind != _REST],
        "again": _again(kb, run, on),
        **({"by_hand": sorted(run.by_hand)} if run.by_hand else {}),
        "facts": {key: _plain(fact.value) for key, fact in facts.items()},
    }


def _again(kb: KnowledgeBase, run: Run, on: dt.date) -> list[dict[str, Any]]:
    return [
        {
            "flag": record["id"],
            "due": (on + dt.timedelta(weeks=kb.flags[record["id"]].rescreen_weeks)).isoformat(),
            "facts": sorted(answers_behind(run, record["id"])),
        }
        for record in flag_records(kb, run)
    ]


def answers_behind(run: Run, flag: str) -> set[str]:
    """Return the answers that a flag rests on, all the way down."""
    answers: set[str] = set()
    waiting = [
        name
        for record in run.records.fired()
        if flag in raised_flags(record)
        for name in record.rests_on
    ]
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        if name.startswith("a:"):
            answers.add(name.removeprefix("a:"))
        else:
            waiting += run.derivation(name).rests_on
    return answers


def _plain(value: object) -> Any:
    if isinstance(value, tuple):
        return list(value)
    return value if isinstance(value, bool | int | float) else str(value)
