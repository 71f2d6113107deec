"""Coverage, reach, engines, sensitivity, witnesses: what running a book over people shows."""

import dataclasses
import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from check_book import clean_book, replace

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import check_answers
from assistant.engine import compile_knowledge, run_engine
from assistant.knowledge.checks.exclusive import conflicting_setters
from assistant.model.case import Case
from assistant.model.derivation import Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.checks import CHECKS
from assistant.quality.conflicts import witness
from assistant.quality.coverage import check_coverage
from assistant.quality.people import People
from assistant.quality.reach import check_engines, check_reachability, search_for
from assistant.quality.records import need_a_record
from assistant.quality.sensitivity import Mover, check_sensitivity
from assistant.quality.suite import Options, Subject, subject_of

DAY = dt.date(2026, 1, 12)
NELL: dict[str, Any] = {
    "client.age_years": 31,
    "client.height_cm": 168,
    "client.weight_kg": 64,
    "client.goal": "gain",
    "client.days": 4,
    "client.priority_muscles": ["lats"],
    "screen.chest_pain": False,
    "screen.dizzy": False,
}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return clean_book(tmp_path / "rules")


def _subject(book: Path) -> Subject:
    return subject_of(book, None, CALCULATORS)


def _kb(subject: Subject) -> KnowledgeBase:
    assert subject.kb is not None, [str(each) for each in subject.problems]
    return subject.kb


def _case(kb: KnowledgeBase, **changed: Any) -> Case:
    raw = {**NELL, **{key.replace("__", "."): value for key, value in changed.items()}}
    answers, problems = check_answers(raw, kb, "test")
    assert problems == []
    return Case("Nell Brayford", DAY, answers)


# Invented people.


def test_the_same_number_is_the_same_person(book: Path) -> None:
    kb = _kb(_subject(book))
    people = People(kb, DAY, [_case(kb).answers])
    again = People(kb, DAY, [_case(kb).answers])
    assert [people.person(n) for n in range(60)] == [again.person(n) for n in range(60)]
    assert len({json.dumps(people.person(n), sort_keys=True) for n in range(60)}) > 50


def test_every_person_answers_within_the_declarations(book: Path) -> None:
    kb = _kb(_subject(book))
    people = People(kb, DAY, [_case(kb).answers])
    for number in range(300):
        raw = {k: list(v) if isinstance(v, tuple) else v for k, v in people.person(number).items()}
        _, problems = check_answers(raw, kb, "test")
        assert problems == []


def test_people_stand_on_the_lines(book: Path) -> None:
    """`days.many` is 4: among 300 people some have 3, some 4, some 5 days."""
    kb = _kb(_subject(book))
    people = People(kb, DAY)
    days = {people.person(number).get("client.days") for number in range(300)}
    assert {3.0, 4.0, 5.0} <= days


# Coverage.


def test_coverage_counts_what_can_be_seen(book: Path) -> None:
    """By hand for BOD-001: no clause; it fires, needs an answer, and is blocked (withheld): three."""
    subject = _subject(book)
    kb = _kb(subject)
    one = {"BOD-001": kb.rules["BOD-001"]}
    alone = Subject(dataclasses.replace(kb, rules=one), (), CALCULATORS)
    checked = check_coverage(alone, Options(people=0))
    assert checked.details == {"outcomes": 3, "by_tests": 3, "never": 0}


def test_people_fill_what_tests_leave_open(book: Path) -> None:
    replace(
        book,
        "tables/STY.yaml",
        "        - {but: {client.goal: rest}, failed_at: client.goal}\n",
        "",
    )
    subject = _subject(book)
    (alone,) = check_coverage(subject, Options(people=0)).findings
    assert (alone.code, "when.1 was never seen false" in alone.what) == ("unseen-clause", True)
    assert check_coverage(subject, Options(people=60)).findings == ()


# Reach.


