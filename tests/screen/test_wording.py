"""What the screen says: complete, kind, and without a figure where figures could harm."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from forbidden_words import BANNED, SHAMING
from screening import EXAMPLES, flag_words, knowledge

FIGURE = re.compile(r"\d")
# What may be said of training under a flag that holds all of it.
WAITING = {"wait", "help_first", "touch", "rest_until_well"}
SPECIAL_NAMES = re.compile(r"[a-z]+_[a-z_]+")

# What is said about training where no session is planned.
WAITING = {"wait", "help_first", "touch", "young_first", "age_first"}


def screen_rules() -> list[Any]:
    return [rule for rule in knowledge().rules.values() if rule.stage == "screen"]


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from texts(inner)


def test_every_flag_role_urgency_level_and_output_has_words() -> None:
    kb = knowledge()
    words = flag_words(kb)
    assert set(words["flags"]) == set(kb.book.domains["flag"])
    assert set(words["roles"]) == set(kb.book.domains["role"])
    assert set(words["outputs"]) == set(kb.book.domains["output"])
    assert set(words["urgencies"]) == set(kb.facts["screen.referral_urgency"].choices)
    assert set(words["levels"]) == set(kb.facts["screen.level"].choices)
    for flag, entry in words["flags"].items():
        assert entry["training"] in words["trainings"], flag
        assert isinstance(entry["rescreen_weeks"], int)
        assert 0 <= entry["rescreen_weeks"] <= 52


def test_client_sentences_hold_no_figure_and_no_flag_name() -> None:
    words = flag_words(knowledge())
    for flag, entry in words["flags"].items():
        steps = entry.get("first_steps", ())
        spoken = [step[voice] for step in steps for voice in ("client", "self") if step[voice]]
        for text in (entry["area"], entry["client"], entry["self"] or "", *spoken):
            assert not FIGURE.search(text), (flag, text)
            assert not SPECIAL_NAMES.search(text), (flag, text)
    for part in ("roles", "urgencies", "levels", "outputs", "trainings"):
        for name, said in words[part].items():
            assert not FIGURE.search(said["client"]), (part, name)
    for rule in screen_rules():
        assert rule.client_because, rule.id
        assert not FIGURE.search(rule.client_because), rule.id
        assert "{" not in rule.client_because, rule.id


def test_no_banned_and_no_shaming_words() -> None:
    kb = knowledge()
    spoken = [*texts(flag_words(kb))]
    spoken += [
        text for rule in screen_rules() for text in (rule.because, rule.client_because or "")
    ]
    for question in kb.questions:
        if question.fact.startswith("screen."):
            spoken += [question.coach, question.self, question.why, question.help or ""]
            spoken += [question.closing or "", *question.labels.values()]
            spoken += [question.help_self or "", question.closing_self or ""]
    for text in spoken:
        assert not BANNED.search(text), text
        assert not SHAMING.search(text), text


@pytest.mark.parametrize("part", ["coach", "client"])
def test_training_that_may_go_on_is_said_for_every_flag(part: str) -> None:
    words = flag_words(knowledge())
    for flag, entry in words["flags"].items():
        assert len(words["trainings"][entry["training"]][part]) > 20, flag


def test_where_exercise_waits_the_words_say_so_and_where_it_goes_on_too() -> None:
    shelf = flag_words(knowledge())
    words, trainings = shelf["flags"], shelf["trainings"]
    for flag, entry in EXAMPLES["flags"].items():
        waits = {"EVERYTHING", "ALL_EXERCISE"} & set(entry["withheld"])
        extent = trainings[words[flag]["training"]]["extent"]
        assert (extent == "none") == bool(waits), flag


def test_the_same_support_is_offered_to_everyone_after_the_last_question() -> None:
    questions = [q for q in knowledge().questions if q.fact.startswith("screen.")]
    assert questions[-1].fact == "screen.self_harm_thoughts"
    closing = questions[-1].closing
    assert closing is not None
    assert "emergency number" in closing
    assert "crisis line" in closing
    assert not FIGURE.search(closing), "no phone number: it would be wrong in most countries"
    assert [q.fact for q in questions if q.closing] == ["screen.self_harm_thoughts"]


def test_every_safety_question_is_asked_explained_and_may_be_skipped() -> None:
    kb = knowledge()
    asked = {question.fact: question for question in kb.questions}
    for name, fact in kb.facts.items():
        if name.startswith("screen.") and fact.origin == "answer":
            question = asked[name]
            assert question.may_decline, name
            assert question.suggestion is None, name
            assert len(question.why) > 10, name
            assert question.coach.strip(), name
            assert question.self.strip(), name
            if fact.choices:
                assert set(question.labels) - {"none"} == set(fact.choices), name


def test_nothing_in_the_screen_reads_a_personal_fact_or_takes_a_default() -> None:
    kb = knowledge()
    for name, fact in kb.facts.items():
        if name.startswith("screen."):
            assert fact.default is None, name
            assert not fact.personal, name


def test_only_one_question_reads_the_crisis_answer() -> None:
    """The answer serves its own flag and no other rule."""
    readers = {
        rule.id
        for rule in knowledge().rules.values()
        if "screen.self_harm_thoughts" in rule.model_dump_json(exclude={"tests"})
    }
    assert readers == {"SCR-SELF-HARM"}


def test_a_coach_may_only_set_a_line_to_the_careful_side() -> None:
    """Of every line of the screen one end of the allowed range is the line itself."""
    for name, parameter in knowledge().parameters.items():
        if name.startswith("screen."):
            assert parameter.values[-1].value in parameter.range, name


def test_every_flag_rule_cites_a_source_and_grades_it() -> None:
    kb = knowledge()
    for rule in screen_rules():
        assert rule.source, rule.id
        assert rule.grade.note, rule.id
        assert not rule.unless, f"{rule.id}: silence must never lift a flag"
    concluded = {
        str(conclusion.item)
        for rule in screen_rules()
        for conclusion in rule.then
        if conclusion.fact == "screen.flags"
    }
    assert concluded == set(kb.book.domains["flag"])
