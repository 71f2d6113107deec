"""The versions of a client's plan, as the record holds them: one line of kind PLAN each."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.model.chain import plain_json
from assistant.model.version import CAUSES, Cause, Version
from assistant.records.chain import PLAN, Line, NewLine

_MADE = "made"


def version_line(
    digest: Mapping[str, Any], on: dt.date, cause: Cause, by: str = "", reason: str = ""
) -> NewLine:
    """Return a plan, as plain data, as the line that makes it the current version."""
    made = {"cause": cause, "by": by, "reason": reason}
    body = {**digest, _MADE: {name: text for name, text in made.items() if text}}
    return NewLine(PLAN, on, on, body=plain_json(body))


def versions_of(lines: Iterable[Line]) -> tuple[Version, ...]:
    """Return all versions of a history, the first one first."""
    plans = (line for line in lines if line.kind == PLAN)
    return tuple(_version(number, line) for number, line in enumerate(plans, start=1))


def last_version(lines: Iterable[Line]) -> Version | None:
    """Return the current version, None without one; only this one is read."""
    plans = [line for line in lines if line.kind == PLAN]
    return _version(len(plans), plans[-1]) if plans else None


def _version(number: int, line: Line) -> Version:
    digest: dict[str, Any] = json.loads(line.body)
    made = digest.pop(_MADE, {})
    cause = made.get("cause")
    return Version(
        number,
        line.day,
        digest,
        cause if cause in CAUSES else "earlier",
        made.get("by", ""),
        made.get("reason", ""),
    )
