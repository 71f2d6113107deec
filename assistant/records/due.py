"""Which safety questions come back today: on the dates of flags, when left open, and all in turn."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.model.values import Status
from assistant.records.chain import Line
from assistant.records.fold import ANSWERS

_OPEN = (Status.UNKNOWN.value, Status.DECLINED.value)


def due_since(
    lines: Iterable[Line],
    plan: Mapping[str, Any],
    askable: Iterable[str],
    on: dt.date,
    *,
    all_again_weeks: float,
    open_again_weeks: float,
) -> tuple[tuple[str, ...], dt.date | None]:
    """Return the facts whose questions are due on a day, in the order of `askable`, and since when.

    plan: the digest of the last plan; its `again` says when the answers behind a flag are asked
    again. A question asked today is not asked twice.
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
    for fact in askable:
        last = said.get(fact, first)
        is_open = values.get(fact, Status.UNKNOWN.value) in _OPEN
        weeks = min(all_again_weeks, open_again_weeks) if is_open else all_again_weeks
        day = last + dt.timedelta(weeks=weeks)
        # A flag's "before the next session" still means another day than the one of the answer.
        by_date = max(by_flag.get(fact, day), last + dt.timedelta(days=1))
        if min(day, by_date) <= on:
            due[fact] = min(day, by_date)
    return tuple(due), min(due.values(), default=None)


def _last_said(lines: Iterable[Line]) -> tuple[dict[str, dt.date], dict[str, Any]]:
    said: dict[str, dt.date] = {}
    values: dict[str, Any] = {}
    for line in lines:
        if line.kind == ANSWERS:
            for fact, value in json.loads(line.body)["answers"].items():
                said[fact] = line.said_on
                values[fact] = value
    return said, values
