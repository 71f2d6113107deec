"""The rule book and who plans by it, each made once a process."""

import datetime as dt
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import localised, read_language

if TYPE_CHECKING:
    from assistant.plan import EngineChoice, Planner


@lru_cache(maxsize=4)
def knowledge(rules: Path | None, house: Path | None) -> KnowledgeBase:
    """Return the knowledge base, loaded once a process. Raises InputProblems."""
    return load_knowledge(rules, overlay=house, calculators=CALCULATORS)


@lru_cache(maxsize=8)
def knowledge_in(rules: Path | None, house: Path | None, language: str) -> KnowledgeBase:
    """Return the knowledge base as a client reads it in a language. Raises InputProblems."""
    kb = knowledge(rules, house)
    return localised(kb, read_language(kb, language))


@lru_cache(maxsize=8)
def planner(
    rules: Path | None, house: Path | None, on: dt.date, engine: "EngineChoice | None"
) -> "Planner":
    """Return a planner for a day, made once a process."""
    # The engines are imported when the first plan is made, not with the book.
    from assistant.plan import prepare  # noqa: PLC0415

    compiled = _compiled(rules, house, engine)
    if not compiled:
        compiled.append(prepare(knowledge(rules, house), on, engine))
    return compiled[0].on_another_day(on)


@lru_cache(maxsize=4)
def _compiled(*book: object) -> "list[Planner]":  # noqa: ARG001 - what the place is kept by
    """Return the place for the first planner of a book and engine; those of other days share its engines."""
    return []


def read_anew() -> None:
    """Read books again when they are next asked for: a settings file was written."""
    for made in (knowledge, knowledge_in, planner, _compiled):
        made.cache_clear()
