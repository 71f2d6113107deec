"""What moves without a rule, held against the book compiled again with that rule taken out.

Outside source: none; the other way is the whole engine on another book, the count is by hand.
"""

import dataclasses
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.knowledge import load_knowledge
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey
from assistant.plan import Planner, prepare
from assistant.quality.evidence import to_read, unread_claims
from assistant.quality.without import Silencer

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


@pytest.fixture(scope="module")
def planner(kb: KnowledgeBase) -> Planner:
    return prepare(kb, case_of(kb, "four_days").as_of, "clips")


def case_of(kb: KnowledgeBase, name: str) -> Case:
    return read_case(ROOT / "cases" / f"{name}.yaml", kb)


def silencer(kb: KnowledgeBase, planner: Planner, name: str) -> Silencer:
    return Silencer(planner.compiled, planner.run(case_of(kb, name)), CALCULATORS)


def derived(run: Run) -> dict[FactKey, tuple[object, ...]]:
    return {
        key: (fact.value, fact.low, fact.high)
        for key, fact in run.facts.items()
        if fact.derivations
    }


@pytest.mark.parametrize(
    "rule_id",
    [
        "LVL-020",
        pytest.param("MUS-040", marks=pytest.mark.slow),
        pytest.param("BLK-INTERMEDIATE", marks=pytest.mark.slow),
    ],
)
def test_a_silent_rule_is_a_rule_taken_out_of_the_book(
    kb: KnowledgeBase, planner: Planner, rule_id: str
) -> None:
    case = case_of(kb, "four_days")
    others = {name: rule for name, rule in kb.rules.items() if name != rule_id}
    without = prepare(dataclasses.replace(kb, rules=others), planner.on, "clips")
    before, after = derived(planner.run(case)), derived(without.run(case))
    moved = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    gone = silencer(kb, planner, "four_days").without(rule_id)
    assert set(gone.moved) == moved
    assert moved
    for key, (old, new) in gone.moved.items():
        assert (old, new) == (before.get(key), after.get(key))


def test_a_rule_that_did_not_speak_moves_nothing(kb: KnowledgeBase, planner: Planner) -> None:
    one = silencer(kb, planner, "four_days")
    quiet = sorted(set(kb.rules) - one.fired)[::200]
    assert quiet
    assert not any(one.without(rule_id).moved for rule_id in quiet)


def test_no_silent_rule_brings_a_withheld_figure_back(kb: KnowledgeBase, planner: Planner) -> None:
    run = planner.run(case_of(kb, "refer_first"))
    hidden = {str(item) for item in run.facts["screen.withheld"].value}  # type: ignore[union-attr]
    assert hidden
    one = silencer(kb, planner, "refer_first")
    screening = [name for name in one.fired if kb.rules[name].stage == "screen"]
    for rule_id in screening:
        for key in one.without(rule_id).moved:
            assert not hidden & set(kb.facts[key.partition("[")[0]].reveals), (rule_id, key)


def test_the_weight_of_what_nobody_read_is_counted_again(
    kb: KnowledgeBase, planner: Planner
) -> None:
    people = [silencer(kb, planner, name) for name in ("four_days", "slow_cut")]
    claims = unread_claims(kb, people)
    ids = {
        rule.id
        for rule in kb.rules.values()
        if rule.kind is None and all(kb.sources[u.ref].mark.value != "read" for u in rule.source)
    }
    assert {each.id for each in claims} == ids
    for each in claims[:6]:
        moved = [len(one.without(each.id).moved) for one in people]
        assert (each.plans, each.conclusions) == (sum(1 for n in moved if n), sum(moved))
    quiet = [c for c in claims if not c.plans and any(c.id in one.fired for one in people)]
    assert quiet, "some rule speaks and moves nothing by itself"
    assert not any(one.without(each.id).moved for one in people for each in quiet[:6])
    assert claims[0].plans == 2
    assert [each.plans for each in claims] == sorted((e.plans for e in claims), reverse=True)
    for source in to_read(kb, claims):
        assert kb.sources[source.id].mark.value in {"second_hand", "from_memory"}
        citing = [c for c in claims if source.id in {u.ref for u in kb.rules[c.id].source}]
        assert source.conclusions == sum(each.conclusions for each in citing)


def test_the_command_ranks_a_plans_rules_by_grade_then_by_what_moves(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["evidence", str(ROOT / "cases/four_days.yaml"), "--engine", "clips"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    order = [text.index(f"Grade {grade} -") for grade in ("practice", "low", "moderate", "strong")]
    assert order == sorted(order)
    assert "- PRO-010, low" in text
    said = text.split("- PRO-010, low")[1].split(" - ")[0]
    # Without it, the weighed 63.5 kg at 0.8 g a pound of 0.45359237 kg.
    assert f"protein: 111 g a day -> {0.8 / 0.45359237 * 63.5:.0f} g a day" in said
