"""Runs cases and invented people through a compiled book, without the verdict of every rule."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.engine import CompiledBook
from assistant.engine.answers import starting_facts
from assistant.engine.backend import Backend
from assistant.engine.run import MAKERS, engine_kinds
from assistant.engine.session import Outcome, run_session
from assistant.engine.terms import CaseFacts
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, Value
from assistant.quality.people import People
from assistant.quality.points import DEFAULT_DAY
from assistant.quality.suite import Options


@dataclass(frozen=True)
class Ran:
    """What became of one person. facts, outcome: None where the run broke off with `fault`."""

    who: str
    answers: Mapping[FactKey, Value]
    outcome: Outcome | None = None
    fault: str = ""

    @property
    def facts(self) -> CaseFacts | None:
        """The final facts."""
        return None if self.outcome is None else self.outcome.facts


def day_of(options: Options) -> dt.date:
    """Return the day that people are run for: that of the first case."""
    return options.cases[0][1].as_of if options.cases else DEFAULT_DAY


def people_of(
    book: CompiledBook, options: Options
) -> Iterator[tuple[str, Mapping[FactKey, Value]]]:
    """Yield name and answers of every case of the book's day, then of the invented people."""
    for path, case in options.cases:
        yield path, case.answers
    made = People(book.kb, book.on, [case.answers for _, case in options.cases])
    for seed in range(options.seed, options.seed + options.people):
        yield f"person {seed}", made.person(seed)


def outcomes(book: CompiledBook, options: Options, calculators: Mapping[str, Any]) -> Iterator[Ran]:
    """Yield what becomes of every case and person, on the faster engine."""
    backend = fast_engine(book)
    for who, answers in people_of(book, options):
        yield ran(book, backend, who, answers, calculators)


def fast_engine(book: CompiledBook) -> Backend:
    """Return the engine that is quickest on a whole book; CLIPS is installed everywhere."""
    (kind,) = engine_kinds("clips")
    return book.engines.get(kind, MAKERS[kind], book.program)


def ran(
    book: CompiledBook,
    backend: Backend,
    who: str,
    answers: Mapping[FactKey, Value],
    calculators: Mapping[str, Any],
) -> Ran:
    """Return what becomes of one person."""
    try:
        start = starting_facts(book, answers, book.on)
        return Ran(who, answers, run_session(book, backend, start.values, calculators))
    except EngineFault as fault:
        return Ran(who, answers, fault=str(fault))
