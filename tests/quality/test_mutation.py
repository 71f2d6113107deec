"""Mutation: dull tests are found out, sharp ones are not blamed, reasons must be needed."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality import mutate_rules
from assistant.quality.mutation import mutants_of

Changed = Callable[..., Rule]


def _survivors(rule: Rule, kb: KnowledgeBase, calculators: Mapping[str, Any]) -> list[str]:
    report = mutate_rules(kb, calculators, [rule])
    assert report.mutants == report.noticed + report.excused + len(report.survivors)
    return [problem.text for problem in report.survivors]


def test_sharp_tests_notice_every_change(
    small: KnowledgeBase, calculators: Mapping[str, Any]
) -> None:
    report = mutate_rules(small, calculators)
    assert report.survivors == ()
    assert report.needless == ()
    assert report.excused == 4  # all on the count in SCR-001, which has a written reason
    assert report.noticed == report.mutants - 4


def test_the_mutants_of_a_rule_are_the_ones_promised(small: KnowledgeBase) -> None:
    assert [(m.reason_key, m.change.partition(";")[0]) for m in mutants_of(
        small.rules["STY-SHORT"], small
    )] == [
        ("days.many", "`days.many` one step up (4 to 5)"),
        ("days.many", "`days.many` one step down (4 to 3)"),
        ("when.0", "when.0 (client.days) left out"),
        ("when.0", "when.0 (client.days) with more_than for at_least"),
        ("when.1", "when.1 (client.goal) left out"),
        ("when.1", "when.1 (client.goal) without gain"),
        ("when.1", "when.1 (client.goal) without hold"),
        ("then.0", "then.0 (note.sleep) left out"),
        ("then.1", "then.1 (dose.style) left out"),
    ]  # fmt: skip


DULL: dict[str, tuple[str, dict[str, Any], list[str]]] = {
    "one side of a line": (
        "STY-LONG", {"cases": [{"but": {"client.goal": "hold"}, "failed_at": "client.goal"}]},
        ["`days.many` one step up", "when.0 (client.days) left out", "with at_most for less_than"],
    ),
    "too far from a line": (
        "STY-LONG", {"given": {"client.days": 1, "client.goal": "gain"},
                     "cases": [{"but": {"client.goal": "hold"}, "failed_at": "client.goal"},
                               {"but": {"client.days": 7}, "failed_at": "client.days"}]},
        ["one step up", "one step down", "with at_most for less_than"],
    ),
    "a choice not tried": (
        "STY-SHORT", {"cases": [{"but": {"client.days": 3}, "failed_at": "client.days"},
                                {"but": {"client.goal": "unknown"}, "needs": ["client.goal"]}]},
        ["when.1 (client.goal) without hold"],
    ),
    "a brake not tried": (
        "VOL-001", {"cases": [{"but": {"dose.role[quads]": "priority"}, "failed_at": "dose.role"}]},
        ["unless.0 (screen.withheld) left out"],
    ),
    "an end of the range not tried": (
        "VOL-001", {"expect": {"dose.sets_per_week[quads]": {"value": 8, "low": 7}}},
        ["`sets.priority_extra` one step up", "`sets.priority_extra` one step down",
         "then.0.high (dose.sets_per_week) left out",
         "then.0.high (dose.sets_per_week) without the term sets.typical",
         "then.0.high (dose.sets_per_week) without the term sets.priority_extra"],
    ),
    "a conclusion not tried": (
        "STY-SHORT", {"expect": {"dose.style": "short"}}, ["then.0 (note.sleep) left out"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", DULL)
def test_a_dull_test_is_found_out(
    name: str, small: KnowledgeBase, calculators: Mapping[str, Any], changed: Changed
) -> None:
    rule_id, fields, says = DULL[name]
    tests = small.rules[rule_id].tests.model_dump(mode="json", exclude_unset=True)
    survivors = _survivors(changed(rule_id, tests={**tests, **fields}), small, calculators)
    for piece in says:
        assert any(piece in text for text in survivors), survivors
    assert len(survivors) == len(says), survivors


def test_a_written_reason_excuses_and_a_needless_one_is_told(
    small: KnowledgeBase, calculators: Mapping[str, Any], changed: Changed
) -> None:
    tests = small.rules["STY-SHORT"].tests.model_dump(mode="json", exclude_unset=True)
    tests["cases"] = tests["cases"][:1] + tests["cases"][2:]
    reasons = {"when.1": "both goals are alike here", "when.0": "nothing"}
    rule = changed("STY-SHORT", tests=tests, unmutated=reasons)
    report = mutate_rules(small, calculators, [rule])
    assert (report.survivors, report.excused) == ((), 1)
    assert [problem.text for problem in report.needless] == [
        "STY-SHORT: every change of `when.0` is noticed; remove the reason under `unmutated`"
    ]
