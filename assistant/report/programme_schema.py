"""JSON Schema of the week inside the plan document, for the coach and for the client."""

from typing import Any

from assistant.model.knowledge import KnowledgeBase
from assistant.report.schema_parts import BOOLEAN, TEXT, amount, choice, count, list_of, record


def programme_schema(kb: KnowledgeBase, *, for_coach: bool) -> dict[str, Any]:
    """Return sessions with their lines and, for the coach, the account of the search."""
    fields: dict[str, Any] = {"sessions": list_of(_session(kb)), "notes": list_of(TEXT)}
    account: dict[str, Any] = {
        "muscles": list_of(_muscle(kb)),
        "unmet": list_of(_unmet()),
        "phases": list_of(_phase()),
        "not_chosen": list_of(_not_chosen()),
        "binding": list_of(TEXT),
        "shape_reason": TEXT,
    }
    return record({**fields, **account} if for_coach else fields)


def _session(kb: KnowledgeBase) -> dict[str, Any]:
    return record(
        {
            "day": choice(kb.book.domains["weekday"]),
            "type": choice(kb.facts["week.day_type"].choices),
            "minutes": amount(),
            "minutes_allowed": count(1),
            "lines": {**list_of(_line()), "minItems": 1},
        }
    )


def _line() -> dict[str, Any]:
    substitute = record({"exercise": TEXT, "name": TEXT, "changes": TEXT, "why": TEXT})
    return record(
        {
            "order": count(1),
            "exercise": TEXT,
            "name": TEXT,
            "sets": count(1),
            "measure": choice(["repetitions", "seconds"]),
            "reps": {**list_of(count(1)), "minItems": 2, "maxItems": 2},
            "rir": count(),
            "rest_s": count(),
            "load_note": TEXT,
            "reason": TEXT,
            "substitutes": list_of(substitute),
        },
        {"load_kg": amount()},
    )


def _muscle(kb: KnowledgeBase) -> dict[str, Any]:
    sets = dict.fromkeys(("sets", "low", "target", "ceiling", "floor"), amount())
    return record(
        {
            "muscle": choice(kb.book.domains["muscle"]),
            "sessions": count(),
            "priority": BOOLEAN,
            **sets,
        }
    )


def _unmet() -> dict[str, Any]:
    words = dict.fromkeys(("kind", "subject", "why", "remedy"), TEXT)
    return record({**words, "wanted": amount(), "got": amount()})


def _phase() -> dict[str, Any]:
    words = dict.fromkeys(("id", "title", "why", "status", "gap_words"), TEXT)
    figures = {name: {"type": "integer"} for name in ("value", "bound")}
    return record({**words, **figures, "gap_percent": amount()})


def _not_chosen() -> dict[str, Any]:
    words = dict.fromkeys(("exercise", "cause", "why", "chosen_instead"), TEXT)
    return record(words, {"behind": {"type": "integer"}})
