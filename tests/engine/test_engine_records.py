"""What a run records: combined facts, derivations and what they rest on."""

import dataclasses
import random
from typing import Any

import pytest
from engine_books import ON, book, derived, fact, parameter, rule

from assistant.engine import compile_knowledge, durable, run_engine
from assistant.engine.run import EngineChoice
from assistant.model.derivation import Run, Verdict
from assistant.model.errors import EngineFault, InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Certainty
from assistant.model.values import Status

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
MUSCLES = ("lats", "quads")
TRUE: list[dict[str, Any]] = []


def run(kb: KnowledgeBase, answers: dict[str, Any] | None = None) -> Run:
    return run_engine(compile_knowledge(kb, ON), answers or {}, ON, ENGINES)


def says(rule_id: str, fact_id: str, to: Any, **more: Any) -> dict[str, Any]:
    return rule(rule_id, then=[{"set": fact_id, "to": to}], **more)


def adds(rule_id: str, fact_id: str, item: Any, **more: Any) -> dict[str, Any]:
    return rule(rule_id, then=[{"add": fact_id, "item": item}], **more)


@pytest.mark.parametrize(("how", "expected", "owner"), [("min", 0.0, "d1"), ("max", 1.0, "d2")])
def test_smallest_and_largest_number(how: str, expected: float, owner: str) -> None:
    kb = book(
        [derived("cap.sets", "number", combine=how)],
        [says("AAA-1", "cap.sets", 0), says("AAA-2", "cap.sets", 1)],
    )
    final = run(kb).facts["cap.sets"]
    assert (final.value, final.derivations) == (expected, (owner,))


@pytest.mark.parametrize(("how", "expected"), [("min", "zero"), ("max", "alpha")])
def test_choices_go_by_their_declared_order(how: str, expected: str) -> None:
    kb = book(
        [derived("screen.how", "choice", choices=["zero", "mid", "alpha"], combine=how)],
        [says("AAA-1", "screen.how", "alpha"), says("AAA-2", "screen.how", "zero")],
    )
    assert run(kb).facts["screen.how"].value == expected


def test_lists_collect_sorted_and_groups_expand() -> None:
    kb = book(
        [
            derived(
                "out.list",
                "choices",
                choices=["c", "b", "a"],
                combine="collect",
                groups={"BOTH": ["b", "a"]},
            )
        ],
        [adds("AAA-1", "out.list", "c"), adds("AAA-2", "out.list", "BOTH")],
    )
    result = run(kb)
    assert result.facts["out.list"].value == ("a", "b", "c")
    assert result.facts["out.list"].derivations == ("d1", "d2")
    assert [one.value for one in result.derivation("d2").conclusions] == ["b", "a"]


def test_two_values_of_a_one_valued_fact_stop_the_run_naming_both_rules() -> None:
    kb = book(
        [derived("plan.sets", "number")],
        [says("AAA-1", "plan.sets", 0), says("AAA-2", "plan.sets", 1)],
    )
    with pytest.raises(EngineFault, match=r"AAA-1 says 0\.0 and AAA-2 says 1\.0"):
        run(kb)


def test_a_rule_that_overrides_another_wins_also_through_a_third() -> None:
    kb = book(
        [derived("plan.sets", "choice", choices=["few", "some", "many"])],
        [
            says("AAA-1", "plan.sets", "few"),
            says("AAA-2", "plan.sets", "some", overrides=["AAA-1"]),
            says("AAA-3", "plan.sets", "many", overrides=["AAA-2"]),
        ],
    )
    result = run(kb)
    assert result.facts["plan.sets"].value == "many"
    verdicts = [record.verdict for record in result.records]
    assert verdicts == [Verdict.OVERRIDDEN, Verdict.OVERRIDDEN, Verdict.FIRED]
    assert [record.id for record in result.records] == ["", "", "d1"]
    assert result.records[0].conclusions[0].value == "few"


def test_an_equal_conclusion_is_not_overridden() -> None:
    kb = book(
        [derived("plan.sets", "number")],
        [says("AAA-1", "plan.sets", 1), says("AAA-2", "plan.sets", 1, overrides=["AAA-1"])],
    )
    result = run(kb)
    assert {record.verdict for record in result.records} == {Verdict.FIRED}
    assert result.facts["plan.sets"].derivations == ("d1", "d2")


