"""The questions for a person who answers alone, in German: nothing lost, nothing read otherwise.

The translations themselves are ours and were read by no second person.
"""

import datetime as dt
import functools

import pytest
from intake_walks import WALKS, walk
from self_voice import said_to_one_alone

from assistant.intake.form import Form, form_of
from assistant.intake.parse import answer_in_words, parse_answer
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.knowledge import load_knowledge
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.plan.language import FOREIGN_START, localised

AS_OF = dt.date(2026, 1, 12)


@functools.cache
def book() -> KnowledgeBase:
    return load_knowledge()


def language() -> Language:
    return book().languages["de"]


@functools.cache
def german() -> KnowledgeBase:
    return localised(book(), language())


@functools.cache
def forms() -> tuple[Form, Form]:
    """The form in English and in German."""
    return form_of(book(), AS_OF), form_of(german(), AS_OF)


def test_every_sentence_for_one_alone_has_german() -> None:
    said = {" ".join(english.split()) for english in language().said()}
    missing = [
        f"{where}: {text}"
        for where, text in said_to_one_alone(book())
        if " ".join(text.split()) not in said
    ]
    assert missing == []


def test_nothing_on_a_question_is_marked_as_english() -> None:
    marked = [where for where, text in said_to_one_alone(german()) if FOREIGN_START in text]
    marked += [
        f"{slot.fact}: {label}"
        for slot in forms()[1].slots
        for label in (*(label for label, _ in slot.options), slot.label("none"), slot.unit)
        if FOREIGN_START in label
    ]
    assert marked == []


def test_a_sentence_without_german_stays_english_and_marked() -> None:
    question = book().questions[0]
    kept = tuple(text for text in language().texts if text.en != question.self)
    poorer = localised(book(), language().model_copy(update={"texts": kept}))
    assert FOREIGN_START in poorer.questions[0].self
    assert question.self in poorer.questions[0].self


def test_german_changes_words_and_neither_order_nor_answers() -> None:
    english, spoken = forms()
    words = {"self", "why", "help", "help_self", "closing", "closing_self", "labels"}
    for one, other in zip(english.slots, spoken.slots, strict=True):
        assert one.question.model_dump(exclude=words) == other.question.model_dump(exclude=words)
        assert [value for _, value in one.options] == [value for _, value in other.options]
        assert one.choices == other.choices
        assert one.suggestion == other.suggestion


def test_every_german_label_can_be_typed_as_shown() -> None:
    for plain in forms()[1].slots:
        slot = plain.asked_of("self")
        labels = [label.lower() for label, _ in slot.options]
        assert len(set(labels)) == len(labels), slot.fact
        for number, (label, value) in enumerate(slot.options, start=1):
            expected = (value,) if slot.declaration.type is FactType.CHOICES else value
            for typed in (str(number), label):
                assert parse_answer(typed, slot, UnitSystem.METRIC) == expected, (slot.fact, typed)
            words = answer_in_words(expected, slot, UnitSystem.METRIC)
            assert parse_answer(words, slot, UnitSystem.METRIC) == expected


@pytest.mark.parametrize("kind", WALKS)
def test_a_whole_german_dialogue_gives_the_same_answers(kind: str) -> None:
    english, spoken = forms()
    *asked, last = walk(english, "self", WALKS[kind])
    *fragt, letzter = walk(spoken, "self", WALKS[kind])
    assert [state.slot.fact for state in asked] == [state.slot.fact for state in fragt]
    assert letzter.settled == last.settled
    assert FOREIGN_START not in "".join(act(state, "why").notice for state in fragt)


def test_what_a_ticked_sign_and_the_crisis_page_say_is_german() -> None:
    texts = {" ".join(say.split()) for say in language().said().values()}
    for slot in forms()[1].slots:
        if slot.fact in SESSION_ONLY_FACTS:
            crisis = slot.crisis["self"]
            for text in (*crisis.page, crisis.safe, crisis.not_safe, slot.closing("self")):
                assert " ".join(text.split()) in texts, text
        for choice in slot.choices if slot.declaration.type is FactType.CHOICES else ():
            told = slot.told_at_once((choice,), "self")
            assert FOREIGN_START not in told
            assert all(part in texts for part in told.split("\n\n") if part), told
