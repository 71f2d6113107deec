"""What people type and what it must mean: the table `phrasings.txt`, and laws over all questions."""

from dataclasses import replace
from pathlib import Path

import pytest
from tick_lists import book, form

from assistant.intake import dialogue as d
from assistant.intake.parse import check
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.knowledge.checks.questions import check_questions
from assistant.knowledge.checks.typed_words import check_typed_words
from assistant.knowledge.draft import Draft
from assistant.knowledge.drafting import read_draft
from assistant.model.facts import FactType
from assistant.model.questions import TypedWords
from assistant.model.values import Status, Value
from assistant.web.asked import step_of

TABLE = Path(__file__).parent / "phrasings.txt"
ROWS = [
    tuple(part.strip() for part in line.split(" | "))
    for line in TABLE.read_text("utf-8").splitlines()
    if line and not line.startswith("#")
]


@pytest.fixture(scope="module")
def draft() -> Draft:
    made, _ = read_draft()
    assert made is not None
    return made


def said(fact: str, typed: str) -> Value | str:
    """Return what a typed line is taken for; `refused: …` with what is told."""
    at = form().index_of(fact)
    before = {"client.weight_kg": 80.0} if fact != "client.weight_kg" else {}
    step = act(replace(d.start(form(), "self"), position=at, answers=before), typed)
    if not step.events:
        return f"refused: {step.notice}"
    event = step.events[0]
    assert isinstance(event, d.Confirmed)
    return event.value


def in_words(value: Value) -> str:
    if isinstance(value, Status):
        return f"={value.value}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return f"[{', '.join(value)}]"
    return f"{round(value, 3):g}" if isinstance(value, float) else str(value)


@pytest.mark.parametrize("fact", sorted({row[0] for row in ROWS}))
def test_each_phrasing_means_what_the_table_says(fact: str) -> None:
    wrong = []
    for _, typed, meaning in (row for row in ROWS if row[0] == fact):
        found = said(fact, typed)
        got = found if isinstance(found, str) and found.startswith("refused") else in_words(found)
        if got != meaning:
            wrong.append((typed, got, meaning))
    assert wrong == []


def test_the_table_is_long_enough_and_has_each_phrasing_once() -> None:
    assert len(ROWS) >= 300
    assert all(len(row) == 3 for row in ROWS)
    assert len({row[:2] for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize("typed", ["no", "No.", "nope", "never", "none"])
def test_no_never_suggests_anything_and_opens_nothing(typed: str) -> None:
    for slot in form().slots:
        told = check(typed, slot, UnitSystem.METRIC)
        assert told is None or "did you mean" not in told, slot.fact


@pytest.mark.parametrize(
    ("typed", "status"),
    [("not sure", Status.UNKNOWN), ("I'm not sure", Status.UNKNOWN), ("don't know", Status.UNKNOWN),
     ("I don't know that", Status.UNKNOWN), ("no idea", Status.UNKNOWN),
     ("rather not say", Status.DECLINED), ("I'd rather not say", Status.DECLINED)],
)  # fmt: skip
def test_not_sure_and_rather_not_say_are_answers_to_every_question_that_allows_them(
    typed: str, status: Status
) -> None:
    for index, slot in enumerate(form().slots):
        if status is Status.DECLINED and not slot.question.may_decline:
            continue
        step = act(replace(d.start(form(), "self"), position=index), typed)
        assert [event.value for event in step.events if isinstance(event, d.Confirmed)] == [status], slot.fact  # fmt: skip


@pytest.mark.parametrize("fact", ["client.sore_joints", "client.priority_muscles"])
def test_back_goes_back_also_where_a_back_may_be_meant(fact: str) -> None:
    here = replace(d.start(form(), "self"), position=form().index_of(fact))
    step = act(here, "back")
    assert step.events == ()
    assert step.dialogue.position < here.position


def test_a_sentence_with_a_word_that_is_not_understood_is_never_half_read() -> None:
    """Whoever took insulin once, or has no chest pain, is asked again."""
    for slot in form().slots:
        if slot.declaration.type is FactType.CHOICES and slot.options and not slot.yes_item:
            label = slot.options[0][0]
            for around in ("no {}", "not {}", "used to have {}", "{} never", "{} or not"):
                assert check(around.format(label), slot, UnitSystem.METRIC) is not None, slot.fact


def test_other_words_may_not_lie_about_a_choice(draft: Draft) -> None:
    assert check_typed_words(draft) == []
    first = draft.typed_words[0]
    bad: list[tuple[dict[str, object], str]] = [
        ({"fact": "screen.nowhere"}, "unknown-fact"),
        ({"words": {"nobody": ("x",)}}, "unknown-choice"),
        ({"words": {"female": ("male",)}}, "bad-value"),
        ({"words": {"female": ("x",), "male": ("x",)}}, "repeated-item"),
        ({"source": ("nobody-2026",)}, "unknown-source"),
    ]
    for change, code in bad:
        changed: TypedWords = first.model_copy(update=change)
        found = check_typed_words(replace(draft, typed_words=(changed,)))
        assert [problem.code for problem in found] == [code], change


def test_each_medicine_of_the_table_is_read_and_its_source_named() -> None:
    (medicines,) = (each for each in book().typed_words if each.fact == "screen.medicines")
    assert medicines.source
    assert all(ref in book().sources for ref in medicines.source)
    for choice, names in medicines.words.items():
        for name in names:
            found = said("screen.medicines", name)
            assert isinstance(found, tuple), name
            assert choice in found


@pytest.mark.parametrize(
    ("change", "code"),
    [({"no_means": 400.0}, "out-of-range"), ({"no_means": "never"}, "bad-type"),
     ({"needs_one": True}, "bad-value")],
)  # fmt: skip
def test_a_plain_no_is_an_answer_that_the_question_allows(
    draft: Draft, change: dict[str, object], code: str
) -> None:
    fact = "screen.falls_last_year"
    questions = (
        each.model_copy(update=change) if each.fact == fact else each for each in draft.questions
    )
    found = check_questions(replace(draft, questions=tuple(questions)))
    assert [problem.code for problem in found] == [code]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("don't know my blood pressure", Status.UNKNOWN), ("rather not say", Status.DECLINED),
     ("one hundred and twenty", 120.0), ("save", None), ("back", None)],
)  # fmt: skip
def test_a_field_in_a_browser_reads_answers_and_no_commands(typed: str, kept: Value | None) -> None:
    here = replace(d.start(form(), "self"), position=form().index_of("screen.bp_systolic"))
    step = step_of(here, {"answer": [typed]})
    values = [event.value for event in step.events if isinstance(event, d.Confirmed)]
    assert values == ([] if kept is None else [kept])
    assert step.ending is None
    assert kept is not None or step.dialogue.position == here.position