def test_a_narrow_rule_is_reached_by_aiming(book: Path) -> None:
    """Just one body in many has an index of 25.00 within a hundredth; a climb finds it."""
    replace(book, "parameters/dose.yaml", "  - id: days.many\n", "".join(
        f'  - {{id: {name}, title: index, unit: kg/m2, values: [{{since: "2026-01-01", value: {value}}}], '
        "range: [20, 30], step: 0.01, source: [{ref: gym-practice, supports: it}], "
        "grade: {certainty: practice, note: x}}\n"
        for name, value in (("bmi.low", 24.99), ("bmi.high", 25.01))) + "  - id: days.many\n")  # fmt: skip
    (book / "dose/BOD-002.yaml").write_text(
        "id: BOD-002\ntitle: A narrow one\nstage: dose\nwhen:\n"
        "  - {fact: body.bmi, at_least: {param: bmi.low}}\n"
        "  - {fact: body.bmi, at_most: {param: bmi.high}}\n"
        "then:\n  - {set: note.sleep, to: true}\nbecause: Close to it.\n"
        "source: [{ref: gym-practice, supports: all}]\ngrade: {certainty: practice, note: x}\n"
        "tests:\n  given: {body.bmi: 25}\n  expect: {note.sleep: true}\n  cases:\n"
        "    - {but: {body.bmi: 24.98}, failed_at: body.bmi}\n"
        "    - {but: {body.bmi: 24.99}, fires: true}\n"
        "    - {but: {body.bmi: 25.02}, failed_at: body.bmi}\n"
        "    - {but: {body.bmi: 25.01}, fires: true}\n",
        encoding="utf-8",
    )
    subject = _subject(book)
    kb = _kb(subject)
    case = _case(kb)
    options = Options(cases=[("nell", case)], people=3)
    compiled = compile_knowledge(kb, DAY)
    steps = search_for(compiled, options, "BOD-002", CALCULATORS)
    assert steps[-1].fired
    run = run_engine(compiled, steps[-1].run.answers, DAY, "clips", CALCULATORS)
    fired = {each.rule_id for each in run.records if each.verdict is Verdict.FIRED}
    assert "BOD-002" in fired
    assert check_reachability(subject, options).findings == ()


def test_a_run_that_breaks_off_is_a_finding_at_the_rule(book: Path) -> None:
    """A weight over nought: the calculator refuses, and nobody would get a plan."""
    replace(book, "dose/BOD-001.yaml", "[{fact: client.weight_kg}, {fact: client.height_cm}]",
            "[{fact: client.weight_kg}, {difference: [{fact: client.height_cm}, {fact: client.height_cm}]}]")  # fmt: skip
    checked = check_reachability(_subject(book), Options(people=20))
    broken = [each for each in checked.findings if each.code == "broken-run"]
    assert broken
    assert {(each.file, each.line) for each in broken} == {("rules/dose/BOD-001.yaml", 1)}


