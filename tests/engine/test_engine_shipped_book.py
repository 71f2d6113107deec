"""The shipped rules on random people: engines and verdict pass agree, and no run is stopped."""

import random
from functools import cache

import pytest
from engine_books import ON

from assistant.calculate.registry import CALCULATORS
from assistant.engine import CompiledBook, compile_knowledge, durable, run_engine
from assistant.engine.run import EngineChoice
from assistant.knowledge import load_knowledge
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
DAYS = ("2026-01-01", "2026-01-12", "2026-04-01", "2027-01-12")


@cache
def shipped() -> CompiledBook:
    return compile_knowledge(load_knowledge(), ON)


def random_answers(kb: KnowledgeBase, source: random.Random, gaps: float) -> dict[str, Value]:
    """An answer to every question, within what the question allows; some are left open."""
    answers: dict[str, Value] = {}
    for fact in kb.facts.values():
        if fact.origin == "answer" and fact.index is None:
            open_status = source.choice((Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE))
            is_open = source.random() < gaps
            answers[fact.id] = open_status if is_open else random_value(fact, kb, source)
    return answers


def random_value(fact: FactDeclaration, kb: KnowledgeBase, source: random.Random) -> Value:
    choices = fact.choices or kb.book.domains.get(fact.choice_domain or "", ())
    value: Value
    if fact.type in {FactType.NUMBER, FactType.INTEGER}:
        low, high = fact.range or (0.0, 100.0)
        value = float(round(source.uniform(low, high), 0 if fact.type is FactType.INTEGER else 1))
    elif fact.type is FactType.BOOLEAN:
        value = source.random() < 0.2
    elif fact.type is FactType.CHOICE:
        value = source.choice(choices)
    elif fact.type is FactType.CHOICES:
        value = tuple(sorted(one for one in choices if source.random() < 0.3))
    elif fact.type is FactType.DATE:
        value = source.choice(DAYS)
    else:
        value = "text"
    return value


def check(seed: int) -> None:
    compiled = shipped()
    answers = random_answers(compiled.kb, random.Random(seed), gaps=(seed % 4) * 0.1)
    run = run_engine(compiled, answers, ON, ENGINES, CALCULATORS)
    assert len(run.records) == len(compiled.rules)
    assert any(record.id for record in run.records)


@pytest.mark.parametrize("seed", range(40))
def test_random_people_get_a_run_on_the_shipped_rules(seed: int) -> None:
    check(seed)


@pytest.mark.slow
def test_many_random_people_get_a_run_on_the_shipped_rules() -> None:
    for seed in range(1_000, 1_500):
        check(seed)
