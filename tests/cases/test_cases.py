"""Whole invented people: what their plan must say, which rules must be on the chain, both engines."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.casefiles.expected import unmet
from assistant.explain.asked import meant
from assistant.explain.picture import Node, pictures
from assistant.model.knowledge import KnowledgeBase
from assistant.report.plan_json import plan_document, plan_json

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml")) + sorted(
    (ROOT / "cases/regressions").glob("*.yaml")
)


def _meets(fact: dict[str, Any] | None, wanted: Any) -> bool:
    if wanted == "absent":
        return fact is None
    if fact is None:
        return False
    value = fact["value"]
    if isinstance(wanted, dict):
        checks = {
            "between": lambda w: w[0] <= value <= w[1],
            "at_least": lambda w: value >= w,
            "at_most": lambda w: value <= w,
            "has": lambda w: all(item in value for item in w),
            "lacks": lambda w: not any(item in value for item in w),
        }
        return all(checks[name](operand) for name, operand in wanted.items())
    return bool(value == wanted)


@pytest.mark.parametrize(
    ("value", "wanted", "is_met"),
    [
        (3, {"at_least": 3}, True), (2, {"at_least": 3}, False),
        (3, {"at_most": 3}, True), (4, {"at_most": 3}, False),
        (3, {"between": [3, 4]}, True), (4, {"between": [3, 4]}, True),
        (2, {"between": [3, 4]}, False), (5, {"between": [3, 4]}, False),
        (["a", "b"], {"has": ["a"]}, True), (["b"], {"has": ["a", "b"]}, False),
        (["b"], {"lacks": ["a"]}, True), (["a", "b"], {"lacks": ["a"]}, False),
        (["a"], {"has": ["a"], "lacks": ["a"]}, False),
        (None, "absent", True), (3, "absent", False), (None, 3, False), (None, {"at_most": 3}, False),
        ("yes", "yes", True), ("no", "yes", False),
    ],
)  # fmt: skip
def test_the_product_reads_an_expectation_as_it_is_read_here(
    value: object, wanted: object, is_met: bool
) -> None:
    told = {} if value is None else {"a.fact": value}
    assert _meets(None if value is None else {"value": value}, wanted) is is_met
    assert (unmet({"a.fact": wanted}, told) == {}) is is_met


def test_there_are_enough_people() -> None:
    assert len(CASES) >= 8


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_plan_says_what_the_case_expects(kb: KnowledgeBase, path: Path) -> None:
    case = read_case(path, kb)
    assert case.expect, "a case without expectations tests nothing"
    assert case.expect_reasons
    planner = planner_on(case.as_of)
    narrator = planner.narrator(planner.run(case), "coach")
    plan = planner.plan(case, narrator)
    facts = plan_document(plan, narrator)["facts"]
    wrong = {
        key: (wanted, facts.get(key, {}).get("value", "absent"))
        for key, wanted in case.expect.items()
        if not _meets(facts.get(key), wanted)
    }
    assert wrong == {}
    for asked, rules in case.expect_reasons.items():
        chain = {
            step.rule_id
            for tree in pictures(planner.compiled, narrator, meant(plan, narrator, asked).keys)
            for node in _nodes(tree)
            for step in node.steps
        }
        assert set(rules) <= chain, f"{asked}: {sorted(set(rules) - chain)} not on the chain"


def _nodes(node: Node) -> Iterator[Node]:
    yield node
    for below in node.below:
        yield from _nodes(below)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_both_engines_give_the_same_bytes(kb: KnowledgeBase, path: Path) -> None:
    pytest.importorskip("durable_rules_engine", reason="durable-rules is not built on this Python")
    case = read_case(path, kb)
    texts = set()
    for engine in ("durable", "clips", "both"):
        planner = planner_on(case.as_of, engine)
        narrator = planner.narrator(planner.run(case), "coach")
        document = json.loads(plan_json(planner.plan(case, narrator), narrator))
        document.pop("engine")
        texts.add(json.dumps(document))
    assert len(texts) == 1


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_same_case_gives_the_same_bytes(kb: KnowledgeBase, path: Path) -> None:
    case = read_case(path, kb)
    texts = []
    for _ in range(2):
        planner = planner_on(case.as_of)
        narrator = planner.narrator(planner.run(case), "coach")
        texts.append(plan_json(planner.plan(case, narrator), narrator))
    assert texts[0] == texts[1]
