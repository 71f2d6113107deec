"""The shipped book and cases, and people made from them by changing what they answered."""

import dataclasses
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.model.case import Case
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value
from assistant.plan import Planner

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))


@pytest.fixture(scope="session")
def cases(kb: KnowledgeBase) -> dict[str, Case]:
    return {path.stem: read_case(path, kb) for path in CASES}


@pytest.fixture(scope="session")
def planner(cases: dict[str, Case]) -> Planner:
    return planner_on(cases["four_days"].as_of, "clips")


@pytest.fixture(scope="session")
def people(kb: KnowledgeBase, cases: dict[str, Case]) -> Callable[[int, int], list[Case]]:
    """Return made-up people: a shipped case with up to eight answers drawn anew."""

    def make(seed: int, number: int) -> list[Case]:
        chance = random.Random(seed)
        return [_person(kb, chance, chance.choice(list(cases.values()))) for _ in range(number)]

    return make


def _person(kb: KnowledgeBase, chance: random.Random, case: Case) -> Case:
    answered = [f for f in kb.facts.values() if f.origin == "answer" and f.id.startswith("client.")]
    drawn = {}
    for fact in chance.sample(answered, chance.randint(1, 8)):
        value: Value = Status.UNKNOWN
        if chance.random() > 0.15:
            choices = fact.choices or kb.book.domains.get(fact.choice_domain or "", ())
            if fact.type is FactType.BOOLEAN:
                value = chance.random() < 0.5
            elif fact.type is FactType.CHOICE:
                value = chance.choice(choices)
            elif fact.type is FactType.CHOICES:
                value = tuple(
                    sorted(chance.sample(choices, chance.randint(0, min(5, len(choices)))))
                )
            elif fact.range is not None:
                low, high = fact.range
                value = round(chance.uniform(low, min(high, low + (high - low) * 0.6)), 1)
            if fact.id in {"client.age_years", "client.height_cm", "client.weight_kg"}:
                continue  # figures that fit no body at all only test the limits of equations
        drawn[fact.id] = value
    return dataclasses.replace(case, answers={**case.answers, **drawn})
