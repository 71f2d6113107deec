"""What is refused when a book is compiled, and that large books stay within what engines bear."""

import datetime as dt
from typing import Any

import pytest
from engine_books import ON, book, derived, fact, parameter, rule

from assistant.engine import compile_knowledge, durable, run_engine
from assistant.engine.limits import MOST_RULES_IN_A_SET, MOST_TESTS_ON_AN_ATTRIBUTE, shares
from assistant.engine.run import EngineChoice
from assistant.model.derivation import Verdict
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status

ENGINES: EngineChoice = "both" if durable.importable() else "clips"


def refused(kb: KnowledgeBase) -> str:
    with pytest.raises(InputProblems) as found:
        compile_knowledge(kb, ON)
    return str(found.value)


def test_facts_that_wait_for_each_other_are_named_as_a_circle() -> None:
    facts = [derived(f"made.f{n}") for n in range(4)]
    rules = [
        rule(
            f"AAA-{n}",
            when=[{"fact": f"made.f{(n + 1) % 3}", "equals": True}],
            then=[{"set": f"made.f{n}", "to": True}],
        )
        for n in range(3)
    ]
    rules.append(rule("AAA-9", then=[{"set": "made.f3", "to": True}]))
    text = refused(book(facts, rules))
    assert "circle" in text
    assert "AAA-0 reads what AAA-1 reads what AAA-2 reads what AAA-0 writes" in text
    assert "AAA-9" not in text


def test_a_rule_that_reads_what_it_writes_is_refused() -> None:
    kb = book(
        [derived("made.f")],
        [
            rule(
                "AAA-1",
                when=[{"fact": "made.f", "equals": False}],
                then=[{"set": "made.f", "to": True}],
            )
        ],
    )
    assert "AAA-1: circle: AAA-1 reads what AAA-1 writes" in refused(kb)


def wide_rule(conditions: int, **more: Any) -> KnowledgeBase:
    facts = [fact(f"client.f{n}") for n in range(conditions)]
    when = [{"fact": f"client.f{n}", "equals": True} for n in range(conditions)]
    then = [{"set": "made.f", "to": True}]
    return book([*facts, derived("made.f")], [rule("AAA-1", when=when, then=then, **more)])


def test_sixteen_conditions_work_and_seventeen_are_refused() -> None:
    answers = {f"client.f{n}": True for n in range(16)}
    run = run_engine(compile_knowledge(wide_rule(16), ON), answers, ON, ENGINES)
    assert run.records[0].verdict is Verdict.FIRED
    text = refused(wide_rule(17))
    assert "AAA-1: too-many-conditions: the rule has 17 conditions" in text
    brake = [{"fact": "client.f0", "equals": False}]
    assert "17 conditions" in refused(wide_rule(16, unless=brake))


def test_too_many_alternatives_are_refused() -> None:
    group = {"any_of": [{"fact": f"client.f{n}", "equals": True} for n in range(5)]}
    kb = book(
        [*(fact(f"client.f{n}") for n in range(5)), derived("made.f")],
        [rule("AAA-1", when=[group] * 3, then=[{"set": "made.f", "to": True}])],
    )
    assert "AAA-1: too-many-alternatives: its conditions multiply out to 125" in refused(kb)


def test_many_rules_on_one_condition_are_dealt_out() -> None:
    """Undivided, 256 rules that share a condition crash durable_rules 2.0.28."""
    count = 600
    facts = [fact("client.on"), fact("client.off"), *(derived(f"made.f{n}") for n in range(count))]
    rules = [
        rule(
            f"AAA-{n:03d}",
            when=[{"fact": "client.on", "equals": True}],
            unless=[{"fact": "client.off", "equals": True}],
            then=[{"set": f"made.f{n}", "to": True}],
        )
        for n in range(count)
    ]
    compiled = compile_knowledge(book(facts, rules), ON)
    dealt = shares(compiled.program)
    assert max(len(share.rules) for share in dealt) <= MOST_RULES_IN_A_SET
    assert sum(len(share.rules) for share in dealt) == count
    answers = {"client.on": True, "client.off": False}
    run = run_engine(compiled, answers, ON, ENGINES)
    assert {record.verdict for record in run.records} == {Verdict.FIRED}
    compiled.close()


def test_many_lines_on_one_number_are_dealt_out() -> None:
    """Undivided, 65 conditions that one fact meets make durable_rules 2.0.28 give up."""
    count = 130
    facts = [fact("client.age", "number"), *(derived(f"made.f{n}") for n in range(count))]
    rules = [
        rule(
            f"AAA-{n:03d}",
            when=[{"fact": "client.age", "at_least": {"param": f"p.n{n}"}}],
            then=[{"set": f"made.f{n}", "to": True}],
        )
        for n in range(count)
    ]
    parameters = [parameter(f"p.n{n}", n) for n in range(count)]
    compiled = compile_knowledge(book(facts, rules, parameters), ON)
    for share in shares(compiled.program):
        assert max(map(len, share.tests.values())) <= MOST_TESTS_ON_AN_ATTRIBUTE
    run = run_engine(compiled, {"client.age": 99.0}, ON, ENGINES)
    fired = [record for record in run.records if record.verdict is Verdict.FIRED]
    assert len(fired) == 100
    compiled.close()


