"""Time of a whole plan on the shipped rule book, cold and warm, and of the engines inside it.

Run with `pytest tests/benchmarks/test_plan_speed.py --benchmark-enable -o addopts=`.
"""

from pathlib import Path
from typing import Any

import pytest
from installed_engines import ENGINES

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.knowledge import load_knowledge
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner, prepare
from assistant.report.plan_json import plan_json

ROOT = Path(__file__).parents[2]
# Generous against a busy machine; the measured figures stand in DEVELOPERS.md.
MOST_SECONDS = {"run": 0.4, "warm": 0.8, "cold": 12.0}


@pytest.fixture(scope="module")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


@pytest.fixture(scope="module")
def people(kb: KnowledgeBase) -> list[Case]:
    return [read_case(path, kb) for path in sorted((ROOT / "cases").glob("*.yaml"))]


def _page(planner: Planner, case: Case) -> str:
    narrator = planner.narrator(planner.run(case), "coach")
    return plan_json(planner.plan(case, narrator), narrator)


def _hold(benchmark: Any, what: str, people: int) -> None:
    if benchmark.enabled:
        assert benchmark.stats.stats.median / people < MOST_SECONDS[what]


@pytest.mark.parametrize("engine", ENGINES)
def test_rules_of_the_whole_book(
    benchmark: Any, kb: KnowledgeBase, people: list[Case], engine: Any
) -> None:
    planner = prepare(kb, people[0].as_of, engine)
    facts = benchmark(lambda: sum(len(planner.run(case).facts) for case in people))
    assert facts > 50 * len(people)
    _hold(benchmark, "run", len(people))


def test_plan_warm(benchmark: Any, kb: KnowledgeBase, people: list[Case]) -> None:
    """Rules compiled already: answers in, JSON page out."""
    planner = prepare(kb, people[0].as_of, "clips")
    pages = benchmark(lambda: [_page(planner, case) for case in people])
    assert all('"sections"' in page for page in pages)
    _hold(benchmark, "warm", len(people))


def test_plan_cold(benchmark: Any) -> None:
    """Nothing loaded yet, no compiled copy: rules read, checked, compiled, one plan made."""

    def work() -> str:
        kb = load_knowledge(calculators=CALCULATORS, use_cache=False)
        case = read_case(ROOT / "cases/four_days.yaml", kb)
        return _page(prepare(kb, case.as_of, "clips"), case)

    page = benchmark.pedantic(work, rounds=2, iterations=1)
    assert '"sections"' in page
    _hold(benchmark, "cold", 1)
