"""The shipped rules: sound, tested, and tested sharply."""

import time
from pathlib import Path

import pytest

import assistant
from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import findings, load_knowledge
from assistant.model.knowledge import KnowledgeBase
from assistant.quality import mutate_rules, run_rule_tests

# All rules together; a rule that takes much longer than the rest makes this fail.
MUTATION_SECONDS = 60
PACKAGE = Path(assistant.__file__).parent


@pytest.fixture(scope="module")
def shipped() -> KnowledgeBase:
    """Loading raises on any problem."""
    return load_knowledge(calculators=CALCULATORS, use_cache=False)


def test_every_rule_passes_its_own_tests(shipped: KnowledgeBase) -> None:
    assert [str(problem) for problem in run_rule_tests(shipped, CALCULATORS)] == []


def test_every_change_of_a_rule_is_noticed_or_explained(shipped: KnowledgeBase) -> None:
    start = time.monotonic()
    report = mutate_rules(shipped, CALCULATORS)
    assert [str(problem) for problem in (*report.survivors, *report.needless)] == []
    assert report.mutants > len(shipped.rules)
    assert report.noticed > 0.95 * report.mutants
    assert time.monotonic() - start < MUTATION_SECONDS


def test_nothing_in_the_rules_is_unused_unasked_or_unlabelled(shipped: KnowledgeBase) -> None:
    """What no rule reads must be named in the code of a room that does (equipment, for example)."""
    rooms = [path for path in PACKAGE.rglob("*.py") if "_rules" not in path.parts]
    code = "".join(path.read_text(encoding="utf-8") for path in rooms)
    found = [
        str(problem)
        for problem in findings(shipped)
        if problem.code != "unread-fact" and not any(f'"{n}"' in code for n in _named(problem.text))
    ]
    assert found == []


def _named(text: str) -> list[str]:
    return text.split("`")[1::2]
