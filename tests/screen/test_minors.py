"""Under 16 no plan, at 16 and 17 only with a guardian's yes, and an age not told is not grown up.

The lines of thinness are those of Cole et al. 2007 (BMJ 335:194) at the end of the year: 18.05 for boys and
18.25 for girls at 17.0, 18.5 at 18; the higher of the two is used at 16 (second-hand: a data file was read).
"""

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from screening import DAY, LEVELS, Outcome, knowledge, outcome_of, screen_person
from screening_people import MANY, Person, people
from whole_plans import (
    ENGINES,
    MOSTLY_ONE,
    deficits,
    facts_of_person,
    food_figures,
    page,
    run_person,
    value,
)

from assistant.engine import EngineChoice
from assistant.intake import dialogue
from assistant.intake.form import form_of

YES = {"guardian_agrees": True}
NAMED = {"client.priority_muscles": ["glute_max"], "client.lagging_leg_muscles": ["hamstrings"]}


def is_no_plan(found: Outcome) -> bool:
    return found.level == "stop" and {"exercise_any", "nutrition_general"} <= found.withheld


@pytest.mark.parametrize("age", [10, 13, 15, 15.9])
def test_under_16_there_is_no_plan_but_people_to_turn_to(age: float) -> None:
    for guardian in (True, False, "unknown"):
        found = screen_person("woman", {"age": age, "guardian_agrees": guardian})
        assert is_no_plan(found)
        assert {"guardian", "physician"} <= found.referrals.keys()


@pytest.mark.parametrize("reader", ["coach", "client"])
def test_the_words_to_a_child_are_kind_and_hold_no_figure(reader: str) -> None:
    lines = page("woman", {"age": 14}, NAMED, reader)
    said = " ".join(lines.values())
    assert "parent or guardian" in said
    assert "doctor" in said
    assert not [
        name for name in lines if name.startswith(("training.", "food.", "aim.", "phases."))
    ]
    if reader == "client":
        assert "good that you want to get strong" in said
        assert "under_16" not in said
        assert "16" not in said


@pytest.mark.parametrize("age", [16, 17, 17.9])
@pytest.mark.parametrize("guardian", [False, "unknown", "declined", "not_applicable"])
def test_at_16_and_17_nothing_goes_on_without_a_guardian_s_yes(age: float, guardian: Any) -> None:
    found = screen_person("man", {"age": age, "guardian_agrees": guardian})
    assert is_no_plan(found)
    assert ("minor_guardian_no" if guardian is False else "minor_guardian_open") in found.flags
    assert found.referrals["guardian"] == "before_start"


def test_with_a_guardian_s_yes_there_is_training_and_no_figure_no_shape_and_no_priority() -> None:
    run = run_person("woman", {"age": 16, **YES, "bmi": 21}, NAMED, ENGINES)
    assert outcome_of(run).level == "withhold"
    assert outcome_of(run).referrals == {}
    assert {"exercise_any"}.isdisjoint(outcome_of(run).withheld)
    assert "max_tests" in outcome_of(run).withheld
    assert value(run, "week.structure") is not None
    assert food_figures(run) == []
    assert value(run, "priority.muscles") is None
    assert value(run, "priority.support_muscles") is None
    assert value(run, "note.spot_waist") is False
    assert value(run, "note.borrowed_ratio") is False
    assert value(run, "advice.skill_first") is True
    grown = run_person("woman", {"age": 18, "bmi": 21}, NAMED)
    assert value(grown, "priority.muscles") is not None
    assert food_figures(grown)


@pytest.mark.parametrize("silence", ["unknown", "declined", "not_applicable"])
def test_an_age_that_was_not_told_is_not_grown_up(silence: str) -> None:
    found = screen_person("man", {"age": silence})
    assert is_no_plan(found)
    assert "age_unknown" in found.flags
    assert found.referrals == {}, "silence alone sends nobody anywhere"


@pytest.mark.parametrize(
    ("age", "bmi", "flags"),
    [
        (16, 18.24, {"minor_low_weight"}),
        (16, 18.25, set()),
        (17, 18.49, {"minor_low_weight"}),
        (17, 18.5, set()),
        (17.9, 18.49, {"minor_low_weight"}),
        (16, 15.9, {"minor_low_weight", "bmi_under_16"}),
        (17, 12.9, {"minor_low_weight", "bmi_under_13"}),
    ],
)
def test_low_weight_is_read_by_a_line_for_the_age(age: float, bmi: float, flags: set[str]) -> None:
    found = screen_person("woman", {"age": age, **YES, "bmi": bmi, "highest_adult_bmi": "none"})
    assert found.flags == {"under_18", *flags}
    if flags:
        assert found.referrals.keys() & {"physician", "emergency_services"}
        assert "vigorous_effort" in found.withheld
    else:
        assert found.referrals == {}


