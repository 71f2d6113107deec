"""Which questions a check-in asks: those that are due again, and those that follow what was told."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from assistant.intake.checkin.book import checkin_book
from assistant.intake.checkin.form import PREFIX
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.records.asked import raised_since
from assistant.records.chain import Line
from assistant.records.due import Asked, Rounds, due_since


def rounds_of(kb: KnowledgeBase, on: dt.date) -> Rounds:
    """Return which safety questions come back, and when.

    Age and height stand once told, and weight is a measure of the check-in itself.
    """
    numbers = checkin_book(kb, on).numbers
    return Rounds(
        askable=tuple(
            question.fact
            for question in kb.questions
            if kb.facts[question.fact].is_safety and not question.fact.startswith("client.")
        ),
        all_again_weeks=numbers["all_again_weeks"],
        open_again_weeks=numbers["open_again_weeks"],
        asks=tuple(
            Asked(
                ask.flags,
                ask.facts,
                0.0 if ask.again_weeks is None else kb.parameter_value(ask.again_weeks, on).value,
            )
            for ask in kb.checkin.asks.all
        ),
    )


def due_questions(
    kb: KnowledgeBase, lines: Sequence[Line], plan: Mapping[str, Any], today: dt.date
) -> tuple[str, ...]:
    """Return the facts that are asked for again today; `plan` is the digest of the last one.

    A session-only answer is never kept, so its question comes along with each full round.
    """
    rounds = rounds_of(kb, today)
    due, _ = due_since(lines, plan, rounds, today, raised_since(lines, plan))
    in_turn = replace(rounds, open_again_weeks=rounds.all_again_weeks, asks=())
    round_due, _ = due_since(lines, {}, in_turn, today, {})
    asked = {question.fact for question in kb.questions}
    once = sorted(SESSION_ONLY_FACTS & asked - set(due)) if round_due else ()
    return (*due, *once)


def follow_up_questions(
    kb: KnowledgeBase, today: dt.date, raised: Collection[str], said: Collection[str]
) -> list[str]:
    """Return the facts to ask for once flags are raised by what was told, `said` having been said."""
    facts = [
        fact
        for ask in rounds_of(kb, today).asks
        if set(ask.flags) & set(raised)
        for fact in ask.facts
        if ask.weeks == 0 or fact not in said
    ]
    return facts + [
        PREFIX + question.id
        for question in kb.checkin.questions
        if set(question.while_flags) & set(raised)
    ]
