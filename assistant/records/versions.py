"""The versions of a client's plan, as the record holds them: one line of kind PLAN each."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from assistant.model.chain import plain_json
from assistant.model.version import CAUSES, Cause, Version
from assistant.records.chain import PLAN, Line, NewLine

_MADE, _NOT_AGREED = "made", "not_agreed"


def version_line(
    digest: Mapping[str, Any],
    on: dt.date,
    cause: Cause,
    by: str = "",
    reason: str = "",
    not_agreed: Sequence[str] = (),
) -> NewLine:
    """Return a plan, as plain data, as the line that makes it the current version.

    not_agreed: how the names of facts begin that nobody agreed with it, so that what was agreed before
    goes on.
    """
    made = {"cause": cause, "by": by, "reason": reason, _NOT_AGREED: list(not_agreed)}
    body = {**digest, _MADE: {name: told for name, told in made.items() if told}}
    return NewLine(PLAN, on, on, body=plain_json(body))


def agreed_facts(line: Line) -> dict[str, Any]:
    """Return the facts that a version agrees, as plain data."""
    body: dict[str, Any] = json.loads(line.body)
    silent = tuple(body.get(_MADE, {}).get(_NOT_AGREED, ()))
    return {key: value for key, value in body["facts"].items() if not key.startswith(silent)}


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
