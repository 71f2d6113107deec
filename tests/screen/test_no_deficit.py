"""No path to eating below maintenance where it could harm: a search over generated people."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengths import at_length
from screening import DAY, case_answers, checked, knowledge, screen_person
from screening_people import Person, people

from assistant.calculate.registry import CALCULATORS
from assistant.engine import compile_knowledge, run_engine

ITEMS = (
    "eats_past_stopping",
    "close_people_disagree",
    "mind_taken_up",
    "rules_spoil_mood",
    "pays_for_food_with_training",
    "large_recent_loss",
)


@st.composite
def harmed_by_a_deficit(draw: st.DrawFn) -> Person:
    """Anyone, with one reason that rules a deficit out."""
    base, changes = draw(people())
    bmi = draw(st.floats(10, 18.49))
    reasons: list[dict[str, Any]] = [
        {"bmi": max(bmi, 11.1)},
        {"pregnant": True},
        {"breastfeeding": True},
        {"age": draw(st.integers(14, 17))},
        dict.fromkeys(draw(st.lists(st.sampled_from(ITEMS), min_size=2, unique=True)), True),
        {"energy_availability": draw(st.floats(5, 29.99))},
        {"eating_disorder": draw(st.sampled_from(("past", "current_in_care", "current_no_care")))},
        {"purging_or_misuse": ["vomiting"]},
    ]
    reason = draw(st.sampled_from(reasons))
    if "bmi" in reason:  # the lines are those of adults
        changes = {**changes, "age": draw(st.integers(18, 80))}
    return base, {**changes, **reason, "goal": "lose_fat"}


@settings(max_examples=60, deadline=None)
@given(person=harmed_by_a_deficit())
def test_the_screen_rules_a_deficit_out(person: Person) -> None:
    found = screen_person(*person)
    assert {"energy_deficit", "deficit_large"} <= found.withheld
    assert found.level in {"withhold", "stop"}


@pytest.mark.slow
@settings(max_examples=at_length(2000, in_ci=450), deadline=None)
@given(person=harmed_by_a_deficit())
def test_the_screen_rules_a_deficit_out_at_length(person: Person) -> None:
    assert {"energy_deficit", "deficit_large"} <= screen_person(*person).withheld


# What the later rules need to plan food at all.
FOOD = {
    "client.daily_activity": "low_active",
    "client.sessions_per_week_now": 3,
    "client.minutes_per_session": 60,
    "client.training_age_months": 24,
    "client.diet": "omnivore",
}


@pytest.fixture(scope="module")
def whole_book() -> Any:
    return compile_knowledge(knowledge(), DAY)


def below_maintenance(whole_book: Any, base: str, changes: dict[str, Any]) -> bool:
    """Tell whether the whole book plans for this person to eat below maintenance."""
    answers = checked(case_answers(base, changes) | FOOD)
    run = run_engine(whole_book, answers, DAY, None, CALCULATORS)
    offset = run.facts.get("energy.surplus_kcal_per_day")
    target = run.facts.get("energy.target_kcal_per_day")
    maintenance = run.facts.get("energy.maintenance_kcal_per_day")
    if target is not None and maintenance is not None:
        assert isinstance(target.value, float)
        assert isinstance(maintenance.value, float)
        if target.value < maintenance.value:
            return True
    return offset is not None and isinstance(offset.value, float) and offset.value < 0


def test_a_healthy_adult_may_have_a_small_deficit(whole_book: Any) -> None:
    """Otherwise the search below would prove nothing."""
    assert below_maintenance(whole_book, "man", {"goal": "lose_fat", "bmi": 29})


@settings(max_examples=20, deadline=None)
@given(person=harmed_by_a_deficit())
def test_no_later_rule_plans_a_deficit(whole_book: Any, person: Person) -> None:
    assert not below_maintenance(whole_book, *person)


@pytest.mark.slow
@settings(max_examples=at_length(2000, in_ci=150), deadline=None)
@given(person=harmed_by_a_deficit())
def test_no_later_rule_plans_a_deficit_at_length(whole_book: Any, person: Person) -> None:
    assert not below_maintenance(whole_book, *person)
