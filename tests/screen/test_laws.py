"""Laws of the screen over generated people: red flags and silence never give anything back.

The laws follow from the order stop > withhold > caution > inform and from reading silence as no
answer; they hold for any rule book, so no figure of ours is tested here.
"""

from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lengths import at_length
from screening import EXAMPLES, case_answers, checked, knowledge, screen, screen_person
from screening_people import MOOT, RED, SILENCE, Person, is_clear, people, with_red

from assistant.casefiles import check_answers

# Every answer of the screen, and the three body answers that the tiers name.
ASKED = tuple(key for tier in EXAMPLES["answer_tiers"].values() for key in tier if key != "sex")
OPEN_TIERS = {
    "A": ("exercise_any", "vigorous_effort", "max_tests", "impact_work"),
    "B": ("energy_deficit", "deficit_large", "weight_goal", "body_measures", "bmi_shown"),
    "C": ("max_tests",),
}


def a_red_flag_never_gives_back(person: Person, key: str, red: Any) -> None:
    base, changes = person
    person = base, {**changes, **MOOT.get(key, {})}
    assume(is_clear(person, key) or key in MOOT.get(key, {}))
    before = screen_person(*person)
    base, changes = with_red(person, key, red)
    after = screen_person(base, changes)
    assert after.is_at_least_as_careful_as(before), (before, after)


def silence_never_gives_back(person: Person, key: str, silence: str) -> None:
    assume(is_clear(person, key))
    base, changes = person
    before = screen_person(base, changes)
    after = screen_person(base, {**changes, key: silence})
    assert after.is_at_least_as_careful_as(before), (before, after)


RED_ONES = [(key, red) for key, values in RED.items() for red in values]


@settings(max_examples=30, deadline=None)
@given(person=people(), red=st.sampled_from(RED_ONES))
def test_a_red_flag_never_gives_anything_back(person: Person, red: tuple[str, Any]) -> None:
    a_red_flag_never_gives_back(person, *red)


@settings(max_examples=30, deadline=None)
@given(person=people(), key=st.sampled_from(ASKED), silence=st.sampled_from(SILENCE))
def test_silence_never_gives_anything_back(person: Person, key: str, silence: str) -> None:
    silence_never_gives_back(person, key, silence)


@pytest.mark.slow
@settings(max_examples=at_length(1500, in_ci=300), deadline=None)
@given(person=people(most=12), red=st.sampled_from(RED_ONES))
def test_a_red_flag_never_gives_anything_back_at_length(
    person: Person, red: tuple[str, Any]
) -> None:
    a_red_flag_never_gives_back(person, *red)


@pytest.mark.slow
@settings(max_examples=at_length(1500, in_ci=300), deadline=None)
@given(person=people(most=12), key=st.sampled_from(ASKED), silence=st.sampled_from(SILENCE))
def test_silence_never_gives_anything_back_at_length(
    person: Person, key: str, silence: str
) -> None:
    silence_never_gives_back(person, key, silence)


@pytest.mark.parametrize("base", ["woman", "man"])
@pytest.mark.parametrize("key", ASKED)
def test_each_open_question_costs_what_its_tier_says(base: str, key: str) -> None:
    tier = next(name for name, keys in EXAMPLES["answer_tiers"].items() if key in keys)
    for silence in SILENCE:
        found = screen_person(base, {key: silence})
        assert found.withheld >= set(OPEN_TIERS.get(tier, ())), silence
        assert not found.referrals, "silence alone sends nobody anywhere"
        if tier == "free":
            assert found.flags == screen_person(base, {}).flags


@pytest.mark.parametrize("base", ["woman", "man"])
def test_a_question_left_out_is_a_question_left_open(base: str) -> None:
    """A missing answer and `unknown` are the same thing."""
    raw = case_answers(base, {})
    for key in ASKED:
        fact = {"age": "client.age_years", "bmi": "client.weight_kg"}.get(key, f"screen.{key}")
        if fact in raw:
            left_out = {name: value for name, value in raw.items() if name != fact}
            assert screen(checked(left_out)) == screen(checked({**raw, fact: "unknown"})), key


def test_what_everybody_is_asked_always_applies() -> None:
    """That it does not apply would be silence read as a no."""
    kb = knowledge()
    conditions = {question.fact: question.ask_if for question in kb.questions}
    for fact in kb.facts.values():
        if fact.id in conditions and fact.id.startswith("screen.") and fact.tier in {"A", "B", "C"}:
            _, problems = check_answers({fact.id: "not_applicable"}, kb)
            codes = [problem.code for problem in problems]
            assert codes == ([] if conditions[fact.id] else ["bad-value"]), fact.id
    assert not conditions["screen.medicines"]
    assert conditions["screen.head_knock_recent"]


MAY_NOT_APPLY = {
    question.fact.removeprefix("screen.") for question in knowledge().questions if question.ask_if
}


@pytest.mark.parametrize("key", sorted({"bmi", *MAY_NOT_APPLY.intersection(ASKED)}))
def test_what_does_not_apply_is_answered(key: str) -> None:
    flags = screen_person("woman", {key: "not_applicable"}).flags
    assert not {flag for flag in flags if flag.startswith("unanswered")}


def both_engines_screen_alike(person: Person) -> None:
    pytest.importorskip("durable_rules_engine", reason="durable_rules is not installed here")
    base, changes = person
    screen(checked(case_answers(base, changes)), "both")


@settings(max_examples=30, deadline=None)
@given(person=people())
def test_both_engines_screen_alike(person: Person) -> None:
    both_engines_screen_alike(person)


@pytest.mark.slow
@settings(max_examples=at_length(1500, in_ci=300), deadline=None)
@given(person=people(most=12))
def test_both_engines_screen_alike_at_length(person: Person) -> None:
    both_engines_screen_alike(person)


@pytest.mark.parametrize(
    "flag", [f for f, e in EXAMPLES["flags"].items() if e["severity"] == "stop"]
)
def test_a_stop_holds_back_everything_but_message_and_note(flag: str) -> None:
    person = {
        "symptom_now": {"symptom_now": ["chest_pain"]},
        "cauda_equina_sign": {"saddle_or_bladder_change": True},
        "rhabdo_sign": {"muscle_breakdown_sign": True},
        "toxic_fat_burner": {"purging_or_misuse": ["dinitrophenol"]},
        "bmi_under_13": {"bmi": 12.5},
        "urgent_body_sign": {"urgent_body_sign": ["calf_swelling"]},
        "bp_stop": {"bp_diastolic": 112},
        "hypo_recent": {"severe_low_sugar_last_24h": True},
        "purging_with_symptoms": {"purging_or_misuse": ["vomiting"], "purging_symptoms": True},
        "bmi_under_16": {"bmi": 15.0},
        "head_knock_on_thinners": {"head_knock_recent": True},
        "under_16": {"age": 14},
        "minor_guardian_no": {"age": 16, "guardian_agrees": False},
        "minor_guardian_open": {"age": 17},
        "age_unknown": {"age": "declined"},
    }.get(flag, {flag: True})
    found = screen_person("woman", person)
    assert flag in found.flags
    assert found.level == "stop"
    assert found.withheld == set(EXAMPLES["outputs"]) - {"referral_note", "safety_message"}
    # An age that was not told stops the plan, and silence alone still sends nobody anywhere.
    assert found.referrals or flag == "age_unknown"
