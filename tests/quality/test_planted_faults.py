"""Weak and wrong rules, planted on purpose, are found: the instrument is tested, not the rules.

The rule is invented: over 15 km a week, with sleep reported as fine, somebody gets `often` and a
number of sessions with a range. Its full set of tests follows from the definition of each clause
by hand; every case below takes one test away, or spoils one, and names what must then be reported.
"""

import datetime as dt
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.cli.main import main
from assistant.knowledge import load_knowledge
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.quality import MutationReport, mutate_rules, rule_test_failures, run_rule_tests

Spoil = Callable[[dict[str, Any]], None]

CASES = {
    "below": {"but": {"run.distance": 14}, "failed_at": "run.distance"},
    "on the line": {"but": {"run.distance": 15}, "failed_at": "run.distance"},
    "just over": {"but": {"run.distance": 15.5}, "fires": True},
    "other surface": {"but": {"run.surface": "track"}, "fires": True},
    "third surface": {"but": {"run.surface": "sand"}, "failed_at": "run.surface"},
    "tired": {"but": {"run.tired": True}, "blocked_by": "run.tired"},
    "unasked": {"but": {"run.distance": "unknown"}, "needs": ["run.distance"]},
}


def _sound_rule() -> dict[str, Any]:
    return {
        "id": "RUN-001",
        "title": "Runs often",
        "stage": "dose",
        "when": [
            {"fact": "run.distance", "more_than": {"param": "run.line"}},
            {"fact": "run.surface", "one_of": ["road", "track"]},
        ],
        "unless": [{"fact": "run.tired", "equals": True}],
        "then": [
            {"set": "run.often", "to": True},
            {
                "set": "run.sessions",
                "to": {"param": "run.usual"},
                "low": {"difference": [{"param": "run.usual"}, 1]},
                "high": {"sum": [{"param": "run.usual"}, 1]},
            },
        ],
        "because": "{run.distance} km a week is often.",
        "source": [{"ref": "gym-practice", "supports": "all"}],
        "grade": {"certainty": "practice", "note": "what the gym does"},
        "tests": {
            "given": {"run.distance": 16, "run.surface": "road", "run.tired": False},
            "expect": {"run.often": True, "run.sessions": {"value": 3, "low": 2, "high": 4}},
            "cases": list(CASES.values()),
        },
    }


def _without(*names: str) -> Spoil:
    def spoil(rule: dict[str, Any]) -> None:
        rule["tests"]["cases"] = [case for name, case in CASES.items() if name not in names]

    return spoil


@pytest.fixture
def run_book(tmp_path: Path) -> Callable[[Spoil | None], Path]:
    """Write a book of one rule, spoiled if asked for, and return its folder."""
    practice = {"certainty": "practice", "note": "what the gym does"}
    source = [{"ref": "gym-practice", "supports": "all"}]

    def parameter(name: str, unit: str, value: float, step: float) -> dict[str, Any]:
        values = [{"since": "2026-01-01", "value": value}]
        return {
            "id": name, "title": name, "unit": unit, "values": values, "range": [1, 30],
            "step": step, "source": source, "grade": practice,
        }  # fmt: skip

    def fact(name: str, kind: str, origin: str, **more: Any) -> dict[str, Any]:
        return {"id": name, "label": name, "type": kind, "origin": origin, **more}

    files = {
        "book.yaml": {"name": "Runs", "version": "1.0.0", "stages": ["screen", "dose"],
                      "domains": {"output": ["exercise_any"]}},
        "grades.yaml": {"grades": [{"id": name, "meaning": name}
                                   for name in ("strong", "moderate", "low", "practice")]},
        "sources/gym.yaml": {"sources": [{
            "id": "gym-practice", "kind": "common_practice", "says": "how the gym does it",
            "citation": "common practice, no source", "mark": "common_practice"}]},
        "parameters/run.yaml": {"parameters": [
            parameter("run.line", "1", 15, 0.5), parameter("run.usual", "{sessions}/wk", 3, 1)]},
        "facts/run.yaml": {"facts": [
            fact("context.as_of", "date", "context"),
            fact("screen.withheld", "choices", "derived", choice_domain="output",
                 combine="collect"),
            fact("run.distance", "number", "answer", range=[0, 300]),
            fact("run.surface", "choice", "answer", choices=["road", "track", "sand"]),
            fact("run.tired", "boolean", "answer"),
            fact("run.often", "boolean", "derived", combine="any"),
            fact("run.sessions", "number", "derived", unit="{sessions}/wk", has_range=True)]},
    }  # fmt: skip

    def write(spoil: Spoil | None = None) -> Path:
        rule = _sound_rule()
        if spoil is not None:
            spoil(rule)
        folder = tmp_path / "rules"
        for name, content in {**files, "dose/RUN-001.yaml": rule}.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(json.dumps(content, indent=1), encoding="utf-8")
        return folder

    return write


