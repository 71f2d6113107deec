"""The solved week as plain data, in the shape the plan's JSON promises."""

import dataclasses
from typing import Any

from assistant.model.programme import Line, Programme, Session

# How the search went is the coach's business: a client reads the sessions.
_COACH_ONLY = ("muscles", "unmet", "phases", "not_chosen", "binding", "shape_reason")


def programme_document(programme: Programme, *, for_coach: bool) -> dict[str, Any]:
    """Return sessions with their lines and, for the coach, the account of the search."""
    shown: dict[str, Any] = {"sessions": [_session(item) for item in programme.sessions]}
    for name in _COACH_ONLY if for_coach else ():
        value = getattr(programme, name)
        shown[name] = [_plain(item) for item in value] if isinstance(value, tuple) else value
    shown["notes"] = list(programme.notes)
    return shown


def _session(session: Session) -> dict[str, Any]:
    return {
        "day": session.day,
        "type": session.type,
        "minutes": session.minutes,
        "minutes_allowed": session.minutes_allowed,
        "lines": [_line(line) for line in session.lines],
    }


def _line(line: Line) -> dict[str, Any]:
    shown: dict[str, Any] = {
        "order": line.order,
        "exercise": line.exercise,
        "name": line.name,
        "sets": line.sets,
        "measure": line.measure,
        "reps": [line.low, line.high],
        "rir": line.rir,
        "rest_s": line.rest_s,
    }
    if line.load_kg is not None:
        shown["load_kg"] = line.load_kg
    return {
        **shown,
        "load_note": line.load_note,
        "reason": line.reason,
        "substitutes": [_plain(item) for item in line.substitutes],
    }


def _plain(item: Any) -> Any:
    if dataclasses.is_dataclass(item) and not isinstance(item, type):
        return {k: v for k, v in dataclasses.asdict(item).items() if v is not None}
    return item
