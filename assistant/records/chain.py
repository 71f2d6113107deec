"""Hash chains: every line carries the hash of the one before, so a change in the middle shows.

Tamper-evident, not tamper-proof: whoever may write the file can write a whole new chain.
"""

import datetime as dt
import hashlib
import json
from dataclasses import dataclass

START = "0" * 64
# One spelling for one meaning, as hashes need it; made once, because a record has many lines.
_ENCODER = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False
)


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


def plain_json(data: object) -> str:
    """Return JSON with one spelling for one meaning. Raises ValueError for what is no number."""
    return _ENCODER.encode(data)


def line_hash(token: str, number: int, line: NewLine, previous: str) -> str:
    """Return the hash of a line of the client with this token."""
    days = [line.said_on.isoformat(), line.day.isoformat()]
    value = None if line.value is None else float(line.value)
    said = [token, number, line.kind, *days, line.measure, line.detail, value, line.body, previous]
    return digest(plain_json(said))


def trail_hash(
    number: int, event: str, day: dt.date, subject: str, lines: int, head: str, previous: str
) -> str:
    """Return the hash of a line of the trail."""
    return digest(plain_json([number, event, day.isoformat(), subject, lines, head, previous]))


def subject_of(token: str) -> str:
    """Return what the trail calls a client; without the token nobody can tell who it was."""
    return digest(f"client:{token}")


def digest(text: str) -> str:
    """Return the SHA-256 of a text."""
    return hashlib.sha256(text.encode()).hexdigest()
