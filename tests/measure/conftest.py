"""The shipped rules and settings, loaded once; records made of invented rows."""

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.measure import Settings
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.plan.record import measure_settings

ROOT = Path(__file__).parents[2]
START = dt.date(2026, 1, 12)


@pytest.fixture(scope="session")
def settings(kb: KnowledgeBase) -> Settings:
    return measure_settings(kb, START)


@pytest.fixture(scope="session")
def case(kb: KnowledgeBase) -> Case:
    return read_case(ROOT / "cases/four_days.yaml", kb)


@pytest.fixture(scope="session")
def planner_of() -> Callable[[dt.date], Planner]:
    made: dict[dt.date, Planner] = {}

    def planner(on: dt.date) -> Planner:
        if on not in made:
            made[on] = planner_on(on)
        return made[on]

    return planner


@pytest.fixture(scope="session")
def clear(case: Case) -> Mapping[str, Any]:
    return case.answers