def test_a_wish_to_be_thin_goes_to_a_physician() -> None:
    base = {"age": 16, **YES, "bmi": 21, "highest_adult_bmi": "none"}
    thin = screen_person("woman", {**base, "goal_bmi": 18})
    assert "minor_low_weight" in thin.flags
    assert thin.referrals["physician"] == "this_week"
    assert "physician" not in screen_person("woman", {**base, "goal_bmi": 18.25}).referrals
    lighter = screen_person("woman", {**base, "goal": "lose_fat"})
    assert lighter.referrals == {"dietitian": "routine", "physician": "routine"}
    heavy = screen_person("woman", {**base, "goal": "lose_fat", "bmi": 25})
    assert heavy.referrals == {"dietitian": "routine"}


@pytest.mark.parametrize(
    "answer",
    [
        {"eats_past_stopping": True},
        {"low_mood_two_weeks": True},
        {"joint_dislocations": True},
        {"medicines": ["isotretinoin"]},
        {"performance_drugs": "current"},
        {"active_last_3_months": False},
    ],
)
def test_any_other_flag_at_that_age_goes_to_a_physician(answer: Mapping[str, Any]) -> None:
    young = screen_person("man", {"age": 17, **YES, "bmi": 22, **answer})
    assert "physician" in young.referrals


def test_an_open_question_sends_nobody_young_anywhere() -> None:
    found = screen_person("man", {"age": 17, **YES, "bmi": 22, "medicines": "unknown"})
    assert "unanswered_background_question" in found.flags
    assert found.referrals == {}


@pytest.mark.parametrize("audience", ["coach", "self"])
def test_age_is_asked_first_and_the_guardian_next(audience: Any) -> None:
    at_start = dialogue.start(form_of(knowledge(), DAY), audience)
    assert at_start.slot.fact == "client.age_years"
    assert dialogue.answer(at_start, "16").dialogue.slot.fact == "screen.guardian_agrees"
    assert dialogue.answer(at_start, "30").dialogue.slot.fact != "screen.guardian_agrees"


# The law over generated people.


@st.composite
def the_young(draw: st.DrawFn) -> Person:
    """Anyone under 18, or of an age that was not told, whatever else they answer."""
    base, changes = draw(people())
    age = draw(st.sampled_from((10, 12, 14, 15, 15.9, 16, 16.5, 17, 17.9, "unknown", "declined")))
    guardian = draw(st.sampled_from((True, True, False, "unknown", "declined")))
    goal = draw(st.sampled_from(("lose_fat", "build_muscle", "maintain")))
    return base, {**changes, "age": age, "guardian_agrees": guardian, "goal": goal}


def nothing_for_the_young(person: Person, engines: EngineChoice = ENGINES) -> None:
    base, changes = person
    run = facts_of_person(base, changes, NAMED, engines=engines)
    screened = outcome_of(run)
    assert deficits(run) == []
    assert food_figures(run) == []
    # Where the age was not told, the stop keeps them off every page.
    assert isinstance(changes["age"], str) or value(run, "priority.muscles") is None
    assert {"energy_number", "protein_number", "weight_goal", "max_tests"} <= screened.withheld
    age = changes["age"]
    if isinstance(age, str) or age < 16 or changes["guardian_agrees"] is not True:
        assert is_no_plan(screened)
    else:
        others = screened.flags - NO_CONCERN
        assert not others or screened.referrals, others
        assert LEVELS.index(screened.level) >= LEVELS.index("withhold")
        assert not others or URGENT & screened.referrals.keys(), others


NO_CONCERN = {
    "under_18",
    "unanswered_stop_question",
    "unanswered_body_question",
    "unanswered_background_question",
}
URGENT = {"physician", "emergency_services"}


@settings(max_examples=12, deadline=None)
@given(person=the_young())
def test_no_plan_no_figure_and_no_look_for_the_young(person: Person) -> None:
    nothing_for_the_young(person)


@pytest.mark.slow
@settings(max_examples=MANY, deadline=None)
@given(person=the_young(), engines=MOSTLY_ONE)
def test_nothing_for_the_young_at_length(person: Person, engines: EngineChoice) -> None:
    nothing_for_the_young(person, engines)
