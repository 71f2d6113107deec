"""How clauses read answers and conclusions: the table in DEVELOPERS.md, row by row."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from engine_books import ON, book, derived, fact, parameter, rule

from assistant.engine import compile_knowledge, durable, run_engine
from assistant.engine.run import EngineChoice
from assistant.model.derivation import Derivation, Holds, Verdict
from assistant.model.errors import EngineFault
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status

ENGINES: EngineChoice = "both" if durable.importable() else "clips"
VALUELESS = (Status.NOT_APPLICABLE, Status.NONE)
OPEN = (Status.UNKNOWN, Status.DECLINED)
FACTS = [
    fact("client.age", "number", allows_none=True),
    fact("client.limit", "number", allows_none=True),
    fact("client.tired"),
    fact("client.sore"),
    fact("client.goal", "choice", choices=["gain", "hold", "lose"]),
    fact("client.days", "choices", choices=["mon", "tue", "wed"]),
    fact("client.target", "date"),
    derived("made.number", "number"),
    derived("made.yes"),
    derived("plan.out"),
]
PARAMETERS = [parameter("p.age", 30), parameter("p.two", 2)]


@dataclass(frozen=True)
class Apart:
    """Days between two dates, for tests."""

    @property
    def function(self) -> Any:
        return lambda first, second: (second - first).days


CALCULATORS = {"days.apart": Apart()}


def knowledge(**clauses: Any) -> KnowledgeBase:
    return book(
        FACTS, [rule("AAA-1", then=[{"set": "plan.out", "to": True}], **clauses)], PARAMETERS
    )


def record(kb: KnowledgeBase, answers: dict[str, Any]) -> Derivation:
    run = run_engine(compile_knowledge(kb, ON), answers, ON, ENGINES, CALCULATORS)
    assert (run.facts["plan.out"].value is True) == (run.records[0].verdict is Verdict.FIRED)
    return run.records[0]


VALUE_CLAUSES: list[tuple[dict[str, Any], str, Any, Any]] = [
    ({"fact": "client.age", "at_least": {"param": "p.age"}}, "client.age", 30.0, 29.0),
    ({"fact": "client.age", "at_most": {"param": "p.age"}}, "client.age", 30.0, 31.0),
    ({"fact": "client.age", "more_than": {"param": "p.age"}}, "client.age", 31.0, 30.0),
    ({"fact": "client.age", "less_than": {"param": "p.age"}}, "client.age", 29.0, 30.0),
    ({"fact": "client.age", "equals": {"param": "p.age"}}, "client.age", 30.0, 30.5),
    ({"fact": "client.age", "is_not": {"param": "p.age"}}, "client.age", 30.5, 30.0),
    ({"fact": "client.tired", "equals": True}, "client.tired", True, False),
    ({"fact": "client.tired", "is_not": True}, "client.tired", False, True),
    ({"fact": "client.goal", "equals": "gain"}, "client.goal", "gain", "lose"),
    ({"fact": "client.goal", "is_not": "gain"}, "client.goal", "lose", "gain"),
    ({"fact": "client.goal", "one_of": ["gain", "hold"]}, "client.goal", "hold", "lose"),
    ({"fact": "client.goal", "at_least": "hold"}, "client.goal", "hold", "gain"),
    ({"fact": "client.days", "has": "tue"}, "client.days", ("mon", "tue"), ("mon",)),
    ({"fact": "client.days", "lacks": "tue"}, "client.days", (), ("tue",)),
    ({"fact": "client.days", "not_empty": True}, "client.days", ("wed",), ()),
    (
        {"count_items": "client.days", "at_least": {"param": "p.two"}},
        "client.days",
        ("mon", "wed"),
        ("mon",),
    ),
    (
        {"fact": "client.target", "at_least": {"fact": "context.as_of"}},
        "client.target",
        "2026-01-12",
        "2026-01-11",
    ),
    (
        {"fact": "client.age", "at_least": {"sum": [{"param": "p.age"}, {"param": "p.two"}]}},
        "client.age",
        32.0,
        31.0,
    ),
]
FACTS.append(fact("context.as_of", "date", "context"))


@pytest.mark.parametrize(("clause", "key", "yes", "no"), VALUE_CLAUSES)
def test_value_clause_in_when(clause: dict[str, Any], key: str, yes: Any, no: Any) -> None:
    kb = knowledge(when=[clause])
    assert record(kb, {key: yes}).verdict is Verdict.FIRED
    for value in (no, *VALUELESS):
        assert record(kb, {key: value}).verdict is Verdict.FAILED_AT
    for answers in ({}, *({key: status} for status in OPEN)):
        assert record(kb, answers).verdict is Verdict.NEEDS


@pytest.mark.parametrize(("clause", "key", "yes", "no"), VALUE_CLAUSES)
def test_value_clause_as_a_brake(clause: dict[str, Any], key: str, yes: Any, no: Any) -> None:
    kb = knowledge(unless=[clause])
    assert record(kb, {key: yes}).verdict is Verdict.BLOCKED_BY
    for value in (no, *VALUELESS):
        assert record(kb, {key: value}).verdict is Verdict.FIRED
    for answers in ({}, *({key: status} for status in OPEN)):
        assert record(kb, answers).verdict is Verdict.NEEDS


@pytest.mark.parametrize(("clause", "key", "yes", "no"), VALUE_CLAUSES)
def test_value_clause_as_an_excuse(clause: dict[str, Any], key: str, yes: Any, no: Any) -> None:
    kb = knowledge(excused_by=[clause])
    assert record(kb, {key: yes}).verdict is Verdict.BLOCKED_BY
    for value in (no, *VALUELESS, *OPEN):
        assert record(kb, {key: value}).verdict is Verdict.FIRED


@pytest.mark.parametrize(
    ("want", "values"),
    [
        ("known", [30.0]),
        ("unanswered", [Status.UNKNOWN, Status.DECLINED]),
        ("unknown", [Status.UNKNOWN]),
        ("declined", [Status.DECLINED]),
        ("not_applicable", [Status.NOT_APPLICABLE]),
        ("none", [Status.NONE]),
    ],
)
def test_status_clause_is_never_open(want: str, values: list[Any]) -> None:
    kb = knowledge(when=[{"fact": "client.age", "status": want}])
    for value in (30.0, *Status):
        expected = Verdict.FIRED if value in values else Verdict.FAILED_AT
        assert record(kb, {"client.age": value}).verdict is expected


def test_conclusion_that_nobody_drew() -> None:
    clause = {"fact": "made.number", "at_least": {"param": "p.two"}}
    assert record(knowledge(when=[clause]), {}).verdict is Verdict.NEEDS
    assert record(knowledge(unless=[clause]), {}).verdict is Verdict.FIRED
    assert record(knowledge(excused_by=[clause]), {}).verdict is Verdict.FIRED
    missing = {"fact": "made.number", "status": "unanswered"}
    assert record(knowledge(when=[missing]), {}).verdict is Verdict.FIRED


def test_yes_or_no_that_nobody_concluded_is_no() -> None:
    clause = {"fact": "made.yes", "equals": False}
    assert record(knowledge(when=[clause]), {}).verdict is Verdict.FIRED
    assert record(knowledge(unless=[clause]), {}).verdict is Verdict.BLOCKED_BY


def test_none_outweighs_an_open_question_on_the_other_side() -> None:
    clause = {"fact": "client.age", "at_least": {"fact": "client.limit"}}
    answers = {"client.age": Status.UNKNOWN, "client.limit": Status.NONE}
    assert record(knowledge(when=[clause]), answers).verdict is Verdict.FAILED_AT
    assert record(knowledge(unless=[clause]), answers).verdict is Verdict.FIRED
    half_open = {"client.age": 40.0}
    assert record(knowledge(when=[clause]), half_open).verdict is Verdict.NEEDS
    assert record(knowledge(unless=[clause]), half_open).verdict is Verdict.NEEDS


def test_open_questions_count_only_where_they_could_tip_the_count() -> None:
    counted = ["client.tired", "client.sore"]
    clause = {"count_true": counted, "at_least": {"param": "p.two"}}
    when, unless = knowledge(when=[clause]), knowledge(unless=[clause])
    both = {"client.tired": True, "client.sore": True}
    assert record(when, both).verdict is Verdict.FIRED
    assert record(unless, both).verdict is Verdict.BLOCKED_BY
    tipping = {"client.tired": True}
    assert record(when, tipping).verdict is Verdict.NEEDS
    assert record(unless, tipping).verdict is Verdict.NEEDS
    settled = {"client.tired": False}
    assert record(when, settled).verdict is Verdict.FAILED_AT
    assert record(unless, settled).verdict is Verdict.FIRED
    assert record(when, both).readings[0].fact == "client.tired,client.sore"


def test_any_of_holds_by_one_and_fails_by_all() -> None:
    kb = knowledge(
        when=[
            {
                "any_of": [
                    {"fact": "client.tired", "equals": True},
                    {"fact": "client.sore", "equals": True},
                ]
            }
        ]
    )
    assert record(kb, {"client.sore": True}).verdict is Verdict.FIRED
    assert record(kb, {"client.sore": True, "client.tired": True}).verdict is Verdict.FIRED
    assert record(kb, {"client.sore": False}).verdict is Verdict.NEEDS
    failed = record(kb, {"client.sore": False, "client.tired": False})
    assert failed.verdict is Verdict.FAILED_AT
    assert [one.address for one in failed.readings] == ["when.0.any_of.0", "when.0.any_of.1"]


def test_a_failed_condition_outweighs_a_brake_and_a_brake_an_open_question() -> None:
    kb = knowledge(
        when=[{"fact": "client.tired", "equals": True}],
        unless=[{"fact": "client.sore", "equals": True}],
    )
    assert record(kb, {"client.tired": False, "client.sore": True}).verdict is Verdict.FAILED_AT
    assert record(kb, {"client.sore": True}).verdict is Verdict.BLOCKED_BY
    assert record(kb, {"client.sore": False}).verdict is Verdict.NEEDS


def test_margin_is_what_there_is_less_what_is_wanted() -> None:
    kb = knowledge(when=[{"fact": "client.age", "at_least": {"param": "p.age"}}])
    reading = record(kb, {"client.age": 27.5}).readings[0]
    assert (reading.have, reading.want, reading.margin) == (27.5, 30.0, -2.5)
    assert reading.holds is Holds.FALSE
    assert record(kb, {}).readings[0].margin is None


def test_sums_of_decimals_land_on_the_decimal_line() -> None:
    kb = book(
        FACTS,
        [
            rule(
                "AAA-1",
                when=[
                    {
                        "fact": "client.age",
                        "at_least": {"sum": [{"param": "p.tenth"}, {"param": "p.fifth"}]},
                    }
                ],
                then=[{"set": "plan.out", "to": True}],
            )
        ],
        [parameter("p.tenth", 0.1), parameter("p.fifth", 0.2)],
    )
    assert 0.1 + 0.2 > 0.3  # the binary sum is off the line; the rule's is not
    assert record(kb, {"client.age": 0.3}).verdict is Verdict.FIRED


def test_dates_reach_a_calculator_as_dates() -> None:
    days = {
        "calculate": "days.apart",
        "from": [{"fact": "context.as_of"}, {"fact": "client.target"}],
    }
    kb = book(
        FACTS,
        [rule("AAA-1", then=[{"set": "made.number", "to": days}, {"set": "plan.out", "to": True}])],
    )
    run = run_engine(
        compile_knowledge(kb, ON), {"client.target": "2026-02-12"}, ON, ENGINES, CALCULATORS
    )
    assert run.facts["made.number"].value == (dt.date(2026, 2, 12) - ON).days


def test_a_refusing_calculator_stops_the_run_and_names_the_rule() -> None:
    days = {"calculate": "days.apart", "from": [{"param": "p.age"}, {"param": "p.two"}]}

    class Refuses:
        @property
        def function(self) -> Any:
            def refuse(*_: Any) -> float:
                raise ValueError("`first` is 30; a date is needed")

            return refuse

    kb = book(FACTS, [rule("AAA-1", then=[{"set": "made.number", "to": days}])], PARAMETERS)
    with pytest.raises(EngineFault, match=r"rule AAA-1.*days\.apart.*`first` is 30"):
        run_engine(compile_knowledge(kb, ON), {}, ON, ENGINES, {"days.apart": Refuses()})


def test_facts_used_in_a_conclusion_are_needed() -> None:
    kb = book(
        FACTS,
        [rule("AAA-1", then=[{"set": "made.number", "to": {"fact": "client.age"}}])],
    )
    compiled = compile_knowledge(kb, ON)

    def verdict(answers: dict[str, Any]) -> Derivation:
        return run_engine(compiled, answers, ON, ENGINES).records[0]

    assert verdict({"client.age": 30.0}).conclusions[0].value == 30.0
    assert verdict({}).verdict is Verdict.NEEDS
    assert verdict({"client.age": Status.NONE}).verdict is Verdict.FAILED_AT
    assert verdict({}).readings[0].address == "then.0"
