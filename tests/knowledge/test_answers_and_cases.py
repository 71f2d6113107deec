"""Answers and case files: every wrong value is named with its field, what is allowed, and a hint."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.casefiles import check_answers, read_case
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status

GOOD = {
    "client.age_years": (31, 31.0),
    "client.weight_kg": (63.5, 63.5),
    "client.goal": ("gain", "gain"),
    "client.priority_muscles": (["quads", "chest"], ("chest", "quads")),
    "client.target_date": ("2026-05-01", "2026-05-01"),
    "client.sleeps_well": (False, False),
    "client.note": ("likes mornings", "likes mornings"),
    "client.soreness[quads]": (2, 2.0),
    "screen.chest_pain": ("declined", Status.DECLINED),
    "screen.dizzy": ("unknown", Status.UNKNOWN),
    "client.goal_weight_kg": ("none", Status.NONE),
    "client.days": ("not_applicable", Status.NOT_APPLICABLE),
}


@pytest.mark.parametrize("field", GOOD)
def test_a_good_answer_gets_its_one_form(field: str, small: KnowledgeBase) -> None:
    raw, value = GOOD[field]
    answers, problems = check_answers({field: raw}, small)
    assert problems == []
    assert answers == {field: value}
    assert type(answers[field]) is type(value)


def test_one_choice_may_stand_for_a_list_of_one(small: KnowledgeBase) -> None:
    answers, problems = check_answers({"client.priority_muscles": "lats"}, small)
    assert (answers, problems) == ({"client.priority_muscles": ("lats",)}, [])


def test_an_empty_list_is_an_answer(small: KnowledgeBase) -> None:
    assert check_answers({"client.priority_muscles": []}, small)[0] == {
        "client.priority_muscles": ()
    }


BAD: dict[str, tuple[str, Any, str, str]] = {
    "unknown field": ("client.wieght_kg", 60, "unknown-fact", "did you mean `client.weight_kg`"),
    "unknown family": ("colour", "red", "unknown-fact", "rules/facts"),
    "worked out": ("body.bmi", 22, "not-an-answer", "worked out"),
    "day of the run": ("context.as_of", "2026-01-12", "not-an-answer", "remove it"),
    "number in quotes": ("client.weight_kg", "63.5", "bad-type", "remove the quotes"),
    "number with unit": ("client.weight_kg", "140 lb", "bad-type", "only the number in kg"),
    "decimal comma": ("client.weight_kg", "63,5", "bad-type", "remove the quotes"),
    "words for a number": ("client.weight_kg", "heavy", "bad-type", "a number in kg"),
    "true for a number": ("client.weight_kg", True, "bad-type", "a number in kg"),
    "list for a number": ("client.weight_kg", [60], "bad-type", "a number in kg"),
    "nothing for a number": ("client.weight_kg", None, "bad-type", "write unknown"),
    "not a number": ("client.weight_kg", float("nan"), "bad-value", "a number"),
    "endless": ("client.weight_kg", float("inf"), "bad-value", "a number"),
    "too heavy": ("client.weight_kg", 400, "out-of-range", "30 to 250 in kg"),
    "part of a year": ("client.age_years", 31.5, "bad-value", "a whole number in a"),
    "too young": ("client.age_years", 9, "out-of-range", "14 to 100"),
    "number for yes": ("client.sleeps_well", 1, "bad-type", "true or false"),
    "word for yes": ("client.sleeps_well", "true", "bad-type", "(without quotes)"),
    "none for yes/no": ("client.sleeps_well", "none", "bad-value", "write unknown"),
    "none for a weight": ("client.weight_kg", "none", "bad-value", "cannot be `none`"),
    "unknown choice": ("client.goal", "gian", "unknown-choice", "did you mean `gain`"),
    "number for a choice": ("client.goal", 3, "bad-type", "gain, hold"),
    "list for a choice": ("client.goal", ["gain"], "bad-type", "gain, hold"),
    "unknown item": ("client.priority_muscles", ["lat"], "unknown-choice", "mean `lats`"),
    "item twice": ("client.priority_muscles", ["lats", "lats"], "repeated-item", "name it once"),
    "number in a list": ("client.priority_muscles", [1], "bad-type", "has the item `1`"),
    "status in a list": ("client.priority_muscles", ["unknown"], "bad-value", "write it alone"),
    "text for a list": ("client.priority_muscles", "lat", "bad-type", "a list out of lats"),
    "mapping for a list": ("client.priority_muscles", {"lats": 1}, "bad-type", "a list out of"),
    "day that is not": ("client.target_date", "2026-02-30", "bad-value", "does not exist"),
    "day the other way": ("client.target_date", "30.02.2026", "bad-type", "2026-01-31"),
    "number for a day": ("client.target_date", 2026, "bad-type", "a date such as"),
    "number for text": ("client.note", 5, "bad-type", "put quotes around"),
    "endless text": ("client.note", "x" * 501, "bad-value", "longer than 500"),
    "several lines": ("client.note", "a\nb", "bad-value", "one line"),
    "missing element": ("client.soreness", 3, "bad-key", "`client.soreness[<muscle>]`"),
    "strange element": ("client.soreness[quad]", 3, "bad-key", "did you mean `quads`"),
    "element too many": ("client.goal[lats]", "gain", "bad-key", "is written `client.goal`"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_answer_is_named_with_what_is_allowed(name: str, small: KnowledgeBase) -> None:
    field, raw, code, says = BAD[name]
    answers, problems = check_answers({field: raw, "client.days": 3}, small)
    assert answers == {"client.days": 3}
    [problem] = problems
    assert (problem.place, problem.code) == (f"answers.{field}", code)
    assert f"`{field}`" in problem.text
    assert says in problem.text
    assert "\n" not in str(problem)


def test_swapped_height_and_weight_are_noticed(small: KnowledgeBase) -> None:
    _, problems = check_answers({"client.height_cm": 63.5, "client.weight_kg": 168}, small)
    [problem] = problems
    assert problem.text.endswith("are height (63.5) and weight (168) swapped?")
    _, problems = check_answers({"client.height_cm": 63.5, "client.weight_kg": 60}, small)
    assert "swapped" not in problems[0].text
    _, problems = check_answers({"client.height_cm": 168, "client.weight_kg": 168}, small)
    assert problems == []


@given(st.dictionaries(
    st.sampled_from([*GOOD, "client.x", "body.bmi", "client.soreness"]),
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
    | st.sampled_from(["unknown", "none", "declined", "gain", "lats"])
    | st.lists(st.sampled_from(["lats", "quads", "unknown", 1, None]), max_size=3),
    max_size=5,
))  # fmt: skip
@settings(max_examples=200, deadline=None)
def test_every_field_is_either_an_answer_or_a_problem(
    small: KnowledgeBase, raw: dict[str, Any]
) -> None:
    answers, problems = check_answers(raw, small)
    named = {problem.place.removeprefix("answers.") for problem in problems}
    assert set(answers) | named == set(raw)
    assert not set(answers) & named
    assert check_answers(answers, small) == (answers, [])


CASE = """\
name: Nell Brayford
as_of: 2026-01-12
answers:
  client.age_years: 31
  client.target_date: 2026-05-01
  client.priority_muscles: [quads, lats]
