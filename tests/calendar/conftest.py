"""The shipped rules and a week made by hand: real weeks are searched in tests/plan and by hand."""

from collections.abc import Callable
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.programme import Line, Programme, Session
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.plan.sentences import Narrator

ROOT = Path(__file__).parents[2]
Planned = tuple[Plan, Narrator]


@pytest.fixture(scope="session")
def case(kb: KnowledgeBase) -> Case:
    return read_case(ROOT / "cases/two_short_evenings.yaml", kb)


@pytest.fixture(scope="session")
def planner(case: Case) -> Planner:
    return planner_on(case.as_of)


@pytest.fixture(scope="session")
def programme() -> Programme:
    """Two sessions as a solver would give them: only days, minutes and lines reach a calendar."""
    names = ("Goblet squat", "One-arm row", "Side plank")
    lines = tuple(
        Line(
            order, name.lower(), name, 3, "seconds" if order == len(names) else "repetitions",
            8, 12 + order, 2, 90, "moderate", None, "", 300, "", (),
        )
        for order, name in enumerate(names, start=1)
    )  # fmt: skip
    sessions = (
        Session("tue", "full", 34.5, 35, lines),
        Session("fri", "full", 31.0, 35, lines[:2]),
    )
    return Programme(sessions, (), (), (), (), (), (), {"tue": "full", "fri": "full"}, "")


@pytest.fixture(scope="session")
def planned(planner: Planner, case: Case) -> Callable[[Audience], Planned]:
    run = planner.run(case)

    def plan_for(audience: Audience) -> Planned:
        narrator = planner.narrator(run, audience)
        return planner.plan(case, narrator), narrator

    return plan_for
