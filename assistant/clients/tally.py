"""The record counted: what stands changed by hand, and who of those to be seen was seen."""

import datetime as dt
import json
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.tally import Tally
from assistant.model.values import split_key
from assistant.plan.by_hand import fact_of
from assistant.records.asked import referrals_told
from assistant.records.chain import ANSWERS, ENTRY, FACTS, PLAN, Line
from assistant.records.store import Records
from assistant.records.versions import last_version

_DECIDED = ("set_aside", "cleared")


def count_record(
    tally: Tally, records: Records, kb: KnowledgeBase, who_is: Callable[[str], str]
) -> None:
    """Count every client of a record. who_is: what a log calls the client of a name."""
    for client in records.clients():
        lines = records.history(client, kinds=[ANSWERS, ENTRY, FACTS, PLAN])
        who = who_is(client.name)
        tally.clients.add(who)
        for place, line in enumerate(lines):
            if line.kind == ANSWERS:
                _count_answers(tally, who, json.loads(line.body), lines[:place], kb)
        told = referrals_told(lines, dt.date.max)
        for seen in told.seen:
            tally.referrals[who, seen.role] = "yes"
        for still in told.open():
            tally.referrals[who, still.role] = still.answer or "not asked"


def _count_answers(
    tally: Tally, who: str, body: dict[str, Any], before: Sequence[Line], kb: KnowledgeBase
) -> None:
    for made in body.get("overrides", ()):
        fact, rule = _behind(made["line"], kb)
        tally.standing(who, made, rule, partial(_said, before, fact))
    for made in body.get("week", {}).get("edits", ()):
        tally.edited(who, made)
    for made in body.get("decisions", ()):
        for kind in _DECIDED:
            if kind in made:
                tally.decided(who, kind, made[kind], made)


def _behind(line: str, kb: KnowledgeBase) -> tuple[str, str]:
    """The fact that a line is about, and the rule behind it where only one can be; empty where neither is known."""
    try:
        fact = fact_of(line, kb)
    except InputProblems:
        return "", ""
    rules = kb.writers.get(split_key(fact)[0], ())
    return fact, rules[0] if len(rules) == 1 else ""


def _said(before: Sequence[Line], fact: str) -> object:
    """What the plan kept last said of a fact."""
    version = last_version(before)
    return None if version is None else version.facts.get(fact)
