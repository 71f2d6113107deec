"""Engines, verdict pass and a naive reference agree on random rules and random people."""

import dataclasses
import random
from collections.abc import Sequence
from typing import Any

import pytest
from engine_books import ON
from engine_fuzz import CALCULATORS, Draw
from engine_reference import Conflict, Reference
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.engine import CompiledBook, compile_knowledge, durable, judge, run_engine
from assistant.engine.run import EngineChoice
from assistant.model.derivation import Derivation, Run, Verdict
from assistant.model.errors import EngineFault
from assistant.model.knowledge import KnowledgeBase

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
PEOPLE_PER_BOOK = 4


def check(kb: KnowledgeBase, compiled: CompiledBook, answers: dict[str, Any]) -> bool:
    """Hold one case against the reference; return whether it was free of conflicts."""
    expected = Reference(kb, answers, ON, CALCULATORS)
    try:
        expected.everything()
    except Conflict:
        with pytest.raises(EngineFault, match="has one value, but FUZ-"):
            run_engine(compiled, answers, ON, ENGINES, CALCULATORS)
        return False
    run = run_engine(compiled, answers, ON, ENGINES, CALCULATORS)
    for record in run.records:
        place = (record.rule_id, record.binding.get("muscle"))
        verdict, readings = expected.verdict(kb.rules[record.rule_id], place[1])
        verdict = "overridden" if place in expected.overridden else verdict
        assert record.verdict == verdict, place
        assert {one.address: one.holds for one in record.readings} == readings, place
        if record.verdict not in (Verdict.NOT_IN_FORCE, Verdict.OVERRIDDEN):
            alone = judge_again(kb, run, record)
            assert (alone.verdict, alone.readings) == (record.verdict, record.readings), place
            assert alone.conclusions == record.conclusions, place
    for key, value in expected.facts.items():
        if isinstance(value, list):
            assert key not in run.facts or key in answers or key.startswith("answers."), key
        elif key in run.facts:
            assert run.facts[key].value == value, key
        else:
            assert value is False, key
    return True


def judge_again(kb: KnowledgeBase, run: Run, record: Derivation) -> Derivation:
    """The same rule by itself over the run's final facts."""
    return judge(
        kb.rules[record.rule_id],
        record.binding.get("muscle"),
        {key: final.value for key, final in run.facts.items()},
        kb,
        ON,
        CALCULATORS,
        ranges={key: (final.low, final.high) for key, final in run.facts.items()},
    )


def check_seed(seed: int) -> list[bool]:
    draw = Draw(random.Random(seed))
    kb = draw.knowledge()
    compiled = compile_knowledge(kb, ON)
    try:
        return [check(kb, compiled, draw.person()) for _ in range(PEOPLE_PER_BOOK)]
    finally:
        compiled.close()


def tried(cases: int) -> settings:
    return settings(max_examples=cases, deadline=None, suppress_health_check=list(HealthCheck))


def agree_on_a_drawn_case(source: random.Random) -> None:
    draw = Draw(source)
    kb = draw.knowledge()
    compiled = compile_knowledge(kb, ON)
    try:
        check(kb, compiled, draw.person())
    finally:
        compiled.close()


@tried(20)
@given(st.randoms(use_true_random=False))
def test_engines_and_reference_agree_on_drawn_cases(source: random.Random) -> None:
    agree_on_a_drawn_case(source)


@pytest.mark.slow
@tried(200)
@given(st.randoms(use_true_random=False))
def test_engines_and_reference_agree_on_many_drawn_cases(source: random.Random) -> None:
    agree_on_a_drawn_case(source)


def order_changes_nothing(source: random.Random) -> None:
    draw = Draw(source)
    kb, answers = draw.knowledge(), draw.person()
    rules, facts, given_answers = (
        list(kb.rules.items()),
        list(kb.facts.items()),
        list(answers.items()),
    )
    for listed in (rules, facts, given_answers):
        source.shuffle(listed)
    shuffled = dataclasses.replace(kb, rules=dict(rules), facts=dict(facts))

    def outcome(book: KnowledgeBase, person: dict[str, Any]) -> Run | str:
        compiled = compile_knowledge(book, ON)
        try:
            return run_engine(compiled, person, ON, ENGINES, CALCULATORS)
        except EngineFault as fault:
            return str(fault)
        finally:
            compiled.close()

    assert outcome(kb, answers) == outcome(shuffled, dict(given_answers))


@tried(12)
@given(st.randoms(use_true_random=False))
def test_order_of_rules_and_answers_changes_nothing(source: random.Random) -> None:
    order_changes_nothing(source)


@pytest.mark.slow
@tried(100)
@given(st.randoms(use_true_random=False))
def test_order_changes_nothing_at_length(source: random.Random) -> None:
    order_changes_nothing(source)


@pytest.mark.parametrize(
    "seeds",
    [range(80, 120), pytest.param((*range(80), *range(120, 700)), marks=pytest.mark.slow)],
)
def test_engines_and_reference_agree_on_books_made_up(seeds: Sequence[int]) -> None:
    outcomes = [one for seed in seeds for one in check_seed(seed)]
    assert len(outcomes) == len(seeds) * PEOPLE_PER_BOOK
    # Conflicts between rules are the rare case, and did occur.
    assert 0.9 < sum(outcomes) / len(outcomes) < 1
