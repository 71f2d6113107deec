"""The shipped rules: sound, tested, and tested sharply."""

import time
from dataclasses import replace
from pathlib import Path

import pytest

import assistant
from assistant.calculate.registry import CALCULATORS
from assistant.engine import compile_knowledge
from assistant.engine.answers import starting_facts
from assistant.engine.session import run_plain
from assistant.knowledge import load_knowledge
from assistant.knowledge.walk import parameters_read
from assistant.model.documents.checking import matches
from assistant.model.knowledge import KnowledgeBase
from assistant.quality import mutate_rules, run_rule_tests
from assistant.quality.checks import run_checks
from assistant.quality.people import People
from assistant.quality.points import DEFAULT_DAY
from assistant.quality.runner import fast_engine, ran
from assistant.quality.suite import Options, subject_of

# All rules together; a rule that takes much longer than the rest makes this fail.
MUTATION_SECONDS = 60
PACKAGE = Path(assistant.__file__).parent
CASES = PACKAGE.parent / "cases"


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


def test_the_checks_find_nothing() -> None:
    names = ["schema", "conflicts", "lint", "tests"]
    checked = run_checks(subject_of(None, None, CALCULATORS), Options(), names)
    assert [each.name for each in checked] == names
    assert [str(finding) for each in checked for finding in each.findings] == []


def test_a_calculator_that_no_rule_names_is_told_where_it_stands() -> None:
    spare = replace(CALCULATORS["body.bmi"], name="body.spare")
    (checked,) = run_checks(
        subject_of(None, None, {**CALCULATORS, "body.spare": spare}), Options(), ["lint"]
    )[1:]
    (finding,) = checked.findings
    assert (finding.file, finding.code) == (
        "assistant/calculate/composition.py",
        "unused-calculator",
    )
    line = (
        (PACKAGE.parent / finding.file).read_text(encoding="utf-8").splitlines()[finding.line - 1]
    )
    assert line.startswith(("@calculator", "def bmi"))


def test_the_short_way_is_the_whole_way_on_the_shipped_book(shipped: KnowledgeBase) -> None:
    """The pass without an engine against CLIPS: every conclusion, range and final fact."""
    book = compile_knowledge(shipped, DEFAULT_DAY)
    people = People(shipped, DEFAULT_DAY)
    for number in range(12):
        answers = people.person(number)
        start = starting_facts(book, answers, DEFAULT_DAY).values
        engine = ran(book, fast_engine(book), "x", answers, CALCULATORS).outcome
        assert engine is not None
        alone = run_plain(book, start, CALCULATORS)
        assert alone.conclusions == engine.conclusions
        assert alone.facts.values == engine.facts.values
        assert alone.facts.ranges == engine.facts.ranges


def test_what_is_read_elsewhere_is_named_in_the_code(shipped: KnowledgeBase) -> None:
    """What check.yaml says a room reads must be named there; what is only kept says so."""
    rooms = [path for path in PACKAGE.rglob("*.py") if "_rules" not in path.parts]
    code = "".join(path.read_text(encoding="utf-8") for path in rooms)
    readers = shipped.check.read_elsewhere
    assert len(readers) >= 5
    by_rules = {name for rule in shipped.rules.values() for name in parameters_read(rule)}
    for pattern, reason in readers.items():
        known = [*([] if "*" in pattern else shipped.facts), *shipped.parameters]
        for name in [each for each in known if matches(pattern, each) and each not in by_rules]:
            # Families of numbers are read by their last part.
            spelled = f'"{name}"' in code or ("*" in pattern and name.partition(".")[2] in code)
            assert spelled or reason.startswith("kept in the case"), name
