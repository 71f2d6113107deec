"""New safety questions hang on one tick list and on what is asked already: a healthy person sees few.

No figure of ours is tested but the count of questions, which the intake promises to keep low.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any

import pytest

from assistant.casefiles import check_answers
from assistant.intake.asking import applies
from assistant.intake.form import Form, form_of
from assistant.model.clauses import alternatives
from assistant.model.knowledge import KnowledgeBase

# Question, answers that open it, answers that close it.
FOLLOW_UPS: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("hernia_stuck", {"conditions": ["hernia_or_bulge"]}, {"conditions": ["epilepsy"]}),
    ("seizure_last_year", {"conditions": ["epilepsy"]}, {"conditions": ["hernia_or_bulge"]}),
    ("head_knock_recent", {"medicines": ["anticoagulant"]}, {"medicines": ["statin"]}),
    ("severe_low_sugar_last_24h", {"medicines": ["sulfonylurea"], "disease": []}, {"medicines": ["metformin"], "disease": []}),
    ("severe_low_sugar_last_24h", {"medicines": ["insulin"], "disease": []}, {"medicines": [], "disease": ["diabetes_type_2"]}),
    ("severe_low_sugar_last_24h", {"medicines": [], "disease": ["diabetes_type_1"]}, {"medicines": [], "disease": []}),
    ("pregnancy_trimester", {"pregnant": True}, {"pregnant": False}),
    ("birth_by_section", {"weeks_since_birth": 5}, {"weeks_since_birth": "none"}),
    ("first_period_absent", {"months_without_period": 3}, {"months_without_period": 2}),
    ("low_desire", {"low_energy_signs": 1, "cycle_or_birth_applies": False}, {"low_energy_signs": 0}),
    ("low_desire", {"low_energy_signs": 1}, {"low_energy_signs": 1, "cycle_or_birth_applies": True}),
    ("training_months_lost_to_bone", {"bone_stress_injuries_2_years": 1}, {"bone_stress_injuries_2_years": 0}),
    ("insulin_for_physique", {"performance_drugs": "current"}, {"performance_drugs": "never"}),
    ("insulin_for_physique", {"performance_drugs": "stopped_under_12_months"}, {"performance_drugs": "stopped_over_12_months"}),
]  # fmt: skip


@pytest.fixture(scope="module")
def form(kb: KnowledgeBase) -> Form:
    return form_of(kb, dt.date(2026, 1, 12))


def is_asked(kb: KnowledgeBase, form: Form, question: str, said: Mapping[str, Any]) -> bool:
    answers, problems = check_answers({f"screen.{key}": value for key, value in said.items()}, kb)
    assert not problems
    slot = form.slots[form.index_of(f"screen.{question}")]
    return applies(slot.question.ask_if, answers, form.parameters)


@pytest.mark.parametrize(("question", "opening", "closing"), FOLLOW_UPS)
def test_a_follow_up_is_asked_where_its_answer_was_given(
    kb: KnowledgeBase, form: Form, question: str, opening: dict[str, Any], closing: dict[str, Any]
) -> None:
    assert is_asked(kb, form, question, opening)
    assert not is_asked(kb, form, question, closing)
    for silence in ("unknown", "declined"):  # silence takes no question away
        assert is_asked(kb, form, question, dict.fromkeys(opening, silence))


def test_no_follow_up_hangs_on_more_than_it_needs(form: Form) -> None:
    """The table above names every follow-up of the tick list: a new one needs its two rows here."""
    hanging = {
        slot.fact.removeprefix("screen.")
        for slot in form.slots
        for condition in slot.question.ask_if
        for clause in alternatives(condition)
        if clause.fact in {"screen.conditions", "screen.medicines"}
    }
    assert hanging <= {question for question, _, _ in FOLLOW_UPS}


def test_a_healthy_adult_is_asked_two_questions_more_than_before(kb: KnowledgeBase) -> None:
    """The tick list and illness of the day; everything else that was added hangs on a tick."""
    added = ["conditions", "ill_today", *(question for question, _, _ in FOLLOW_UPS)]
    always = [
        question.fact
        for question in kb.questions
        if not question.ask_if and question.fact.removeprefix("screen.") in added
    ]
    assert sorted(always) == ["screen.conditions", "screen.ill_today"]