def test_a_rule_that_gives_way_in_one_fact_stands_for_its_others() -> None:
    """A fact whose value came from a rule must lead to that rule's record."""
    kb = book(
        [derived("plan.sets", "number"), derived("plan.reps", "number")],
        [
            rule(
                "AAA-1",
                then=[{"set": "plan.sets", "to": 0}, {"set": "plan.reps", "to": 1}],
            ),
            says("AAA-2", "plan.sets", 1, overrides=["AAA-1"]),
        ],
    )
    result = run(kb)
    assert {record.verdict for record in result.records} == {Verdict.FIRED}
    values = {key: (fact.value, fact.derivations) for key, fact in result.facts.items()}
    assert values == {"plan.sets": (1.0, ("d2",)), "plan.reps": (1.0, ("d1",))}
    assert result.derivation("d1").rule_id == "AAA-1"


def test_rules_that_override_each_other_are_refused() -> None:
    kb = book(
        [derived("plan.sets", "number")],
        [
            says("AAA-1", "plan.sets", 0, overrides=["AAA-2"]),
            says("AAA-2", "plan.sets", 1, overrides=["AAA-1"]),
        ],
    )
    with pytest.raises(InputProblems, match="overrides itself"):
        compile_knowledge(kb, ON)


def chain_book() -> KnowledgeBase:
    """Answers -> base -> sets per muscle, graded strong, practice, moderate."""
    return book(
        [
            fact("client.days", "number"),
            fact("client.hours", "number", default={"value": 8, "because": "usual"}),
            fact("client.ill"),
            fact("client.priorities", "choices", choices=MUSCLES),
            derived("dose.base", "number", has_range=True),
            derived("dose.sets", "number", index="muscle"),
        ],
        [
            rule(
                "AAA-1",
                when=[{"fact": "client.days", "at_least": {"param": "p.days"}}],
                then=[
                    {
                        "set": "dose.base",
                        "to": {"fact": "client.days"},
                        "low": {"param": "p.days"},
                        "high": {"sum": [{"fact": "client.days"}, 1]},
                        "method": "counted",
                    }
                ],
                grade={"certainty": "practice", "note": "made up"},
            ),
            rule(
                "AAA-2",
                for_each={"muscle": "client.priorities"},
                when=[{"fact": "client.hours", "more_than": 0}],
                unless=[{"fact": "client.ill", "equals": True}],
                then=[
                    {
                        "set": "dose.sets",
                        "of": "muscle",
                        "to": {"sum": [{"fact": "dose.base", "bound": "high"}, 1]},
                    }
                ],
                grade={"certainty": "moderate", "note": "made up"},
                client_because="it suits you",
            ),
        ],
        [parameter("p.days", 2, values=[{"since": "2025-06-01", "value": 2}])],
        {"muscle": MUSCLES},
    )


def test_a_derivation_names_what_it_rests_on() -> None:
    answers = {"client.days": 3.0, "client.ill": False, "client.priorities": ("quads",)}
    result = run(chain_book(), answers)
    base, sets = result.derivation("d1"), result.derivation("d2")
    assert base.rests_on == ("a:client.days",)
    assert base.parameters == ("p.days@2025-06-01",)
    assert (base.conclusions[0].low, base.conclusions[0].high) == (2.0, 4.0)
    assert base.conclusions[0].method == "counted"
    assert sets.binding == {"muscle": "quads"}
    assert sets.rests_on == ("a:client.priorities", "a:client.hours", "d1", "a:client.ill")
    assert (sets.grade, sets.weakest) == (Certainty.MODERATE, Certainty.PRACTICE)
    assert sets.assumptions == ("client.hours",)
    assert result.assumptions == ("client.hours",)
    assert (sets.because, sets.client_because) == ("AAA-2 says so", "it suits you")
    assert base.client_because == "AAA-1 says so"
    final = result.facts["dose.sets[quads]"]
    assert (final.value, final.grade) == (5.0, Certainty.PRACTICE)  # high end of the base, plus 1
    assert "dose.sets[lats]" not in result.facts
    assert result.facts["client.hours"].value == 8.0


def test_an_open_brake_leaves_no_trace_in_the_facts() -> None:
    result = run(chain_book(), {"client.days": 3.0, "client.priorities": MUSCLES})
    verdicts = {tuple(one.binding.values()): one.verdict for one in result.records}
    assert verdicts[("quads",)] is verdicts[("lats",)] is Verdict.NEEDS
    assert result.facts["client.ill"].value is Status.UNKNOWN
    assert not [key for key in result.facts if key.startswith("dose.sets")]