@pytest.fixture
def book(run_book: Callable[[Spoil | None], Path]) -> Callable[[Spoil | None], KnowledgeBase]:
    return lambda spoil=None: load_knowledge(run_book(spoil), calculators={}, use_cache=False)


Book = Callable[..., KnowledgeBase]


def _changes(report: MutationReport) -> Iterator[str]:
    for survivor in report.survivors:
        assert survivor.code == "unnoticed-change"
        assert survivor.place == "rules/dose/RUN-001.yaml:1"
        yield survivor.text.removeprefix("RUN-001: no test notices ").partition(";")[0]


def test_a_sound_rule_passes_and_every_change_of_it_is_noticed(book: Book) -> None:
    kb = book()
    assert run_rule_tests(kb, {}) == []
    report = mutate_rules(kb, {})
    # By hand: two parameters up and down (4); three clauses left out (3); neighbours of more_than
    # and equals (2); two choices left out (2); two conclusions and two ends left out (4).
    # One term less in each of the two ends, either of two terms (4).
    assert report == MutationReport(19, 19, 0, (), ())


@pytest.mark.parametrize(
    ("missing", "unnoticed"),
    [
        (["on the line"], {"when.0 (run.distance) with at_least for more_than",
                           "`run.line` one step down (15 to 14.5)"}),
        (["just over"], {"`run.line` one step up (15 to 15.5)"}),
        (["other surface"], {"when.1 (run.surface) without track"}),
        (["third surface"], {"when.1 (run.surface) left out"}),
        (["tired"], {"unless.0 (run.tired) left out"}),
        (["below", "on the line", "unasked"], {
            "when.0 (run.distance) left out", "when.0 (run.distance) with at_least for more_than",
            "`run.line` one step down (15 to 14.5)"}),
    ],
)  # fmt: skip
def test_a_missing_test_is_found_by_the_change_it_would_have_noticed(
    missing: list[str], unnoticed: set[str], book: Book
) -> None:
    kb = book(_without(*missing))
    assert run_rule_tests(kb, {}) == []
    assert set(_changes(mutate_rules(kb, {}))) == unnoticed


def test_a_conclusion_that_no_test_expects_is_found(book: Book) -> None:
    def spoil(rule: dict[str, Any]) -> None:
        del rule["tests"]["expect"]["run.sessions"]

    assert set(_changes(mutate_rules(book(spoil), {}))) == {
        "then.1 (run.sessions) left out", "then.1.low (run.sessions) left out",
        "then.1.high (run.sessions) left out", "`run.usual` one step up (3 to 4)",
        "`run.usual` one step down (3 to 2)",
        "then.1.low (run.sessions) without the term run.usual",
        "then.1.low (run.sessions) without the term 1.0",
        "then.1.high (run.sessions) without the term run.usual",
        "then.1.high (run.sessions) without the term 1.0",
    }  # fmt: skip


def test_an_end_of_a_range_that_no_test_expects_is_found(book: Book) -> None:
    def spoil(rule: dict[str, Any]) -> None:
        rule["tests"]["expect"]["run.sessions"] = {"value": 3, "low": 2}

    assert set(_changes(mutate_rules(book(spoil), {}))) == {
        "then.1.high (run.sessions) left out",
        "then.1.high (run.sessions) without the term run.usual",
        "then.1.high (run.sessions) without the term 1.0",
    }


def test_a_clause_without_effect_survives_until_a_reason_is_written(book: Book) -> None:
    def twice(rule: dict[str, Any]) -> None:
        rule["when"].append({"fact": "run.distance", "status": "known"})

    def explained(rule: dict[str, Any]) -> None:
        twice(rule)
        rule["unmutated"] = {"when.2": "an unknown distance stops at the first clause already"}

    assert set(_changes(mutate_rules(book(twice), {}))) == {"when.2 (run.distance) left out"}
    report = mutate_rules(book(explained), {})
    assert (report.survivors, report.needless, report.excused) == ((), (), 1)


