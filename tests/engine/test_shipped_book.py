"""The shipped rule book on generated people: both engines and the verdict pass agree.

People are drawn from the fact declarations alone, statuses included, so every corner of the
vocabulary is reached. `both` raises on any difference in fired rules or conclusions, and every run
checks itself against the verdict pass.
"""

import datetime as dt
import random
from collections import Counter

import pytest
from lengths import at_length

from assistant.calculate.registry import CALCULATORS
from assistant.clients.book import knowledge
from assistant.engine import CompiledBook, EngineChoice, compile_knowledge, durable, run_engine
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value, fact_key

ON = dt.date(2026, 1, 12)
ENGINE: EngineChoice = "both" if durable.importable() else "clips"


@pytest.fixture(scope="module")
def book() -> tuple[KnowledgeBase, CompiledBook]:
    kb = knowledge(None, None)
    return kb, compile_knowledge(kb, ON)


def _value(fact: FactDeclaration, kb: KnowledgeBase, draw: random.Random) -> Value:
    if fact.type is FactType.BOOLEAN:
        return draw.random() < (0.04 if fact.id.startswith("screen.") else 0.5)
    if fact.type is FactType.DATE:
        return (ON + dt.timedelta(days=draw.randint(-30, 500))).isoformat()
    if fact.type in {FactType.CHOICE, FactType.CHOICES}:
        allowed = fact.choices or kb.book.domains[fact.choice_domain or ""]
        if fact.type is FactType.CHOICE:
            return draw.choice(allowed)
        # Signs felt stop everything, as those of the screen do; most people have none.
        if fact.id.startswith(("screen.", "record.signs")) and draw.random() < 0.9:
            return ()
        return tuple(sorted(draw.sample(allowed, draw.randint(1, min(4, len(allowed))))))
    assert fact.range is not None
    low, high = fact.range
    # A pressure drawn from all that can be typed would stop nearly everybody.
    if fact.id.startswith("screen.bp_") and draw.random() < 0.7:
        high = {"screen.bp_systolic": 170.0, "screen.bp_diastolic": 105.0}[fact.id]
    value = draw.uniform(low, high)
    return float(round(value)) if fact.type is FactType.INTEGER else round(value, 1)


def _person(kb: KnowledgeBase, draw: random.Random) -> dict[str, Value]:
    """A person most of whose answers are given; some are open, declined or not applicable."""
    open_share = draw.choice([0.0, 0.02, 0.3])
    answers: dict[str, Value] = {}
    for fact in kb.facts.values():
        if fact.origin != "answer":
            continue
        if draw.random() < open_share:
            statuses = [Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE]
            answers[fact.id] = draw.choice(statuses)
        elif fact.allows_none and draw.random() < 0.4:
            answers[fact.id] = Status.NONE
        else:
            answers[fact.id] = _value(fact, kb, draw)
    return {**answers, **_record(kb, draw)}


def _record(kb: KnowledgeBase, draw: random.Random) -> dict[str, Value]:
    """What a record might tell, for every other person; any number, also a strange one."""
    told: dict[str, Value] = {}
    if draw.random() < 0.5:
        return told
    for fact in kb.facts.values():
        if fact.origin != "record" or draw.random() < 0.2:
            continue
        for index in kb.book.domains[fact.index] if fact.index else (None,):
            key = fact_key(fact.id, index)
            if fact.type is FactType.NUMBER:
                told[key] = round(draw.uniform(-2, draw.choice((2, 10, 100, 3000))), 1)
            else:
                told[key] = _value(fact, kb, draw)
    return told


def _agree(book: tuple[KnowledgeBase, CompiledBook], seeds: range) -> None:
    kb, compiled = book
    levels: Counter[Value] = Counter()
    for seed in seeds:
        run = run_engine(
            compiled, _person(kb, random.Random(seed)), ON, engine=ENGINE, calculators=CALCULATORS
        )
        levels[run.facts["screen.level"].value] += 1
        assert len(run.records) == len(compiled.rules)
    # Some are stopped; at least one in ten gets past the screen, so that later stages are tried.
    assert levels["stop"] > 0
    assert levels["stop"] < 0.9 * len(seeds)


def test_the_engines_agree_on_generated_people(book: tuple[KnowledgeBase, CompiledBook]) -> None:
    _agree(book, range(20))


@pytest.mark.slow
def test_the_engines_agree_on_many_people(
    book: tuple[KnowledgeBase, CompiledBook],
) -> None:
    _agree(book, range(1000, 1000 + at_length(5000, in_ci=600)))
