"""The screen against worked examples written beside the flag catalogue, source in each example."""

from typing import Any

import pytest
from screening import EXAMPLES, LEVELS, expanded, knowledge, screen_person

FLAGS = {**EXAMPLES["flags"], **EXAMPLES["record_flags"]}
BOUNDARIES = [
    pytest.param(row, id=f"{number}-{row['flag']}")
    for number, row in enumerate(EXAMPLES["boundaries"])
]


@pytest.mark.parametrize("example", EXAMPLES["vignettes"], ids=lambda example: example["id"])
def test_flags_referrals_and_withheld_outputs_are_exact(example: dict[str, Any]) -> None:
    expect = example["expect"]
    found = screen_person(example["base"], example["answers"])
    assert found.flags == {flag["id"] for flag in expect["flags"]}
    assert found.withheld == expanded(expect["withheld"])
    assert found.referrals == {line["who"]: line["when"] for line in expect["refer_to"]}
    assert not found.withheld & set(expect["allowed"])
    severities = [flag["severity"] for flag in expect["flags"]]
    assert found.level == max(["none", *severities], key=LEVELS.index)


@pytest.mark.parametrize("row", BOUNDARIES)
def test_a_line_has_two_sides(row: dict[str, Any]) -> None:
    around = row.get("also", {})
    assert row["flag"] in screen_person(row["base"], {**around, **row["fires"]}).flags
    assert row["flag"] not in screen_person(row["base"], {**around, **row["silent"]}).flags


@pytest.mark.parametrize("flag", FLAGS)
def test_each_flag_does_what_the_catalogue_says(flag: str) -> None:
    entry = FLAGS[flag]
    rules = knowledge().rules
    row = rules[f"FLG-{flag.upper()}"]
    level = next(c.to for c in row.then if c.fact == "screen.level")
    outputs = [str(c.item) for c in row.then if c.fact == "screen.withheld"]
    referrals = {
        (conclusion.of, conclusion.to)
        for name, rule in rules.items()
        if name.startswith("REF-") and rule.tests.given["screen.flags"] == [flag]
        for conclusion in rule.then
    }
    assert level == entry["severity"]
    assert expanded(outputs) == expanded(entry["withheld"])
    assert referrals == {(line["who"], line["when"]) for line in entry["refer"]}


def test_tiers_are_those_of_the_catalogue() -> None:
    facts = knowledge().facts
    for tier, keys in EXAMPLES["answer_tiers"].items():
        for key in set(keys) - {"age", "sex", "goal", "bmi"}:
            assert facts[f"screen.{key}"].tier == tier, key


def test_the_outputs_and_groups_are_those_of_the_catalogue() -> None:
    kb = knowledge()
    assert set(kb.book.domains["output"]) == set(EXAMPLES["outputs"])
    assert set(kb.book.domains["flag"]) == set(FLAGS)
    groups = kb.facts["screen.withheld"].groups
    assert {name: set(items) for name, items in groups.items()} == {
        name: set(items) for name, items in EXAMPLES["output_groups"].items()
    }