expect: {dose.style: short}
expect_reasons: {dose.style: [STY-SHORT]}
"""


def test_a_case_is_read(tmp_path: Path, small: KnowledgeBase) -> None:
    path = tmp_path / "nell.yaml"
    path.write_text(CASE, encoding="utf-8")
    case = read_case(path, small)
    assert (case.name, case.as_of) == ("Nell Brayford", dt.date(2026, 1, 12))
    assert case.answers == {
        "client.age_years": 31,
        "client.priority_muscles": ("lats", "quads"),
        "client.target_date": "2026-05-01",
    }
    assert case.expect == {"dose.style": "short"}
    assert case.expect_reasons == {"dose.style": ("STY-SHORT",)}


@pytest.mark.parametrize(
    ("change", "line", "code", "says"),
    [
        (("client.age_years: 31", "client.age_year: 31"), 4, "unknown-fact", "client.age_years"),
        (("client.age_years: 31", "client.age_years: 310"), 4, "out-of-range", "14 to 100 in a"),
        (("client.age_years: 31", "client.age_years: yes"), 4, "ambiguous-value", "true or false"),
        (("client.age_years: 31", "client.age_years:"), 4, "empty-value", "give a value"),
        (("  client.age_years: 31", "  client.days: 2\n  client.days: 3"), 5, "repeated-field",
         "already on line 4"),
        (("2026-05-01", "2026-05-32"), 5, "bad-value", "does not exist"),
        (("name: Nell Brayford", "name: [Nell]"), 1, "bad-value", "one line of text"),
        (("name: Nell Brayford", "nmae: Nell"), 1, "unknown-field", "did you mean `name`"),
        (("as_of: 2026-01-12", "as_of: 2026-13-12"), 2, "bad-value", "a date such as 2026-01-31"),
        (("as_of: 2026-01-12", "as_of: tomorrow"), 2, "bad-value", "a date such as 2026-01-31"),
        (("as_of: 2026-01-12\n", ""), 1, "bad-value", "`as_of` is missing"),
        (("expect: {dose.style: short}", "expect: [1]"), 7, "bad-type", "a mapping"),
        (("[STY-SHORT]", "STY-SHORT"), 8, "bad-type", "a list of rule ids"),
        (("answers:\n", "answers: {}\nanswer:\n"), 4, "unknown-field", "mean `answers`"),
    ],
)  # fmt: skip
def test_a_case_that_can_not_be_says_where(
    change: tuple[str, str],
    line: int,
    code: str,
    says: str,
    tmp_path: Path,
    small: KnowledgeBase,
) -> None:
    assert CASE.count(change[0]) == 1
    path = tmp_path / "nell.yaml"
    path.write_text(CASE.replace(*change), encoding="utf-8")
    with pytest.raises(InputProblems) as caught:
        read_case(path, small)
    found = {(p.place, p.code): p.text for p in caught.value.problems}
    assert (f"{path}:{line}", code) in found, str(caught.value)
    assert says in found[f"{path}:{line}", code]


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda path: path.with_suffix(".other").touch(), "missing-file"),
        (lambda path: path.mkdir(), "not-a-file"),
        (lambda path: path.write_text("", encoding="utf-8"), "empty-file"),
        (lambda path: path.write_text("- 1\n", encoding="utf-8"), "bad-type"),
        (lambda path: path.write_bytes(b"\xff\xfe\x00"), "bad-encoding"),
    ],
)
def test_a_case_that_is_no_file_of_answers(
    make: Callable[[Path], object], code: str, tmp_path: Path, small: KnowledgeBase
) -> None:
    path = tmp_path / "nell.yaml"
    make(path)
    with pytest.raises(InputProblems) as caught:
        read_case(path, small)
    assert caught.value.problems[0].code == code


def test_a_case_may_be_json(tmp_path: Path, small: KnowledgeBase) -> None:
    path = tmp_path / "nell.json"
    path.write_text(
        '{"name": "Nell Brayford", "as_of": "2026-01-12", "answers": {"client.days": 4}}',
        encoding="utf-8",
    )
    assert read_case(path, small).answers == {"client.days": 4}
