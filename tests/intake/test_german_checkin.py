"""The check-in of a client at home, in German: asked in German, and German lines read as English ones are."""

import datetime as dt
import functools
from dataclasses import replace

import pytest
from intake_walks import walk
from own_sentences import own_sentences

from assistant.clients.book import knowledge
from assistant.intake import dialogue as d
from assistant.intake.checkin.book import checkin_book
from assistant.intake.checkin.form import Checkin, Known, checkin_of
from assistant.intake.form import Slot
from assistant.intake.parse import answer_in_words
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.knowledge.translator import FOREIGN_START
from assistant.model.entries import Entry
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.language import localised

METRIC = UnitSystem.METRIC
SUNDAY = dt.date(2026, 1, 18)
FLAGS = ("sudden_gain",)
WEIGHT = Entry("weight_kg", dt.date(2026, 1, 11), 63.4)


@functools.cache
def books() -> tuple[KnowledgeBase, KnowledgeBase]:
    """The rule book in English and in German."""
    kb = knowledge(None, None)
    return kb, localised(kb, kb.languages["de"])


@functools.cache
def checkins() -> tuple[Checkin, Checkin]:
    """The same check-in in English and in German: everything asked, a session planned on Thursday."""
    english, spoken = (_checkin(kb) for kb in books())
    return english, spoken


def _checkin(kb: KnowledgeBase) -> Checkin:
    known = Known(
        stands={WEIGHT.spot: WEIGHT},
        answers={"client.sex_for_equations": "female"},
        withheld=(),
        training_days=("thu",),
        since=dt.date(2026, 1, 12),
        due=("screen.low_mood_two_weeks",),
        flags=FLAGS,
        open_referrals={role: kb.screen_words.roles[role] for role in ("physician", "dietitian")},
    )
    return checkin_of(kb, checkin_book(kb, SUNDAY), SUNDAY, known)


def at(checkin: Checkin, question: str) -> d.Dialogue:
    form = checkin.form
    return replace(d.start(form, "self"), position=form.index_of(f"checkin.{question}"))


def test_everything_that_is_asked_is_german() -> None:
    english, spoken = checkins()
    assert [slot.fact for slot in spoken.form.slots] == [slot.fact for slot in english.form.slots]
    for slot in spoken.form.slots:
        shown = [slot.text("self"), slot.help("self"), slot.question.why, slot.declaration.label]
        shown += [label for label, _ in slot.options] + [slot.lines.how if slot.lines else ""]
        assert not any(FOREIGN_START in text for text in shown), slot.fact
    asked = {slot.fact: slot.text("self") for slot in spoken.form.slots}
    assert asked["checkin.referral_physician"] == "Warst du bei einer Ärztin oder einem Arzt?"
    assert "Donnerstag 2026-01-15" in at(spoken, "sessions").slot.help("self")


LINES = [
    ("pain", "Knie 3, Schulter 2", "knee 3, shoulder 2"),
    ("pain", "Rücken 4", "low back 4"),
    ("pain", "keine", "none"),
    ("weights", "63,4", "63.4"),
    ("weights", "Mo 63,2, Mi 63,6", "mon 63.2, wed 63.6"),
    ("weights", "gestern 63,2", "yesterday 63.2"),
    ("girths", "Taille 72, Hüfte 99", "waist 72, hip 99"),
    ("girths", "Oberarm 31,5", "upper arm 31.5"),
    ("eating", "Mo 2150/110, Di 2300", "mon 2150/110, tue 2300"),
    ("sleep", "7,5", "7.5"),
    ("sleep", "7 Stunden 30", "7 h 30"),
    ("cycle", "Mi", "wed"),
    ("cycle", "keine", "none"),
    ("sessions", "alle", "all"),
    ("sessions", "keine", "none"),
    ("sessions", "Do", "thu"),
    ("top_sets", "Kniebeuge 80 x 10,10,9 @2; Di Bankdrücken 50 x 10 + 45 x 12",
     "squat 80 x 10,10,9 @2; tue bench press 50 x 10 + 45 x 12"),
    ("top_sets", "Beinpresse 120,5 x 8", "leg press 120.5 x 8"),
    ("soreness", "ein wenig", "a little"),
    ("mood", "sehr gut", "very good"),
    ("referral_physician", "noch nicht", "not yet"),
    ("swelling", "nein", "no"),
]  # fmt: skip


@pytest.mark.parametrize(("question", "german", "english"), LINES)
def test_a_german_line_is_read_as_the_english_one(question: str, german: str, english: str) -> None:
    kept = []
    for checkin, typed in zip(checkins(), (english, german), strict=True):
        step = act(at(checkin, question), typed)
        assert step.events, step.notice
        fact = f"checkin.{question}"
        kept.append((step.events, checkin.entries(fact, step.dialogue.answers[fact])))
    assert kept[0] == kept[1]
    shown = answer_in_words(step.dialogue.answers[fact], at(checkin, question).slot, METRIC)
    again = act(at(checkin, question), shown)
    assert again.events == step.events, shown


def test_a_line_is_shown_again_in_german() -> None:
    for question, typed, shown in (
        ("girths", "Oberarm 31,5", "2026-01-18 Oberarm 31,5 cm"),
        ("pain", "Rücken 4", "unterer Rücken 4"),
        ("pain", "nichts", "keine"),
        (
            "top_sets",
            "Bankdrücken 50,5 x 10,8 @2",
            "2026-01-18 Bankdrücken mit Langhantel 50,5 kg x 10,8 @2",
        ),
    ):
        dialogue = at(checkins()[1], question)
        value = act(dialogue, typed).dialogue.answers[f"checkin.{question}"]
        assert answer_in_words(value, dialogue.slot, METRIC) == shown


@pytest.mark.parametrize(
    ("question", "typed", "told"),
    [
        ("weights", "630", "Körpergewicht: „630“ ist nicht möglich; erlaubt: 30 bis 250 kg."),
        ("weights", "2026-01-11 64", "Aufgeschrieben ist schon: das Körpergewicht 63,4 kg am"),
        ("weights", "2027-01-01 63", "liegt nach heute"),
        ("pain", "Knei 3", "„Knei“ ist hier nicht bekannt (Gelenk); meintest du „knie“?"),
        ("girths", "Zeh 20", "erlaubt: Taille, Hüfte, Schultern"),
        ("cycle", "bald", "ist kein Tag; schreib ihn wie Mi"),
        ("top_sets", "Bankdrucken 50 x 10", "steht nicht im Buch; meintest du"),
        ("top_sets", "Kniebeuge viel", "schreib es wie Kniebeuge 80 x 8 @2"),
        ("mood", "mies", "steht nicht in der Liste"),
    ],
)
def test_what_is_said_to_a_line_is_german(question: str, typed: str, told: str) -> None:
    step = act(at(checkins()[1], question), typed)
    assert told in step.notice
    assert FOREIGN_START not in step.notice


def test_a_whole_checkin_left_open_is_the_same_in_both() -> None:
    def skipped(_: Slot) -> str:
        return "weiß nicht"

    def left(_: Slot) -> str:
        return "skip"

    english, spoken = checkins()
    assert (
        walk(spoken.form, "self", skipped)[-1].settled
        == walk(english.form, "self", left)[-1].settled
    )


def test_the_dialogue_says_nothing_by_itself_that_german_lacks() -> None:
    kb = books()[0]
    said = {" ".join(english.split()) for english in kb.languages["de"].said()}
    own = list(own_sentences(kb))
    assert len(own) > 100
    assert [f"{where}: {text}" for where, text in own if text not in said] == []
