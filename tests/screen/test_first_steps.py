"""What to do first: one text for each kind of sign, all kinds that were ticked, in every form of the page."""

import dataclasses
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from screening import case_answers, checked, flag_words, knowledge, screen
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.model.plan import Line
from assistant.model.values import Status
from assistant.plan.language import localised, localised_run, read_language

CASE = Path(__file__).parents[2] / "cases/four_days.yaml"
SIGNS = {"screen.symptom_now": "symptom_now", "screen.urgent_body_sign": "urgent_body_sign"}
TICKS = [(fact, item) for fact in SIGNS for item in knowledge().facts[fact].choices]


def steps_of(fact: str) -> list[dict[str, Any]]:
    steps = knowledge().flags[SIGNS[fact]].first_steps
    return [step.model_dump() for step in steps if step.answer == fact]


def step_for(fact: str, item: str) -> dict[str, Any]:
    return next(step for step in steps_of(fact) if item in step["items"])


def lines_for(answers: dict[str, Any], audience: Any, language: str = "en") -> list[Line]:
    kb = knowledge()
    case = read_case(CASE, kb)
    case = dataclasses.replace(case, answers={**case.answers, **answers})
    planner = planner_on(case.as_of, "clips")
    run = planner.run(case)
    told = read_language(kb, language)
    planner = dataclasses.replace(planner, kb=localised(kb, told))
    narrator = planner.narrator(localised_run(run, told), audience)
    return [line for s in planner.plan(case, narrator).sections for line in s.lines]


@pytest.mark.parametrize(("fact", "item"), TICKS)
def test_every_sign_has_one_text_of_its_own(fact: str, item: str) -> None:
    assert sum(item in step["items"] for step in steps_of(fact)) == 1


@pytest.mark.parametrize(
    ("fact", "item", "words"),
    [
        ("screen.symptom_now", "face_droop", ("note the time", "drink nothing")),
        ("screen.symptom_now", "chest_pain", ("sit down", "rest completely", "defibrillator")),
        ("screen.symptom_now", "throat_closing", ("adrenaline pen at once if you carry one",)),
        ("screen.symptom_now", "collapse_in_heat", ("shade", "cold water")),
        ("screen.symptom_now", "low_sugar_signs",
         ("before anything else", "awake", "fifteen grams of fast sugar", "quarter of an hour")),
        ("screen.symptom_now", "fainting", ("lie flat",)),
        ("screen.symptom_now", "sudden_worst_headache", ("note the time", "lie or sit back")),
        ("screen.urgent_body_sign", "head_knock", ("do not drive", "do not stay alone")),
        ("screen.urgent_body_sign", "calf_swelling", ("do not drive", "do not stay alone")),
        ("screen.urgent_body_sign", "tense_numb_limb", ("emergency department now",)),
        ("screen.urgent_body_sign", "hot_joint_with_fever", ("today",)),
    ],
)  # fmt: skip
def test_what_comes_first_differs_by_kind(fact: str, item: str, words: tuple[str, ...]) -> None:
    text = step_for(fact, item)["client"]
    for part in words:
        assert part in text.lower() or part in text, part


@pytest.mark.parametrize("audience", ["coach", "client"])
def test_all_kinds_that_were_ticked_are_said_and_no_other(audience: str) -> None:
    ticked = {
        "screen.symptom_now": ("chest_pain", "slurred_speech", "low_sugar_signs"),
        "screen.urgent_body_sign": ("head_knock", "calf_swelling"),
    }
    wanted = {step_for(f, i)[audience] for f, items in ticked.items() for i in items}
    lines = lines_for(ticked, audience)
    said = [line.text for line in lines if line.id.startswith("screen.first[")]
    assert len(said) == len(wanted) == 5
    assert set(said) == wanted
    # The message comes first, that there is no plan after it.
    ids = [line.id for line in lines]
    assert ids.index("screen.first[1]") < ids.index("screen.stop")


def test_kinds_ticked_together_do_not_ask_for_opposites() -> None:
    def said(item: str) -> str:
        return str(step_for("screen.symptom_now", item)["client"])

    # Sitting for the chest and lying for a faint; nothing by mouth for a stroke and sugar for a low.
    assert "Or sit where chest or breath ask for it" in said("fainting")
    assert "or sit" in said("slurred_speech")
    assert "or sit" in said("throat_closing")
    assert "your speech or face is odd" in said("low_sugar_signs")


@pytest.mark.parametrize("audience", ["coach", "client"])
@pytest.mark.parametrize(
    ("answers", "order"),
    [
        ({"client.age_years": Status.DECLINED, "screen.symptom_now": ("chest_pain",)},
         ["symptom_now", "age_unknown"]),
        ({"client.age_years": 15.0, "screen.suspected_fracture": True},
         ["suspected_fracture", "under_16"]),
        ({"screen.bp_systolic": 190.0, "screen.muscle_breakdown_sign": True},
         ["rhabdo_sign", "bp_stop"]),
        ({"screen.symptom_now": ("chest_pain",), "screen.saddle_or_bladder_change": True,
          "screen.self_harm_thoughts": True},
         ["self_harm_thoughts", "cauda_equina_sign", "symptom_now"]),
    ],
)  # fmt: skip
def test_what_is_most_urgent_is_said_first(
    answers: dict[str, Any], order: list[str], audience: str
) -> None:
    said = [ln.text for ln in lines_for(answers, audience) if ln.id.startswith("screen.flag[")]
    wanted = [getattr(knowledge().flags[flag], audience) for flag in order]
    assert [text.removesuffix(" [stop]") for text in said] == wanted


