"""What a coach noted without changing anything: lines of kind NOTED, read for themselves alone."""

import datetime as dt
import json
from collections.abc import Iterable
from typing import Literal, NamedTuple

from assistant.model.chain import plain_json
from assistant.records.chain import NOTED, Line, NewLine

Subject = Literal["review_refused"]


class Noted(NamedTuple):
    """What was noted on a day, by whom and why."""

    about: Subject
    on: dt.date
    by: str
    reason: str


def noted_line(about: Subject, by: str, reason: str, on: dt.date) -> NewLine:
    """Return a note as a line of the history."""
    return NewLine(NOTED, on, on, body=plain_json({"about": about, "by": by, "reason": reason}))


def noted_in(lines: Iterable[Line]) -> list[Noted]:
    """Return the notes among lines, in the order they were made."""
    bodies = ((line.day, json.loads(line.body)) for line in lines if line.kind == NOTED)
    return [Noted(body["about"], day, body["by"], body["reason"]) for day, body in bodies]
