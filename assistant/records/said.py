"""What was said in a check-in that is not finished: how it is kept, and read again the same day."""

import datetime as dt
import json
from collections.abc import Iterable
from typing import Any

from assistant.model.chain import plain_json
from assistant.model.values import Status, Value
from assistant.records.chain import Line, NewLine
from assistant.records.kinds import SAID

_FINISHED = "finished"


def said_line(fact: str, value: Any, today: dt.date) -> NewLine:
    """Return an answer (its plain value) as a line of the history."""
    return NewLine(SAID, today, today, body=plain_json({"fact": fact, "value": value}))


def finished_line(today: dt.date) -> NewLine:
    """Return the line that ends a check-in: the next one of the day begins anew."""
    return NewLine(SAID, today, today, body=plain_json({_FINISHED: True}))


def said_today(lines: Iterable[Line], today: dt.date) -> dict[str, Value]:
    """Return what was answered in a check-in of today that is not finished."""
    said: dict[str, Value] = {}
    for line in lines:
        if line.kind == SAID and line.said_on == today:
            body: dict[str, Any] = json.loads(line.body)
            if _FINISHED in body:
                said = {}
            else:
                said[body["fact"]] = _value(body["value"])
    return said


def _value(raw: Any) -> Value:
    if isinstance(raw, str) and raw in set(Status):
        return Status(raw)
    value: Value = tuple(raw) if isinstance(raw, list) else raw
    return value
