"""What the book rests on, counted a second time by hand."""

from collections import Counter

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.clients.cases import cases_of
from assistant.knowledge.walk import parameters_read
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import prepare
from assistant.quality.checks import run_checks
from assistant.quality.line_marks import line_marks
from assistant.quality.suite import Options, Subject, subject_of

RANK = ("read", "second_hand", "from_memory", "judgement", "common_practice")


@pytest.fixture(scope="module")
def subject() -> Subject:
    return subject_of(None, None, CALCULATORS)


@pytest.fixture(scope="module")
def book(subject: Subject) -> KnowledgeBase:
    assert subject.kb is not None
    return subject.kb


def test_rules_of_the_house_are_counted_apart(subject: Subject, book: KnowledgeBase) -> None:
    (_, told) = run_checks(subject, Options(), ["evidence"])
    counted = dict.fromkeys(RANK, 0)
    house = 0
    for rule in book.rules.values():
        if rule.kind == "house":
            house += 1
            continue
        marks = {book.sources[use.ref].mark.value for use in rule.source}
        counted[next(mark for mark in RANK if mark in marks)] += 1
    assert told.details["claims_by_mark"] == counted
    assert told.details["house_rules"] == house > 0
    assert sum(told.details["claims_by_grade"].values()) + house == len(book.rules)
    assert f"{counted['read']} of {sum(counted.values())} rules" in told.said


def test_no_rule_of_the_house_sets_a_number_of_somebodys(book: KnowledgeBase) -> None:
    for rule in book.rules.values():
        if rule.kind == "house":
            kinds = {
                book.sources[use.ref].kind
                for name in parameters_read(rule)
                for use in book.parameters[name].source
            }
            assert kinds <= {"standard"}, rule.id


def test_what_a_flag_takes_away_is_a_claim(book: KnowledgeBase) -> None:
    """A person has to sign it: only the counting of flags is of the house, not what they cost."""
    for rule in book.rules.values():
        if rule.id.startswith(("FLG-", "REF-")):
            assert rule.kind is None, rule.id


def test_what_a_flag_does_rests_on_judgement_and_on_the_work_it_names(book: KnowledgeBase) -> None:
    """Published work stands first and lifts the grade to low, never more: the rest stays ours."""
    named = 0
    for flag in book.flags.values():
        made = [(f"FLG-{flag.id.upper()}", flag.evidence)]
        for kind in ("cleared", "set_aside"):
            decided = getattr(flag, kind)
            if decided is not None:
                made.append((f"FLG-{flag.id.upper()}-{kind.upper()}", decided.evidence))
        for refer in flag.refer:
            several = f"-{refer.to.upper()}" if len(flag.refer) > 1 else ""
            made.append((f"REF-{flag.id.upper()}{several}", refer.evidence))
        for rule_id, evidence in made:
            rule = book.rules[rule_id]
            assert rule.source[:-1] == evidence, rule_id
            assert rule.source[-1].ref == "house-safety-judgement", rule_id
            assert rule.grade.certainty == ("low" if evidence else "practice"), rule_id
            assert all(book.sources[use.ref].mark == "read" for use in evidence), rule_id
            named += bool(evidence)
    assert named > 0


def test_lines_are_counted_as_the_plan_prints_them(subject: Subject, book: KnowledgeBase) -> None:
    """From the page this time: each line's own rule. A line may wait for a word the count does not see."""
    some = [
        (who, case)
        for who, case in cases_of(None, None, book)
        if who.endswith(("four_days.yaml", "slow_cut.yaml"))
    ]
    for who, case in some:
        planner = prepare(book, case.as_of, "clips")
        plan = planner.plan(case, planner.narrator(planner.run(case), "coach"))
        printed: Counter[str] = Counter()
        for line in (line for section in plan.sections for line in section.lines if line.rule):
            rule = book.rules[line.rule]
            marks = {book.sources[use.ref].mark.value for use in rule.source}
            printed["house" if rule.kind else next(mark for mark in RANK if mark in marks)] += 1
        counted = Counter(line_marks(subject, Options([(who, case)])))
        assert sum(((printed - counted) + (counted - printed)).values()) <= 2, (
            who,
            printed,
            counted,
        )
        assert printed["read"] > 30
    assert len(some) == 2


def test_lines_are_told_where_there_are_cases(subject: Subject, book: KnowledgeBase) -> None:
    (case,) = (one for one in cases_of(None, None, book) if one[0].endswith("four_days.yaml"))
    (_, told) = run_checks(subject, Options([case]), ["evidence"])
    lines = told.details["lines_by_mark"]
    of_claims = sum(lines.values()) - lines["house"]
    assert f"so do {lines['read']} of {of_claims} lines" in told.said
