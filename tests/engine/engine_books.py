"""Small knowledge bases for tests of the engine, built from plain dictionaries."""

import datetime as dt
import json
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.model.book import Book
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule

ON = dt.date(2026, 1, 12)
STAGES = ("screen", "assess", "dose")
SOURCE = [{"ref": "bench", "supports": "all of it"}]
GRADE = {"certainty": "low", "note": "made up"}


def fact(
    fact_id: str, kind: str = "boolean", origin: str = "answer", **more: Any
) -> dict[str, Any]:
    """A fact declaration; answers that are numbers get a range."""
    raw = {"id": fact_id, "label": fact_id, "type": kind, "origin": origin, **more}
    if kind in {"number", "integer"} and origin == "answer":
        raw.setdefault("range", [-1000, 1000])
    return raw


def derived(fact_id: str, kind: str = "boolean", **more: Any) -> dict[str, Any]:
    """A declaration of a fact that rules conclude."""
    return fact(fact_id, kind, "derived", **more)


def rule(rule_id: str, **more: Any) -> dict[str, Any]:
    """A rule with everything filled in that a test does not care about."""
    raw = {"id": rule_id, "title": rule_id, "stage": "dose", "because": f"{rule_id} says so"}
    return {**raw, "source": SOURCE, "grade": GRADE, "tests": {}, **more}


def parameter(name: str, value: float, **more: Any) -> dict[str, Any]:
    """A parameter in force from the start of 2026."""
    raw = {"id": name, "title": name, "unit": "1", "range": [-1000, 1000], "step": 1}
    values = [{"since": "2026-01-01", "value": value}]
    return {**raw, "values": values, "source": SOURCE, "grade": GRADE, **more}


def book(
    facts: Iterable[dict[str, Any]],
    rules: Iterable[dict[str, Any]],
    parameters: Iterable[dict[str, Any]] = (),
    domains: Mapping[str, tuple[str, ...]] | None = None,
    overlay: Mapping[str, float] | None = None,
) -> KnowledgeBase:
    """A knowledge base of these documents, each validated as if read from a file."""
    declared = [FactDeclaration.model_validate_json(json.dumps(raw)) for raw in facts]
    read_rules = [Rule.model_validate_json(json.dumps(raw)) for raw in rules]
    named = [Parameter.model_validate_json(json.dumps(raw)) for raw in parameters]
    return KnowledgeBase(
        book=Book(name="bench", version="0.1.0", stages=STAGES, domains=dict(domains or {})),
        facts={one.id: one for one in declared},
        parameters={one.id: one for one in named},
        rules={one.id: one for one in read_rules},
        sources={},
        grades={},
        sections=(),
        questions=(),
        files={},
        languages={},
        places={},
        logic_hash="",
        content_hash="",
        overlay=dict(overlay or {}),
    )
