"""The rules' own tests are run as written: what a rule says wrongly makes one of them fail."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import pytest

from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality import rule_test_failures, run_rule_tests

Changed = Callable[..., Rule]


def test_a_sound_book_passes(small: KnowledgeBase, calculators: Mapping[str, Any]) -> None:
    assert run_rule_tests(small, calculators) == []


WRONG_TESTS: dict[str, tuple[str, dict[str, Any], str]] = {
    "wrong number": ("BOD-001", {"expect": {"body.bmi": 25.1}}, "expected body.bmi 25.1, got 25"),
    "wrong choice": ("STY-LONG", {"expect": {"dose.style": "short"}}, "short, got long"),
    "wrong yes": ("STY-LONG", {"expect": {"note.sleep": False}}, "False, got True"),
    "wrong items": ("SCR-001", {"expect": {"screen.withheld": ["body_measures"]}}, "exercise_any"),
    "wrong low end": (
        "VOL-001", {"expect": {"dose.sets_per_week[quads]": {"low": 6}}}, "low 6, got 7"
    ),
    "another element": (
        "VOL-001", {"expect": {"dose.sets_per_week[lats]": 8}}, "there is none"
    ),
    "does not fire": ("VOL-001", {"given": {"dose.role[quads]": "priority", "screen.withheld": []}},
                      "expected to fire, but it failed_at when.0 (dose.role[quads])"),
    "fires": ("BOD-001", {"cases": [{"but": {"client.weight_kg": 70}, "fires": False}]},
              "expected to hold back, but it fired"),
    "fails elsewhere": (
        "STY-LONG", {"cases": [{"but": {"client.days": 4}, "failed_at": "client.goal"}]},
        "expected failed_at client.goal, but it failed_at when.0 (client.days)",
    ),
    "not blocked": (
        "VOL-001", {"cases": [{"but": {"screen.withheld": ["body_measures"]},
                               "blocked_by": "screen.withheld"}]},
        "expected blocked_by screen.withheld, but it fired",
    ),
    "not needed": (
        "BOD-001", {"cases": [{"but": {"client.weight_kg": "unknown"},
                               "needs": ["client.weight_kg", "client.height_cm"]}]},
        "it does not need client.height_cm",
    ),
    "needed too": (
        "BOD-001", {"cases": [{"but": {"client.weight_kg": "unknown", "client.height_cm": "unknown"},
                               "needs": ["client.weight_kg"]}]},
        "it also needs client.height_cm",
    ),
    "needs nothing": (
        "BOD-001", {"cases": [{"but": {"client.weight_kg": 70}, "needs": ["client.weight_kg"]}]},
        "expected to need client.weight_kg, but it fired",
    ),
    "division by nought": (
        "BOD-001", {"cases": [{"but": {"client.height_cm": 0}, "fires": True}]},
        "cannot be worked out",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG_TESTS)
def test_a_wrong_expectation_is_told(
    name: str, small: KnowledgeBase, calculators: Mapping[str, Any], changed: Changed
) -> None:
    rule_id, fields, says = WRONG_TESTS[name]
    tests = small.rules[rule_id].tests.model_dump(mode="json", exclude_unset=True)
    rule = changed(rule_id, tests={**tests, **fields})
    book = small
    if name == "division by nought":
        height = small.facts["client.height_cm"].model_copy(update={"range": (0.0, 220.0)})
        book = replace(small, facts={**small.facts, "client.height_cm": height})
    failures = rule_test_failures(rule, book, calculators)
    assert failures, "no test failed"
    assert any(says in failure.text for failure in failures), [f.text for f in failures]
    assert {failure.place for failure in failures} == {str(small.places[rule_id])}
    assert all(failure.text.startswith(f"{rule_id} tests") for failure in failures)


def test_a_rule_changed_under_its_tests_fails(
    small: KnowledgeBase, calculators: Mapping[str, Any], changed: Changed
) -> None:
    then = [{"set": "body.bmi", "to": {"fact": "client.weight_kg"}}]
    [failure] = rule_test_failures(changed("BOD-001", then=then), small, calculators)
    assert failure.text.startswith("BOD-001 tests: expected body.bmi 25, got 64.0; ")


def test_a_given_range_is_read_by_the_rule(
    small: KnowledgeBase, calculators: Mapping[str, Any], changed: Changed
) -> None:
    rule = changed(
        "STY-LONG",
        when=[{"fact": "client.days", "more_than": {"fact": "body.bmi", "bound": "low"}}],
        tests={
            "given": {"client.days": 4, "body.bmi": {"value": 5, "low": 3, "high": 7}},
            "expect": {"dose.style": "long"},
            "cases": [
                {"but": {"body.bmi": {"value": 5, "low": 4, "high": 7}}, "failed_at": "body.bmi"},
                {"but": {"body.bmi": 5}, "fires": False},
            ],
        },
    )
    assert rule_test_failures(rule, small, calculators) == []
