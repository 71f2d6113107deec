"""The rule files of the week as plain data, read apart from the loader, and the catalogue of the book."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from assistant.clients.book import knowledge
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.week import catalogue_of
from assistant.programme.catalogue import Catalogue

RULES = Path(__file__).parents[2] / "rules"
ON = dt.date(2026, 1, 12)


@cache
def _parsed(name: str) -> dict[str, Any]:
    text = (RULES / f"{name}.yaml").read_text("utf-8")
    parsed: dict[str, Any] = yaml.load(text, Loader=yaml.CSafeLoader)
    return parsed


@cache
def book() -> KnowledgeBase:
    return knowledge(None, None)


@cache
def catalogue() -> Catalogue:
    return catalogue_of(book(), ON)


@cache
def rows() -> dict[str, dict[str, Any]]:
    """Exercise rows as they stand in the file, by id."""
    return {row["id"]: row for row in _parsed("exercises")["exercises"]}


@cache
def pattern_rows() -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in _parsed("exercises")["patterns"]}


@cache
def _numbers() -> dict[str, float]:
    return {
        row["id"].removeprefix("programme."): row["values"][-1]["value"]
        for row in _parsed("parameters/programme")["parameters"]
    }


@cache
def limit_rows() -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in _parsed("limits")["limits"]}


def setting(section: str, name: str) -> Any:
    """A setting of programme.yaml, or the number of that name among the parameters."""
    written = _parsed("programme").get(section, {})
    return written[name]["value"] if name in written else _numbers()[name]