def test_many_facts_and_brakes_keep_the_first_conditions_few() -> None:
    """Undivided, 512 distinct first conditions make durable_rules 2.0.28 hang."""
    count = 700
    facts = [fact(f"client.f{n}") for n in range(count)]
    facts += [derived(f"made.f{n}") for n in range(count)]
    rules = [
        rule(
            f"AAA-{n:03d}",
            unless=[{"fact": f"client.f{n}", "equals": True}],
            then=[{"set": f"made.f{n}", "to": True}],
        )
        for n in range(count)
    ]
    compiled = compile_knowledge(book(facts, rules), ON)
    answers = {f"client.f{n}": n % 7 == 0 for n in range(count)}
    run = run_engine(compiled, answers, ON, ENGINES)
    fired = {record.rule_id for record in run.records if record.verdict is Verdict.FIRED}
    assert fired == {f"AAA-{n:03d}" for n in range(count) if n % 7}
    compiled.close()


BROKEN: list[tuple[dict[str, Any], str]] = [
    ({"when": [{"fact": "client.gone", "equals": True}]}, "unknown-fact: `client.gone`"),
    ({"when": [{"fact": "client.girth", "at_least": 0}]}, "index-missing: `client.girth`"),
    ({"when": [{"fact": "client.on", "of": "lats", "equals": True}]}, "no-index: `client.on`"),
    (
        {"when": [{"fact": "client.girth", "of": "elbow", "at_least": 0}]},
        "unknown-index: `elbow` is not in domain `muscle`",
    ),
    (
        {"when": [{"fact": "client.girth", "of": "lats", "at_least": {"param": "p.gone"}}]},
        "unknown-parameter: `p.gone`",
    ),
    ({"when": [{"count_true": ["client.on"], "at_most": 1}]}, "bad-count: `when.0` counts with"),
    ({"when": [{"any_of": []}]}, "empty-any-of: `when.0`"),
    ({"for_each": {"muscle": "client.on.off"}}, "unknown-domain: `for_each` names `client.on.off`"),
    ({"then": [{"set": "made.list", "to": {"loop": "muscle"}}]}, "unknown-loop: `loop: muscle`"),
    ({"then": [{"set": "client.on", "to": True}]}, "not-derived: `client.on`"),
    ({"overrides": ["AAA-2"]}, "unknown-rule: `overrides` names unknown rule AAA-2"),
]


@pytest.mark.parametrize(("broken", "text"), BROKEN)
def test_a_broken_rule_is_named_with_what_is_wrong(broken: dict[str, Any], text: str) -> None:
    facts = [
        fact("client.on"),
        fact("client.girth", "number", index="muscle"),
        derived("made.f"),
        derived("made.list", "text"),
    ]
    raw = {"then": [{"set": "made.f", "to": True}], **broken}
    kb = book(facts, [rule("AAA-1", **raw)], domains={"muscle": ("lats", "quads")})
    assert f"AAA-1: {text}" in refused(kb)


def test_all_broken_rules_are_reported_at_once() -> None:
    then = [{"set": "made.gone", "to": True}]
    text = refused(book([], [rule("AAA-1", then=then), rule("AAA-2", then=then)]))
    assert [line.split(":")[0] for line in text.splitlines()] == ["AAA-1", "AAA-2"]


@pytest.mark.parametrize(
    ("answers", "text"),
    [
        (
            {"client.agee": 3.0},
            "answers.client.agee: unknown-fact: `client.agee` is not declared; did you mean `client.age`?",
        ),
        (
            {"client.age": "31"},
            "answers.client.age: wrong-type: '31' is not a value of type number",
        ),
        ({"client.age": True}, "answers.client.age: wrong-type: True"),
        ({"client.age": float("nan")}, "answers.client.age: wrong-type: nan"),
        ({"client.age": float("inf")}, "answers.client.age: wrong-type: inf"),
        ({"client.on": 1.0}, "answers.client.on: wrong-type: 1.0 is not a value of type boolean"),
        ({"client.days": "mon"}, "answers.client.days: wrong-type: 'mon'"),
        ({"client.days": (1.0,)}, "answers.client.days: wrong-type: (1.0,)"),
        ({"made.f": True}, "answers.made.f: not-an-answer: `made.f` is concluded by rules"),
    ],
)
def test_wrong_answers_are_refused_by_field(answers: dict[str, Any], text: str) -> None:
    facts = [
        fact("client.age", "number"),
        fact("client.on"),
        fact("client.days", "choices", choices=["mon", "tue"]),
        derived("made.f"),
    ]
    kb = book(facts, [rule("AAA-1", then=[{"set": "made.f", "to": True}])])
    with pytest.raises(InputProblems) as found:
        run_engine(compile_knowledge(kb, ON), answers, ON)
    assert text in str(found.value)


def test_a_book_without_rules_runs() -> None:
    kb = book([fact("client.age", "number")], [])
    run = run_engine(compile_knowledge(kb, ON), {"client.age": 30.0}, ON, ENGINES)
    assert len(run.records) == 0
    assert run.facts["client.age"].value == 30.0
    assert run_engine(compile_knowledge(kb, ON), {}, ON).facts["client.age"].value is Status.UNKNOWN


def test_a_case_of_another_day_is_refused() -> None:
    compiled = compile_knowledge(book([], []), ON)
    with pytest.raises(InputProblems, match="compiled for 2026-01-12, the case is of 2026-01-13"):
        run_engine(compiled, {}, ON + dt.timedelta(days=1))


def test_an_unknown_engine_is_refused() -> None:
    compiled = compile_knowledge(book([], []), ON)
    with pytest.raises(InputProblems, match="`other` is no engine"):
        run_engine(compiled, {}, ON, "other")  # type: ignore[arg-type]
