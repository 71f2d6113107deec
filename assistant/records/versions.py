"""The versions of a client's plan, as the record holds them: two lines each, written at once.

The line of kind PLAN holds what is read of every version ever made: what the screen says, what is agreed,
when to look again. All other conclusions and the week stand in the line before it, of kind FACTS, so
that a look at all clients over years does not read them.
"""

import datetime as dt
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from assistant.model.chain import plain_json
from assistant.model.version import CAUSES, Cause, Version
from assistant.records.chain import FACTS, PLAN, Line, NewLine

_MADE, _NOT_AGREED = "made", "not_agreed"
_FACTS, _OF_THE_WEEK = "facts", ("week", "edits")
# The facts that stand in the plan's own line: what is agreed, and what a look at all clients reads.
_READ = (
    "review.",
    "phase.now",
    "energy.target_",
    "energy.maintenance_",
    "energy.measured_",
    "block.rotate_now",
    "training.resting_joints",
)


def version_lines(
    digest: Mapping[str, Any],
    on: dt.date,
    cause: Cause,
    by: str = "",
    reason: str = "",
    not_agreed: Sequence[str] = (),
) -> tuple[NewLine, NewLine]:
    """Return a plan, as plain data, as the lines that make it the current version.

    not_agreed: how the names of facts begin that nobody agreed with it, so that what was agreed before
    goes on.
    """
    made = {"cause": cause, "by": by, "reason": reason, _NOT_AGREED: list(not_agreed)}
    facts: Mapping[str, Any] = digest[_FACTS]
    read = {key: value for key, value in facts.items() if key.startswith(_READ)}
    rest: dict[str, Any] = {_FACTS: {k: v for k, v in facts.items() if k not in read}}
    rest |= {name: digest[name] for name in _OF_THE_WEEK if name in digest}
    said = {name: part for name, part in digest.items() if name not in rest}
    body = {**said, _FACTS: read, _MADE: {name: told for name, told in made.items() if told}}
    return (
        NewLine(FACTS, on, on, body=plain_json(rest)),
        NewLine(PLAN, on, on, body=plain_json(body)),
    )


class AgreedFacts(NamedTuple):
    """The facts that a version agrees, as plain data, and those of them that a coach set by hand."""

    facts: dict[str, Any]
    by_hand: Sequence[str]


def agreed_facts(line: Line) -> AgreedFacts:
    """Return what a version agrees."""
    body: dict[str, Any] = json.loads(line.body)
    facts, silent = body[_FACTS], tuple(body.get(_MADE, {}).get(_NOT_AGREED, ()))
    if silent:
        facts = {key: value for key, value in facts.items() if not key.startswith(silent)}
    return AgreedFacts(facts, body.get("by_hand", ()))


def versions_of(lines: Iterable[Line]) -> tuple[Version, ...]:
    """Return all versions of a history, the first one first."""
    return tuple(_version(number, *pair) for number, pair in enumerate(_pairs(lines), start=1))


def last_version(lines: Iterable[Line]) -> Version | None:
    """Return the current version, None without one; only this one is read."""
    pairs = list(_pairs(lines))
    return _version(len(pairs), *pairs[-1]) if pairs else None


def _pairs(lines: Iterable[Line]) -> Iterator[tuple[Line, Line | None]]:
    """Yield each plan with the rest of it: none in an old record, nor where it was not asked for."""
    rest: Line | None = None
    for line in lines:
        if line.kind == FACTS:
            rest = line
        elif line.kind == PLAN:
            yield line, rest if rest is not None and rest.number == line.number - 1 else None


def _version(number: int, line: Line, rest: Line | None) -> Version:
    digest: dict[str, Any] = json.loads(line.body)
    if rest is not None:
        more: dict[str, Any] = json.loads(rest.body)
        digest = {**digest, **more, _FACTS: {**more[_FACTS], **digest[_FACTS]}}
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