def test_engines_that_differ_are_a_finding(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The verdict pass is made to say that nothing fires; the run's own check must catch it."""
    subject = _subject(book)
    assert check_engines(subject, Options(people=15)).findings == ()
    monkeypatch.setattr("assistant.engine.verdict.Judge.fires", lambda *_: False)
    checked = check_engines(subject, Options(people=15))
    assert {each.code for each in checked.findings} == {"engines-differ"}


# Sensitivity.


def test_what_a_number_moves(book: Path) -> None:
    """By the rules: Nell trains 4 days, so one more on the line makes her sessions long."""
    subject = _subject(book)
    kb = _kb(subject)
    cases = [("nell", _case(kb)), ("two days", _case(kb, client__days=2)),
             ("no muscle", _case(kb, client__priority_muscles=[]))]  # fmt: skip
    mover = Mover(kb, cases, CALCULATORS)
    moved = {each.who: [str(move) for move in each.moves] for each in mover.moved("days.many", 5)}
    assert moved == {
        "nell": ["dose.style: short → long"],
        "no muscle": ["dose.style: short → long"],
    }
    assert list(mover.moved("days.many", 4)) == []
    extra = {each.who for each in mover.moved("sets.priority_extra", 5)}
    # The extra sets are also the upper end of everyone's range.
    assert extra == {"nell", "two days", "no muscle"}
    checked = check_sensitivity(subject, Options(cases=cases))
    moving = checked.details["moving"]
    assert moving["days.many"] == {"up": ["nell", "no muscle"]}
    reach = {name: {*ways.get("up", ()), *ways.get("down", ())} for name, ways in moving.items()}
    marks = {n: {kb.sources[use.ref].mark.value for use in kb.parameters[n].source} for n in reach}
    first = checked.details["unread_first"]
    assert set(first) == {name for name in reach if "read" not in marks[name]}
    assert [len(reach[name]) for name in first] == sorted(
        (len(reach[n]) for n in first), reverse=True
    )


def test_the_short_way_tells_the_same_as_running_everything_again(book: Path) -> None:
    """Against a plain second run of every case with the changed number in the book itself."""
    subject = _subject(book)
    kb = _kb(subject)
    people = People(kb, DAY)
    cases = [(str(n), Case("x", DAY, people.person(n))) for n in range(25)]
    mover = Mover(kb, cases, CALCULATORS)
    for name, value in (("days.many", 5), ("sets.typical", 9), ("sets.priority_extra", 3)):
        other = compile_knowledge(dataclasses.replace(kb, overlay={name: value}), DAY)
        plain = compile_knowledge(kb, DAY)
        moved = {who for who, case in cases if _derived(plain, case) != _derived(other, case)}
        assert {each.who for each in mover.moved(name, value)} == moved
        assert moved


def _derived(book: Any, case: Case) -> Mapping[str, Any]:
    facts = run_engine(book, case.answers, DAY, "clips", CALCULATORS).facts
    return {
        key: (fact.value, fact.low, fact.high) for key, fact in facts.items() if fact.derivations
    }


# Witnesses.


def test_a_witness_makes_both_rules_fire(book: Path) -> None:
    replace(book, "tables/STY.yaml", 'few: {when: {fact: client.days, less_than: "$"}}',
            'few: {when: {fact: client.days, at_most: "$"}}')  # fmt: skip
    subject = _subject(book)
    kb = _kb(subject)
    ((one, other),) = conflicting_setters(subject.book)
    given = witness(one, other, kb, CALCULATORS)
    assert given is not None
    # Four days is the one number on both sides; only `gain` is a goal of both rows.
    assert {key: given[key] for key in ("client.days", "client.goal")} == {
        "client.days": 4.0,
        "client.goal": "gain",
    }


def test_a_complaint_without_a_witness_says_so(book: Path) -> None:
    """The loader cannot see that the two lines never meet through another rule; no facts do meet."""
    replace(book, "tables/STY.yaml", "    few: {param: days.many}",
            "    few: {product: [{param: days.many}, 1]}")  # fmt: skip
    (finding,) = CHECKS["conflicts"](_subject(book), Options()).findings
    assert finding.code == "conflict"
    assert "no witness was found" in finding.what


# Records.


def test_rules_that_need_a_record_are_told_apart(book: Path) -> None:
    """`few` reads the record itself; what STY says of days needs none; `note.sleep` can come either way."""
    replace(book, "facts/answers.yaml", "  - {id: client.age_years", (
        '  - {id: record.weeks, label: weeks, type: number, origin: record, unit: "1"}\n'
        "  - {id: client.age_years"))  # fmt: skip
    text = (book / "dose/BOD-001.yaml").read_text("utf-8")
    tail = text[text.index("source:") : text.index("tests:")]
    for rule_id, condition, conclusion, tests in (
        ("REC-001", "{fact: record.weeks, at_least: {param: days.many}}", "{set: note.sleep, to: true}",
         "{given: {record.weeks: 4}, expect: {note.sleep: true}}"),
        ("REC-002", "{fact: note.sleep, equals: true}", "{set: note.rest, to: true}",
         "{given: {note.sleep: true}, expect: {note.rest: true}}"),
    ):  # fmt: skip
        (book / f"dose/{rule_id}.yaml").write_text(
            f"id: {rule_id}\ntitle: x\nstage: dose\nwhen:\n  - {condition}\nthen:\n  - {conclusion}\n"
            f"because: x\n{tail}tests: {tests}\n",
            encoding="utf-8",
        )
    replace(book, "facts/derived.yaml", "  - {id: note.sleep,",
            "  - {id: note.rest, label: rest, type: boolean, origin: derived, combine: any}\n  - {id: note.sleep,")  # fmt: skip
    kb = _kb(_subject(book))
    assert need_a_record(kb) == {"REC-001"}
    (book / "tables/STY.yaml").unlink()
    assert need_a_record(_kb(_subject(book))) == {"REC-001", "REC-002"}
