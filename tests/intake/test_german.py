"""The questions for a person who answers alone, in German: nothing lost, nothing read otherwise.

The translations themselves are ours and were read by no second person.
"""

import datetime as dt
import functools
import re
from dataclasses import replace

import pytest
from intake_walks import WALKS, walk
from self_voice import said_to_one_alone

from assistant.clients.book import knowledge
from assistant.intake import dialogue as d
from assistant.intake.form import Form, form_of
from assistant.intake.parse import answer_in_words, parse_answer
from assistant.intake.quantities import UnitSystem, plain_name
from assistant.intake.typed import act
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value
from assistant.plan.language import FOREIGN_START, localised

AS_OF = dt.date(2026, 1, 12)
CRISIS = next(iter(SESSION_ONLY_FACTS))


@functools.cache
def book() -> KnowledgeBase:
    return knowledge(None, None)


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
    words = {"self", "why", "help", "help_self", "closing", "closing_self", "labels", "label_self"}
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


def test_the_crisis_page_for_one_alone_speaks_of_nobody_else_and_names_no_number() -> None:
    slot = forms()[1].slots[forms()[1].index_of(CRISIS)]
    crisis = slot.crisis["self"]
    said = " ".join((*crisis.page, slot.closing("self"), slot.help("self"), slot.text("self")))
    assert not re.search(r"\b(du|dein\w*|dir|dich|wir|uns|ihr|Sie)\b", said)
    assert not re.search(r"\d", said)
    assert "örtliche Notrufnummer" in said
    assert "Krisentelefon in meinem Land" in said


def at(fact: str) -> d.Dialogue:
    spoken = forms()[1]
    return replace(d.start(spoken, "self"), position=spoken.index_of(fact))


@pytest.mark.parametrize(
    ("fact", "typed", "told"),
    [
        ("client.height_cm", " ", "Noch ist nichts eingegeben. Gib eine Antwort"),
        (
            "client.height_cm",
            "hoch",
            "„hoch“ ist nicht verständlich; gib es ein wie 165 cm, 1,65 m",
        ),
        (
            "client.height_cm",
            "20",
            "20 cm liegt nicht im Bereich 120 bis 220 cm; prüf es noch einmal",
        ),
        ("client.sleep_hours", "23,5", "23,5 h liegt nicht im Bereich 0"),
        ("client.age_years", "drei", "„drei“ ist keine Zahl"),
        ("client.goal", "Muskel aufbauen", "meintest du „muskeln aufbauen“?"),
        ("client.goal", "qqq", "„qqq“ steht nicht in der Liste; gib eine Nummer von 1 bis 3 ein"),
        ("client.goal", "9", "eine Nummer 9 gibt es nicht"),
        ("client.target_date", "bald", "„bald“ ist kein Datum"),
        ("client.target_date", "2025-01-01", "2025-01-01 liegt nicht nach 2026-01-12: Stimmt das"),
        ("client.progress_stalled", "vielleicht", "antworte mit ja, nein oder nicht sicher"),
        ("client.goal", "warum", "Warum wir fragen: es entscheidet"),
        ("client.goal", "lieber nicht", "Du darfst diese Frage offen lassen."),
        ("client.age_years", "zurück", "Das ist die erste Frage."),
        ("client.height_cm", "einheiten", "Die Einheiten sind jetzt angloamerikanisch."),
    ],
)
def test_what_is_said_to_a_line_is_german(fact: str, typed: str, told: str) -> None:
    step = act(at(fact), typed)
    assert told in step.notice
    assert FOREIGN_START not in step.notice


def test_swapped_answers_are_asked_about_in_german() -> None:
    tall = act(at("client.height_cm"), "165").dialogue
    doubted = act(replace(tall, position=forms()[1].index_of("client.weight_kg")), "165,5 kg")
    assert doubted.notice.startswith("Gewicht 165,5 kg und Größe 165 cm: Sind die beiden vertausch")
    assert doubted.notice.endswith("Wenn es stimmt, gib dasselbe noch einmal ein; sonst ändere es.")
    assert act(doubted.dialogue, "165,5 kg").dialogue.answers["client.weight_kg"] == 165.5


@pytest.mark.parametrize(
    ("fact", "typed", "value"),
    [
        ("client.weight_kg", "63,5", 63.5),
        ("client.weight_kg", "63.5 kg", 63.5),
        ("client.height_cm", "1,65 m", 165.0),
        ("client.sleep_hours", "7 Stunden 30 Minuten", 7.5),
        ("client.minutes_per_session", "1 Stunde 15", 75.0),
        ("client.goal_weight_kg", "keins", Status.NONE),
        ("client.goal_weight_kg", "keine", Status.NONE),
        ("client.sore_joints", "keine", ()),
        ("client.sore_joints", "Knie, unterer Rücken", ("knee", "low_back")),
        ("client.available_days", "Montag, Mittwoch", ("mon", "wed")),
        ("screen.ill_today", "Nein", False),
        ("screen.purging_or_misuse", "ja", ("unspecified",)),
        ("screen.measuring_feels", "Lieber nicht", "rather_not"),
        ("screen.pregnant", "weiß nicht", Status.UNKNOWN),
        ("screen.pregnant", "lieber nicht", Status.DECLINED),
        ("screen.months_without_period", "trifft nicht zu", Status.NOT_APPLICABLE),
    ],
)
def test_what_people_type_in_german_is_read(fact: str, typed: str, value: Value) -> None:
    assert act(at(fact), typed).dialogue.answers[fact] == value


def test_answers_are_shown_as_german_writes_them_and_read_back() -> None:
    slot = at("client.weight_kg").slot
    shown = answer_in_words(63.5, slot, UnitSystem.METRIC)
    assert shown == "63,5 kg"
    assert parse_answer(shown, slot, UnitSystem.METRIC) == 63.5
    slot = at("client.protein_g_per_day").slot
    for grams in (100.5, 100.25, 100.125):  # `100,125` would be two numbers at once
        assert (
            parse_answer(answer_in_words(grams, slot, UnitSystem.METRIC), slot, UnitSystem.METRIC)
            == grams
        )
    assert (
        answer_in_words(Status.UNKNOWN, slot, UnitSystem.METRIC)
        == "nicht sicher, oder offen gelassen"
    )
    asked = act(at("screen.ill_today"), "ja").dialogue
    slot = at("screen.ill_today").slot
    assert answer_in_words(asked.answers[slot.fact], slot, UnitSystem.METRIC) == "ja"


def test_every_word_that_is_typed_is_a_word_the_dialogue_reads() -> None:
    checkin = book().checkin
    read = {"yes", "no", "none", "never", "does not apply", "all", "today", "yesterday"}
    read |= {
        "skip",
        "back",
        "why",
        "prefer not to say",
        "clear",
        "units",
        "review",
        "save",
        "finish",
    }
    read |= set(book().book.domains["weekday"]) | set(checkin.lift_names)
    for _, words in checkin.measures:
        for place, detail in words.details.items():
            read |= {place.replace("_", " "), *detail.columns}
    for word, meant in language().typed.items():
        assert word == plain_name(word), word
        assert meant in read, word
