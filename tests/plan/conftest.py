"""The shipped rules and cases, loaded once."""

import dataclasses
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))


@pytest.fixture(scope="module")
def clear(kb: KnowledgeBase) -> Case:
    """A person without flags whose figures stand nowhere else."""
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    odd = {"client.weight_kg": 63.7, "client.height_cm": 168.3, "client.goal_weight_kg": 66.9}
    return dataclasses.replace(case, answers={**case.answers, **odd})


@pytest.fixture(scope="module")
def planner(clear: Case) -> Planner:
    return planner_on(clear.as_of)