def test_withheld_outputs_stop_every_later_rule_that_would_reveal_them() -> None:
    kb = book(
        [
            fact("client.flag"),
            derived("screen.withheld", "choices", choices=["numbers"], combine="collect"),
            derived("energy.target", "number", reveals=["numbers"]),
            derived("energy.low", combine="any", reveals=["numbers"]),
        ],
        [
            adds(
                "SCR-1",
                "screen.withheld",
                "numbers",
                stage="screen",
                when=[{"fact": "client.flag", "equals": True}],
            ),
            says("ENE-1", "energy.target", 1),
            says("SCR-2", "energy.target", 1, stage="screen"),
        ],
    )
    result = run(kb, {"client.flag": True})
    by_rule = {record.rule_id: record for record in result.records}
    assert by_rule["ENE-1"].verdict is Verdict.BLOCKED_BY
    assert [(one.role, one.address) for one in by_rule["ENE-1"].readings] == [
        ("withheld", "withheld.0")
    ]
    assert by_rule["SCR-2"].verdict is Verdict.FIRED  # the screen itself may look
    assert "energy.low" not in result.facts
    free = run(kb, {"client.flag": False})
    assert {one.rule_id: one.verdict for one in free.records}["ENE-1"] is Verdict.FIRED
    assert free.facts["energy.low"].value is False


def test_rules_and_parameters_follow_their_dates() -> None:
    kb = book(
        [derived("plan.sets", "number"), derived("plan.late", "number")],
        [
            says("AAA-1", "plan.sets", 1, in_force_until="2026-01-11"),
            says("AAA-2", "plan.late", {"param": "p.new"}, in_force_from="2026-01-12"),
        ],
        [
            parameter(
                "p.new",
                0,
                values=[
                    {"since": "2025-01-01", "value": 3},
                    {"since": "2026-01-12", "value": 4},
                    {"since": "2026-01-13", "value": 5},
                ],
            )
        ],
    )
    result = run(kb)
    assert [one.verdict for one in result.records] == [Verdict.NOT_IN_FORCE, Verdict.FIRED]
    assert result.facts["plan.late"].value == 4.0
    assert result.records[1].parameters == ("p.new@2026-01-12",)


def test_a_parameter_not_in_force_yet_is_refused_with_its_name_and_day() -> None:
    late = parameter("p.new", 0, values=[{"since": "2026-02-01", "value": 3}])
    kb = book(
        [derived("plan.late", "number")], [says("AAA-1", "plan.late", {"param": "p.new"})], [late]
    )
    with pytest.raises(InputProblems, match=r"`p\.new` has no value in force on 2026-01-12"):
        compile_knowledge(kb, ON)


def test_a_coachs_own_setting_replaces_the_parameter() -> None:
    kb = book(
        [derived("plan.late", "number")],
        [says("AAA-1", "plan.late", {"param": "p.new"})],
        [parameter("p.new", 3)],
        overlay={"p.new": 7},
    )
    assert run(kb).facts["plan.late"].value == 7.0


def test_a_value_of_the_wrong_type_stops_the_run_naming_the_rule() -> None:
    kb = book(
        [derived("block.weeks", "integer")],
        [says("AAA-1", "block.weeks", {"param": "p.w"})],
        [parameter("p.w", 3.5)],
    )
    with pytest.raises(EngineFault, match=r"AAA-1, `block\.weeks`: 3\.5 is not a value of type"):
        run(kb)


def test_hash_follows_logic_and_not_prose() -> None:
    facts = [derived("plan.sets", "number")]

    def fingerprint(**more: Any) -> str:
        return (
            run(book(facts, [says("AAA-1", "plan.sets", more.pop("to", 1), **more)]))
            .records[0]
            .rule_hash
        )

    assert fingerprint() == fingerprint(because="other words", title="other title")
    assert fingerprint() != fingerprint(to=0)
    assert len(fingerprint()) == 12


def test_order_of_rules_and_answers_changes_nothing() -> None:
    kb = chain_book()
    answers = {"client.days": 3.0, "client.ill": False, "client.priorities": MUSCLES}
    first = run(kb, answers)
    rules, given = list(kb.rules.items()), list(answers.items())
    for seed in range(5):
        random.Random(seed).shuffle(rules)
        random.Random(seed).shuffle(given)
        assert run(dataclasses.replace(kb, rules=dict(rules)), dict(given)) == first


def test_the_same_case_gives_the_same_record_on_each_engine() -> None:
    if not durable.importable():
        pytest.skip("durable_rules is not installed for this Python")
    compiled = compile_knowledge(chain_book(), ON)
    answers = {"client.days": 3.0, "client.ill": False, "client.priorities": MUSCLES}
    runs = [run_engine(compiled, answers, ON, engine) for engine in ("durable", "clips", "both")]
    assert [one.engine.split()[0] for one in runs] == ["durable_rules", "CLIPS", "durable_rules"]
    assert runs[0].records == runs[1].records == runs[2].records
    assert runs[0].facts == runs[1].facts == runs[2].facts
