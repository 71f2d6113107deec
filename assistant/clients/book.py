"""The rule book and who plans by it, each made once a process."""

import datetime as dt
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_kept
from assistant.knowledge.house import boundaries
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import localised, read_language

if TYPE_CHECKING:
    from assistant.knowledge.cache import Copy
    from assistant.knowledge.draft import Draft
    from assistant.plan import EngineChoice, Planner


def knowledge(rules: Path | None, house: Path | None, on: dt.date | None = None) -> KnowledgeBase:
    """Return the knowledge base, loaded once a process. Raises InputProblems.

    on: the day for which a house's folder counts; without one all that stands in it does, so that what was
    asked and answered before can still be read.
    """
    return _knowledge(rules, house, _since(house, on))[0]


@lru_cache(maxsize=8)
def _knowledge(
    rules: Path | None, house: Path | None, on: dt.date | None
) -> "tuple[KnowledgeBase, Copy | None]":
    return load_kept(rules, house, on=on, calculators=CALCULATORS, guard=_laws(rules))


@lru_cache(maxsize=8)
def knowledge_in(
    rules: Path | None, house: Path | None, language: str, on: dt.date | None = None
) -> KnowledgeBase:
    """Return the knowledge base as a client reads it in a language. Raises InputProblems."""
    kb = knowledge(rules, house, on)
    return localised(kb, read_language(kb, language))


def _since(house: Path | None, on: dt.date | None) -> dt.date | None:
    """The day since which all that is in force of a house's folder on a day is so, or no day at all."""
    if house is None or on is None or not house.is_dir():
        return None
    days = _boundaries(house)
    return max((day for day in days if day <= on), default=dt.date.min) if days else None


_boundaries = lru_cache(maxsize=4)(boundaries)


def _laws(rules: Path | None) -> "Callable[[Draft], list[Problem]]":
    """What holds over a house's folder: the laws of every book, tried by runs."""

    def broken(draft: "Draft") -> list[Problem]:
        # Only a folder that was changed is tried, so the engines are not imported with every book.
        from assistant.clients.cases import cases_of  # noqa: PLC0415
        from assistant.quality.laws import check_laws  # noqa: PLC0415
        from assistant.quality.suite import Options, Subject  # noqa: PLC0415

        subject = Subject(draft, (), CALCULATORS)
        found = check_laws(subject, Options(cases_of(None, rules, draft))).findings
        return [Problem(f"{e.file}:{e.line}", e.code, f"{e.what}; {e.fix}") for e in found]

    return broken


@lru_cache(maxsize=8)
def planner(
    rules: Path | None, house: Path | None, on: dt.date, engine: "EngineChoice | None"
) -> "Planner":
    """Return a planner for a day, made once a process."""
    # The engines are imported when the first plan is made, not with the book.
    from assistant.plan import prepare  # noqa: PLC0415

    compiled = _compiled(rules, house, _since(house, on), engine)
    if not compiled:
        kb, copy = _knowledge(rules, house, _since(house, on))
        kept = None if copy is None else copy.read_made(kb)
        made = prepare(kb, on, engine, kept)
        compiled.append(made)
        if copy is not None and (kept is None or made.compiled.rules is not kept.rules):
            copy.write_made(made.compiled, kb)
    return compiled[0].on_another_day(on)


@lru_cache(maxsize=4)
def _compiled(*book: object) -> "list[Planner]":  # noqa: ARG001 - what the place is kept by
    """Return the place for the first planner of a book and engine; those of other days share its engines."""
    return []


def read_anew() -> None:
    """Read books again when they are next asked for: a settings file was written."""
    for made in (_knowledge, _boundaries, knowledge_in, planner, _compiled):
        made.cache_clear()
