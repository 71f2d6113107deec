"""All reasons behind one flag are told, to the coach and to the client, and what they ask for is kept.

The people are a healthy person of the worked cases with a few answers of their own.
"""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from shipped import planner_on

from assistant.casefiles import check_answers, read_case
from assistant.model.case import Case
from assistant.model.derivation import Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.report.referral import referral_note

ON = dt.date(2026, 1, 12)
HEALTHY = Path(__file__).parents[2] / "cases" / "four_days.yaml"
SIX = ["beta_blocker", "diuretic", "statin", "lithium", "isotretinoin", "antidepressant"]


@pytest.fixture(scope="module")
def planner() -> Planner:
    return planner_on(ON)


def person(kb: KnowledgeBase, changes: Mapping[str, Any]) -> Case:
    healthy = read_case(HEALTHY, kb)
    answers, problems = check_answers(changes, kb)
    assert not problems
    return Case(healthy.name, healthy.as_of, {**healthy.answers, **answers})


def lines_of(planner: Planner, case: Case, audience: Audience) -> list[Line]:
    plan = planner.plan(case, planner.narrator(planner.run(case), audience))
    return [line for section in plan.sections for line in section.lines]


@pytest.mark.parametrize("audience", ["coach", "client"])
def test_six_medicines_are_six_lines(
    kb: KnowledgeBase, planner: Planner, audience: Audience
) -> None:
    lines = lines_of(planner, person(kb, {"screen.medicines": SIX}), audience)
    told = [line.text for line in lines if line.id.startswith("screen.reason[")]
    assert len(set(told)) == len(SIX)
    rules = [rule for rule in kb.rules.values() if rule.id.startswith("MED-")]
    words = {rule.because if audience == "coach" else rule.client_because for rule in rules}
    assert set(told) <= words


def test_one_medicine_is_one_line_for_the_client_too(kb: KnowledgeBase, planner: Planner) -> None:
    lines = lines_of(planner, person(kb, {"screen.medicines": ["lithium"]}), "client")
    told = [line.text for line in lines if line.id.startswith("screen.reason[")]
    assert told == [kb.rules["MED-LITHIUM"].client_because]


def test_each_tick_behind_a_flag_has_its_reason(kb: KnowledgeBase, planner: Planner) -> None:
    ticked = ["glaucoma", "retinopathy", "eye_operation_recent"]
    lines = lines_of(planner, person(kb, {"screen.conditions": ticked}), "coach")
    told = {line.text for line in lines if line.id.startswith("screen.reason[eye_pressure_risk")}
    rules = ("SCR-GLAUCOMA", "SCR-RETINOPATHY", "SCR-EYE-OPERATION")
    assert told == {kb.rules[rule].because for rule in rules}


def test_open_questions_are_listed_once(kb: KnowledgeBase, planner: Planner) -> None:
    """The part on open questions names them all; the flag needs one of them as its reason."""
    silent = {fact: "unknown" for fact, each in kb.facts.items() if each.tier == "A"}
    lines = lines_of(planner, person(kb, silent), "coach")
    flag = "unanswered_stop_question"
    (found,) = [line for line in lines if flag in line.id]
    assert found.reason
    (still_open,) = [line.text for line in lines if line.id == "screen.unanswered"]
    assert all(kb.facts[fact].label in still_open for fact in silent)


def test_what_a_reason_leaves_out_is_left_out(kb: KnowledgeBase, planner: Planner) -> None:
    """Each medicine and each tick by itself: a sentence about jumps or tests is no mere advice."""
    asked_for = {
        "no jumps": "impact_work",
        "without jumps": "impact_work",
        "no tests": "max_tests",
        "no maximal": "max_tests",
        "leave out tests": "max_tests",
    }
    seen = set()
    for fact in ("screen.medicines", "screen.conditions"):
        for item in kb.facts[fact].choices:
            run = planner.run(person(kb, {fact: [item]}))
            fired = [r for r in run.records if r.verdict is Verdict.FIRED]
            withheld = run.facts["screen.withheld"].value if "screen.withheld" in run.facts else ()
            raising = [r for r in fired if any(c.fact == "screen.found" for c in r.conclusions)]
            assert raising or item in {"metformin", "other"}, item
            for record in raising:
                for words, output in asked_for.items():
                    if words in f"{record.because} {record.client_because}":
                        assert isinstance(withheld, tuple)
                        assert output in withheld, (item, words)
                        seen.add((item, output))
    assert {("fluoroquinolone", "impact_work"), ("anticoagulant", "max_tests")} <= seen


@pytest.mark.parametrize("trouble", ["sleep_apnoea", "lasting_insomnia"])
@pytest.mark.parametrize("audience", ["coach", "client"])
def test_no_hours_are_aimed_for_beside_trouble_with_sleep(
    kb: KnowledgeBase, planner: Planner, trouble: str, audience: Audience
) -> None:
    plain = lines_of(planner, person(kb, {}), audience)
    assert any("8 hours" in line.text for line in plain)
    short = {"screen.conditions": [trouble], "client.sleep_hours": 6.5}
    lines = lines_of(planner, person(kb, short), audience)
    assert not [
        line.text for line in lines if "8 hours" in line.text or "earlier to bed" in line.text
    ]
    assert any(
        "sleep" in each and "doctor" in each for each in (f"{x.text} {x.reason}" for x in lines)
    )


def test_the_note_tells_no_answer_that_sent_nobody(kb: KnowledgeBase, planner: Planner) -> None:
    """Of a ticked list the reader learns what the note is about, and no more."""
    case = person(kb, {"screen.conditions": ["glaucoma", "sickle_trait", "retinopathy"]})
    note = referral_note(planner.narrator(planner.run(case), "coach"), "Ada")
    assert note is not None
    assert "glaucoma and retinopathy" in note
    assert "sickle" not in note
    said = {"screen.disease": ["diabetes_type_1"], "screen.medicines": ["statin"]}
    case = person(kb, {**said, "screen.severe_low_sugar_last_24h": False})
    note = referral_note(planner.narrator(planner.run(case), "coach"), "Ada")
    assert note is not None
    assert kb.facts["screen.disease"].label in " ".join(note.split())
    assert kb.facts["screen.medicines"].label not in note, (
        "insulin was not ticked, statins are no matter"
    )
