"""Which safety questions come back today: on the dates of flags, when left open, and all in turn."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.model.values import Status
from assistant.records.chain import Line
from assistant.records.fold import ANSWERS

_OPEN = (Status.UNKNOWN.value, Status.DECLINED.value)


def due_again(
    lines: Iterable[Line],
    plan: Mapping[str, Any],
    askable: Iterable[str],
    on: dt.date,
    *,
    all_again_weeks: float,
    open_again_weeks: float,
) -> tuple[str, ...]:
    """Return the facts whose questions are due on a day, in the order of `askable`.

    plan: the digest of the last plan; its `again` says when the answers behind a flag are asked
    again. A question asked today is not asked twice.
    """
    said, values = _last_said(lines)
    if not said:
        return ()
    first = min(said.values())
    by_flag = {
        fact
        for item in plan.get("again", [])
        if dt.date.fromisoformat(item["due"]) <= on
        for fact in item["facts"]
    }
    due = []
    for fact in askable:
        last = said.get(fact, first)
        is_open = values.get(fact, Status.UNKNOWN.value) in _OPEN
        weeks = min(all_again_weeks, open_again_weeks) if is_open else all_again_weeks
        in_turn = last + dt.timedelta(weeks=weeks) <= on
        if last < on and (fact in by_flag or in_turn):
            due.append(fact)
    return tuple(due)


def _last_said(lines: Iterable[Line]) -> tuple[dict[str, dt.date], dict[str, Any]]:
    said: dict[str, dt.date] = {}
    values: dict[str, Any] = {}
    for line in lines:
        if line.kind == ANSWERS:
            for fact, value in json.loads(line.body)["answers"].items():
                said[fact] = line.said_on
                values[fact] = value
    return said, values
