"""Which safety questions come back today: on the dates of flags, when left open, and all in turn."""

import datetime as dt
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status
from assistant.records.chain import ANSWERS, Line


@dataclass(frozen=True)
class Asked:
    """Questions that come back while one of the flags stands, so many weeks after the last answer."""

    flags: tuple[str, ...]
    facts: tuple[str, ...]
    weeks: float


@dataclass(frozen=True)
class Rounds:
    """Which safety questions come back in turn, and how long after they were answered last.

    asks: what comes back while a flag of the plan stands; these may be questions outside `askable`.
    """

    askable: tuple[str, ...]
    all_again_weeks: float
    open_again_weeks: float
    asks: tuple[Asked, ...] = ()


_OPEN = (Status.UNKNOWN.value, Status.DECLINED.value)


def due_since(
    lines: Iterable[Line],
    plan: Mapping[str, Any],
    rounds: Rounds,
    on: dt.date,
    raised: Mapping[str, dt.date],
) -> tuple[tuple[str, ...], dt.date | None]:
    """Return the facts whose questions are due on a day, in the order of the rounds, and since when.

    plan: the digest of the last plan; its `again` says when the answers behind a flag are asked
    again. raised: since when each of its flags stands. A question asked today is not asked twice.
    """
    said, values = _last_said(lines)
    if not said:
        return (), None
    first = min(said.values())
    by_flag: dict[str, dt.date] = {}
    for item in plan.get("again", []):
        day = dt.date.fromisoformat(item["due"])
        for fact in item["facts"]:
            by_flag[fact] = min(day, by_flag.get(fact, day))
    due: dict[str, dt.date] = {}
    for fact in rounds.askable:
        last = said.get(fact, first)
        is_open = values.get(fact, Status.UNKNOWN.value) in _OPEN
        weeks = min(rounds.all_again_weeks, rounds.open_again_weeks if is_open else math.inf)
        day = last + dt.timedelta(weeks=weeks)
        # A flag's "before the next session" still means another day than the one of the answer.
        by_date = max(by_flag.get(fact, day), last + dt.timedelta(days=1))
        if min(day, by_date) <= on:
            due[fact] = min(day, by_date)
    for fact, day in _asked_by_flags(said, first, raised, rounds.asks).items():
        if day <= on:
            due[fact] = min(day, due.get(fact, day))
    return tuple(due), min(due.values(), default=None)


def _asked_by_flags(
    said: Mapping[str, dt.date],
    first: dt.date,
    raised: Mapping[str, dt.date],
    asks: Iterable[Asked],
) -> dict[str, dt.date]:
    """Return the days on which questions behind flags are due: at once, and then in turn.

    An answer for the session alone is never kept, so its question goes with the others of its kind.
    """
    days: dict[str, dt.date] = {}
    for ask in asks:
        kept = [fact for fact in ask.facts if fact not in SESSION_ONLY_FACTS]
        since = max((raised[flag] for flag in ask.flags if flag in raised), default=None)
        if since is None or not kept:
            continue
        last = min(said.get(fact, first) for fact in kept)
        wait = max(dt.timedelta(weeks=ask.weeks), dt.timedelta(days=1))
        days |= dict.fromkeys(ask.facts, since if last < since else last + wait)
    return days


def _last_said(lines: Iterable[Line]) -> tuple[dict[str, dt.date], dict[str, Any]]:
    said: dict[str, dt.date] = {}
    values: dict[str, Any] = {}
    for line in lines:
        if line.kind == ANSWERS:
            for fact, value in json.loads(line.body)["answers"].items():
                said[fact] = line.said_on
                values[fact] = value
    return said, values