@pytest.mark.parametrize(
    "answers",
    [
        {"client.age_years": 17.0, "screen.guardian_agrees": True},
        {"screen.pregnant": True, "screen.pregnancy_warning_sign": False},
        {"screen.breastfeeding": True},
        {"screen.conditions": ("alcohol_heavy",)},
    ],
)
def test_nothing_takes_drinking_for_granted_where_it_would_harm(answers: dict[str, Any]) -> None:
    def speaks_of_alcohol(given: dict[str, Any]) -> bool:
        return any("drink alcohol" in line.text for line in lines_for(given, "client"))

    assert speaks_of_alcohol({})
    assert not speaks_of_alcohol(answers)


def test_in_german_too() -> None:
    lines = lines_for({"screen.urgent_body_sign": ("head_knock",)}, "client", "de")
    said = [line.text for line in lines if line.id.startswith("screen.first[")]
    assert len(said) == 1
    assert said[0].startswith(
        "Bei dem Schlag auf den Kopf: Fahr nicht und bleib bis morgen nicht allein."
    )


def test_a_hard_numb_limb_is_for_now_and_other_signs_for_the_day() -> None:
    def urgency(item: str) -> dict[str, str]:
        answers = checked(case_answers("man", {"urgent_body_sign": [item]}))
        return dict(screen(answers).referrals)

    assert urgency("tense_numb_limb") == {"physician": "same_day", "emergency_services": "now"}
    assert urgency("tendon_pop") == {"physician": "same_day"}


def spoken(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from spoken(inner)


# Reassurance that nobody here can give, and secrecy that nobody may promise (least of all to a minor).
NEVER_SAID = re.compile(
    r"nothing serious|harmless|nothing to worry|don't worry|do not worry|no need to worry|usually fine"
    r"|most(ly| often) (they|that|it|nothing)\b|told to (any|no)one|stays between|between us|keep it secret|nobody will know|confidential"
    r"|nichts Ernstes|harmlos|bleibt unter uns",
    re.IGNORECASE,
)


def test_nothing_is_called_harmless_and_no_secrecy_is_promised() -> None:
    kb = knowledge()
    texts = [*spoken(flag_words(kb)), *spoken(kb.checkin.model_dump(mode="json"))]
    for question in kb.questions:
        texts += [*spoken(question.model_dump(mode="json"))]
    for section in kb.sections:
        texts += [section.intro_coach or "", section.intro_self or ""]
    for rule in kb.rules.values():
        if rule.stage == "screen":
            texts += [rule.because, rule.client_because or ""]
    texts += [each.say for each in kb.languages["de"].texts]
    assert len(texts) > 1000
    for text in texts:
        assert not NEVER_SAID.search(text), text


# Every flag about eating, body, purging or low weight; minors get no shape goal either.
LOOKS_WAIT = (
    "purging_with_symptoms", "bmi_under_13", "bmi_under_16", "eating_disorder_current",
    "eating_disorder_in_care", "eating_disorder_past", "purging_or_misuse", "eating_screen_two_plus",
    "eating_screen_one", "body_image_distress", "muscle_size_distress", "muscle_size_sign",
    "exercise_compulsion", "bmi_under_18_5", "bmi_under_17_5", "goal_bmi_under_18_5", "answer_changed",
    "under_18",
)  # fmt: skip


def test_no_sentence_on_looks_and_no_shape_first_under_a_flag_of_food_or_body() -> None:
    kb = knowledge()
    areas = {"food and body", "how the body feels", "fuel and health", "health comes first"}
    named = {flag.id for flag in kb.flags.values() if flag.area in areas} - {"low_energy_signs"}
    wait = {flag.id for flag in kb.flags.values() if flag.looks_wait}
    assert named | set(LOOKS_WAIT) <= wait, (named | set(LOOKS_WAIT)) - wait
    flagged: dict[str, dict[str, Any]] = {
        "eating_disorder_past": {"screen.eating_disorder": "past"},
        "eating_screen_one": {"screen.rules_spoil_mood": True},
        "purging_or_misuse": {"screen.purging_or_misuse": ("unspecified",),
                              "screen.purging_symptoms": False},
        "muscle_size_sign": {"screen.feels_too_small_others_disagree": True},
        "bmi_under_18_5": {"client.weight_kg": 50.0},
    }  # fmt: skip
    wish = {"client.shape_goal": "hourglass", "client.priority_muscles": ()}
    clear = {line.id: line.text for line in lines_for(wish, "client")}
    assert {"note.spot_waist", "note.borrowed_ratio", "aim.priorities"} <= clear.keys()
    for flag, answers in flagged.items():
        assert flag in LOOKS_WAIT
        lines = {line.id: line.text for line in lines_for({**wish, **answers}, "client")}
        assert not {"note.spot_waist", "note.borrowed_ratio", "aim.priorities"} & lines.keys(), flag
        assert "advice.shape_waits" in lines, flag
        assert not re.search(
            r"looks? smaller|frames? the waist|your own start", " ".join(lines.values())
        ), flag
    # An open question on food or body, or tapes not wanted: the wish stays, the talk of looks goes.
    for silent in (
        {"screen.mind_taken_up": Status.UNKNOWN},
        {"screen.measuring_feels": "rather_not"},
    ):
        lines = {line.id: line.text for line in lines_for({**wish, **silent}, "client")}
        assert not {"note.spot_waist", "note.borrowed_ratio"} & lines.keys()


def test_every_such_flag_sets_looks_aside_by_its_rule() -> None:
    for flag in LOOKS_WAIT:
        said = {c.fact: c.to for c in knowledge().rules[f"FLG-{flag.upper()}"].then}
        assert said["screen.looks_set_aside"] is True, flag
