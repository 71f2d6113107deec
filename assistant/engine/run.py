"""Run a compiled knowledge base on one case, on one engine or on both."""

import datetime as dt
from collections.abc import Mapping
from typing import Literal, TypeAlias

from assistant.engine import clips, durable
from assistant.engine.answers import starting_facts
from assistant.engine.backend import Backend, BackendMaker
from assistant.engine.compiled import CompiledBook
from assistant.engine.session import Outcome, run_session
from assistant.engine.terms import Calculator
from assistant.engine.verdict import give_verdicts
from assistant.model.derivation import Run
from assistant.model.errors import EngineFault, InputProblems, Problem
from assistant.model.values import FactKey, Value

EngineChoice: TypeAlias = Literal["durable", "clips", "both"]
MAKERS: dict[str, BackendMaker] = {"durable": durable.DurableBackend, "clips": clips.ClipsBackend}


def run_engine(
    compiled: CompiledBook,
    answers: Mapping[FactKey, Value],
    on: dt.date,
    engine: EngineChoice | None = None,
    calculators: Mapping[str, Calculator] | None = None,
    ranges: Mapping[FactKey, tuple[float | None, float | None]] | None = None,
    by_hand: Mapping[FactKey, Value] | None = None,
) -> Run:
    """Return every final fact and, for every rule and element, why it did or did not fire.

    engine: None takes CLIPS, which runs on every Python, starts faster and needs less memory; `both` runs both.
    calculators: the registered calculators by name. ranges: low and high of given facts. by_hand: values
    that replace what the rules conclude.
    Raises InputProblems for answers of the wrong kind or an engine that is not installed, and
    EngineFault where an engine fails, engines differ, or rules contradict each other.
    """
    if on != compiled.on:
        text = f"the book was compiled for {compiled.on}, the case is of {on}; compile it anew"
        raise InputProblems([Problem("as_of", "wrong-day", text)])
    start = starting_facts(compiled, answers, on)
    kinds = engine_kinds(engine)
    backends = [_backend(compiled, kind) for kind in kinds]
    outcomes = [
        run_session(compiled, backend, start.values, calculators or {}, ranges, by_hand)
        for backend in backends
    ]
    for other in outcomes[1:]:
        compare(compiled, outcomes[0], other)
    records, facts = give_verdicts(compiled, outcomes[0], start.assumed)
    return Run(
        facts=facts,
        records=records,
        assumptions=tuple(sorted({key.partition("[")[0] for key in start.assumed})),
        engine=" and ".join(backend.name for backend in backends),
    )


def engine_kinds(engine: EngineChoice | None) -> tuple[str, ...]:
    """Return which engines a choice means."""
    return ("durable", "clips") if engine == "both" else (engine or "clips",)


def compare(book: CompiledBook, first: Outcome, second: Outcome) -> None:
    """Raise EngineFault naming the rules on which two engines differ."""
    differing = {
        book.name_of(book.program.rules[number].owner)
        for number in first.fired.keys() | second.fired.keys()
        if first.fired.get(number) != second.fired.get(number)
    }
    differing |= {
        book.name_of(owner)
        for owner in first.conclusions.keys() | second.conclusions.keys()
        if first.conclusions.get(owner) != second.conclusions.get(owner)
    }
    if differing:
        raise EngineFault(f"the two engines differ on {', '.join(sorted(differing))}")
    if first.facts.values != second.facts.values or first.facts.ranges != second.facts.ranges:
        raise EngineFault("the two engines agree on the rules but not on the final facts")


def _backend(compiled: CompiledBook, kind: str) -> Backend:
    if kind not in MAKERS:
        text = f"`{kind}` is no engine; allowed: durable, clips, both"
        raise InputProblems([Problem("engine", "unknown-engine", text)])
    try:
        return compiled.engines.get(kind, MAKERS[kind], compiled.program)
    except ImportError as error:
        text = f"`{kind}` is not installed here ({error}); use the other engine"
        raise InputProblems([Problem("engine", "not-installed", text)]) from error
