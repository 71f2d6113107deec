"""The shipped rules and one week, solved once: a calendar's own tests need no second search."""

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge, read_case
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.plan import Planner, prepare
from assistant.plan.sentences import Narrator
from assistant.plan.week import catalogue_of, week_of

ROOT = Path(__file__).parents[2]
Planned = tuple[Plan, Narrator]


@pytest.fixture(scope="session")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


@pytest.fixture(scope="session")
def case(kb: KnowledgeBase) -> Case:
    return read_case(ROOT / "cases/two_short_evenings.yaml", kb)


@pytest.fixture(scope="session")
def planner(kb: KnowledgeBase, case: Case) -> Planner:
    return prepare(kb, case.as_of)


@pytest.fixture(scope="session")
def programme(planner: Planner, case: Case) -> Programme:
    week = week_of(planner.run(case), catalogue_of(planner.kb))
    assert week is not None
    assert week.sessions
    return week


@pytest.fixture(scope="session")
def planned(planner: Planner, case: Case) -> Callable[[Audience], Planned]:
    run = planner.run(case)

    def plan_for(audience: Audience) -> Planned:
        narrator = planner.narrator(run, audience)
        return planner.plan(case, narrator), narrator

    return plan_for
