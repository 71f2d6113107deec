"""What goes into the hash of a line of the record, and what its trails call a client."""

import datetime as dt
from dataclasses import dataclass

from assistant.model.chain import START, digest, plain_json

# Kinds of lines of a client's history: a measure, answers, a kept plan, a word of the check-in; and all
# that a kept plan concluded, in the line before the plan's own. NOTED: said by a coach, and changes nothing.
ENTRY, ANSWERS, PLAN, SAID, FACTS = "entry", "answers", "plan", "said", "facts"
NOTED = "noted"


@dataclass(frozen=True)
class NewLine:
    """A line to be appended to a client's history. `body` is JSON text, empty for none."""

    kind: str
    said_on: dt.date
    day: dt.date
    measure: str = ""
    detail: str = ""
    value: float | None = None
    body: str = ""


@dataclass(frozen=True)
class Line(NewLine):
    """A line as it is kept."""

    number: int = 0
    previous: str = START
    hash: str = ""


def line_hash(token: str, number: int, line: NewLine, previous: str) -> str:
    """Return the hash of a line of the client with this token."""
    days = [line.said_on.isoformat(), line.day.isoformat()]
    value = None if line.value is None else float(line.value)
    said = [token, number, line.kind, *days, line.measure, line.detail, value, line.body, previous]
    return digest(plain_json(said))


def subject_of(token: str) -> str:
    """Return what the trails call a client; without the token nobody can tell who it was."""
    return digest(f"client:{token}")
