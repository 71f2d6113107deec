"""The questions of the shipped rule book: every one reached, explained, left and resumed at."""

import datetime as dt
import io
import re
from pathlib import Path

import pytest
from intake_walks import WALKS, quiet_answer, skipped, walk
from own_sentences import own_sentences
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output.plain_text import PlainTextOutput
from self_voice import said_to_one_alone

from assistant.casefiles import check_answers, read_case
from assistant.clients.book import knowledge
from assistant.intake import dialogue as d
from assistant.intake.case_file import case_text
from assistant.intake.dialogue import Ending
from assistant.intake.events import Confirmed, to_keep
from assistant.intake.form import Audience, Form, form_of
from assistant.intake.layout import question_lines
from assistant.intake.parse import answer_in_words, parse_answer
from assistant.intake.quantities import UnitSystem
from assistant.intake.screen import Screen
from assistant.intake.typed import act
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status
from assistant.quality.spoken import spoken_to_clients

AS_OF = dt.date(2026, 1, 12)
AUDIENCES: tuple[Audience, ...] = ("coach", "self")


@pytest.fixture(scope="module")
def book() -> KnowledgeBase:
    return knowledge(None, None)


@pytest.fixture(scope="module")
def form(book: KnowledgeBase) -> Form:
    return form_of(book, AS_OF)


@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("kind", WALKS)
def test_every_question_that_applies_is_reached_and_can_be_resumed_at(
    form: Form, audience: Audience, kind: str
) -> None:
    *asked, last = walk(form, audience, WALKS[kind])
    assert [state.position for state in asked] == list(last.applicable)
    assert d.finish(last).ending is Ending.FINISHED
    resumed = d.start(form, audience)
    for before, state in zip([None, *asked], [*asked, last], strict=True):
        if before is not None:
            # What a draft keeps: a session-only answer is not, so its question comes back.
            given = Confirmed(before.slot.fact, state.answers[before.slot.fact])
            resumed = d.replay(resumed, [to_keep(given)])
        # Nobody lands on it, though: it is asked again before the end.
        waiting = [form.index_of(fact) for fact in SESSION_ONLY_FACTS]
        opened = [index for index in state.open_questions if index not in waiting]
        assert resumed.position == (opened[0] if opened else len(form.slots))
    assert resumed.in_review
    again = d.finish(resumed)
    assert again.ending is None
    assert again.dialogue.slot.fact in SESSION_ONLY_FACTS


@pytest.mark.parametrize("audience", AUDIENCES)
def test_each_safety_question_is_reached_by_answers_and_says_why(
    book: KnowledgeBase, form: Form, audience: Audience
) -> None:
    must_be_asked = {
        fact.id for fact in book.facts.values() if fact.origin == "answer" and fact.tier is not None
    }
    questions = {slot.fact for slot in form.slots}
    not_asked_of_a_person = {"screen.eating_answer_withdrawn", "screen.energy_availability"}
    assert must_be_asked - questions <= not_asked_of_a_person
    reached: set[str] = set()
    for text_for in WALKS.values():
        for state in walk(form, audience, text_for)[:-1]:
            reached.add(state.slot.fact)
            assert state.slot.text(audience).strip()
            told = act(state, "why")
            assert state.slot.question.why in told.notice
            assert len(state.slot.question.why) > 10
            assert told.dialogue == state
            if state.slot.declaration.tier is not None:
                assert state.slot.question.may_decline
                assert act(state, "prefer not to say").dialogue.answers[state.slot.fact] is (
                    Status.DECLINED
                )
    assert questions == reached


def test_every_option_can_be_typed_as_shown(book: KnowledgeBase, form: Form) -> None:
    for slot in form.slots:
        labels = [label.lower() for label, _ in slot.options]
        assert len(set(labels)) == len(labels), slot.fact
        for number, (label, value) in enumerate(slot.options, start=1):
            expected = (value,) if slot.declaration.type is FactType.CHOICES else value
            for typed in (str(number), label):
                assert parse_answer(typed, slot, UnitSystem.METRIC) == expected, (slot.fact, typed)
            raw = list(expected) if isinstance(expected, tuple) else expected
            if not slot.leads_to:
                assert check_answers({slot.fact: raw}, book)[1] == []
            words = answer_in_words(expected, slot, UnitSystem.METRIC)
            assert parse_answer(words, slot, UnitSystem.METRIC) == expected


def test_suggestions_are_for_harmless_facts_and_acceptable(form: Form) -> None:
    for slot in form.slots:
        if slot.suggestion is not None:
            assert slot.declaration.tier is None
            words = answer_in_words(slot.suggestion, slot, UnitSystem.METRIC)
            assert parse_answer(words, slot, UnitSystem.METRIC) == slot.suggestion


def test_the_crisis_question_is_the_last_of_the_screen_with_a_text_for_everyone(form: Form) -> None:
    screen = [slot for slot in form.slots if slot.fact.startswith("screen.")]
    assert screen[-1].fact in SESSION_ONLY_FACTS
    assert screen[-1].question.closing


@pytest.mark.parametrize("audience", AUDIENCES)
def test_every_question_fits_a_small_terminal(form: Form, audience: Audience) -> None:
    for state in walk(form, audience, skipped)[:-1]:
        lines = question_lines(state, 79)
        assert max(map(len, lines)) <= 79
        # 24 rows hold the question, the line for typing and two lines of hints.
        assert len(lines) <= 21, state.slot.fact


def test_a_whole_intake_through_the_screen_makes_a_case(
    book: KnowledgeBase, form: Form, tmp_path: Path
) -> None:
    keys = ""
    for state in walk(form, "coach", quiet_answer)[:-1]:
        keys += quiet_answer(state.slot) + "\r"
        keys += "\r" if state.slot.question.closing else ""
    with create_pipe_input() as pipe:
        pipe.send_text(keys + "finish\r")
        screen = Screen(lambda _: None, pipe, PlainTextOutput(io.StringIO()))
        last, ending = screen.run(d.start(form, "coach"))
    assert ending is Ending.FINISHED
    path = tmp_path / "case.yaml"
    path.write_text(case_text("Invented Person", AS_OF, last.settled), encoding="utf-8")
    case = read_case(path, book)
    assert case.answers == {
        fact: value for fact, value in last.settled.items() if fact not in SESSION_ONLY_FACTS
    }


# Said only where a coach decided something, so never to somebody alone.
ONLY_AFTER_A_COACH = {
    "Your coach set this for you.",
    "Your coach has talked this over with you; a remark stays.",
}


def test_a_person_alone_reads_of_no_client_and_no_coach(book: KnowledgeBase) -> None:
    """In the questions, in what the dialogue says by itself, and in the plan that it ends with."""
    named = re.compile(r"\b(clients?|coach(es)?|trainers?)\b", re.IGNORECASE)
    plan = [
        (f"{said.kind} {said.item}", said.text)
        for said in spoken_to_clients(book)
        if said.kind != "language" and said.item != "calendar" and said.language == "en"
    ]
    shown = [*said_to_one_alone(book), *own_sentences(book), *plan]
    assert len(plan) > 1000
    wrong = [
        f"{where}: {text}"
        for where, text in shown
        if named.search(re.sub(r"\{[^{}]*\}", "", text)) and text not in ONLY_AFTER_A_COACH
    ]
    assert wrong == []