def test_a_reason_that_nothing_needs_is_found(book: Book) -> None:
    def spoil(rule: dict[str, Any]) -> None:
        rule["unmutated"] = {"unless.0": "no idea"}

    [needless] = mutate_rules(book(spoil), {}).needless
    assert needless.code == "needless-reason"
    assert "every change of `unless.0` is noticed" in needless.text


@pytest.mark.parametrize(
    ("case", "says"),
    [
        ({"but": {"run.distance": 15}, "fires": True}, "expected to fire, but it failed_at when.0"),
        ({"but": {"run.distance": 17}, "fires": False}, "expected to hold back, but it fired"),
        ({"but": {"run.tired": True}, "failed_at": "run.surface"}, "it blocked_by unless.0"),
        ({"but": {"run.distance": 9}, "failed_at": "run.surface"}, "it failed_at when.0"),
        ({"but": {"run.distance": 9}, "blocked_by": "run.tired"}, "expected blocked_by run.tired"),
        ({"but": {"run.distance": "unknown"}, "needs": ["run.surface"]}, "also needs run.distance"),
        ({"but": {"run.distance": 9}, "needs": ["run.distance"]}, "expected to need run.distance"),
        ({"but": {"run.distance": 20}, "expect": {"run.often": False}}, "expected run.often False"),
        ({"but": {"run.distance": 20}, "expect": {"run.sessions": 4}}, "run.sessions 4, got 3"),
        ({"but": {"run.distance": 20}, "expect": {"run.sessions": {"low": 3}}}, "low 3, got 2"),
    ],
)  # fmt: skip
def test_a_wrong_expectation_fails_with_what_happened(
    case: dict[str, Any], says: str, book: Book
) -> None:
    kb = book(lambda rule: rule["tests"].update(cases=[case]))
    [failure] = rule_test_failures(kb.rules["RUN-001"], kb, {})
    assert (failure.place, failure.code) == ("rules/dose/RUN-001.yaml:1", "rule-test")
    assert failure.text.startswith("RUN-001 tests.cases.0: ")
    assert says in failure.text


def test_a_rule_is_tested_on_the_day_it_names(book: Book) -> None:
    def spoil(rule: dict[str, Any]) -> None:
        rule["in_force_from"] = "2026-03-01"

    kb = book(spoil)
    assert kb.rules["RUN-001"].in_force_from == dt.date(2026, 3, 1)
    assert "not_in_force" in rule_test_failures(kb.rules["RUN-001"], kb, {})[0].text

    def dated(rule: dict[str, Any]) -> None:
        spoil(rule)
        rule["tests"]["on"] = "2026-03-01"

    assert run_rule_tests(book(dated), {}) == []


def _check(folder: Path, *more: str) -> int:
    return main(["check", "--rules", str(folder), *more])


def test_the_command_looks_at_one_rule(
    run_book: Callable[[Spoil | None], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = run_book(None)
    assert _check(folder, "--rule", "RUN-001") == 0
    assert "19 changes: 19 noticed" in capsys.readouterr().out
    run_book(_without("tired"))
    assert _check(folder, "--rule", "RUN-*", "--only", "tests") == 0
    assert _check(folder, "--rule", "RUN-*") == 1
    assert "RUN-001: no test notices unless.0 (run.tired) left out" in capsys.readouterr().out


def test_the_command_refuses_an_unknown_rule(
    run_book: Callable[[Spoil | None], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert _check(run_book(None), "--rule", "RUN-002") == 2
    said = capsys.readouterr().err
    assert said == "--rule: unknown-rule: `RUN-002` is no rule; did you mean `RUN-001`?\n"


def test_the_command_says_why_a_book_does_not_load(
    run_book: Callable[[Spoil | None], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = run_book(lambda rule: rule.update(stage="doze"))
    assert _check(folder, "--rule", "RUN-001") == 1
    assert "rules/dose/RUN-001.yaml:4: unknown-stage" in capsys.readouterr().out
    with pytest.raises(InputProblems):
        load_knowledge(folder, use_cache=False)
