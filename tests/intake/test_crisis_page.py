"""After a yes to the question about self-harm: what is said, in which voice, and what a draft does later.

The shipped rules through the real screen. The elements asked for stand in the screening facts (section
5) and follow published first-response advice: thanks, present safety, emergency help, a doctor today,
someone trusted, and what to do when harm has been done already.
"""

import datetime as dt
import functools
import io
import re

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output.plain_text import PlainTextOutput

from assistant.clients.book import knowledge
from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Ending
from assistant.intake.events import Confirmed, Event, to_keep
from assistant.intake.form import Audience, Form, form_of
from assistant.intake.layout import review_lines
from assistant.intake.screen import Screen
from assistant.knowledge.first_steps import Voice, crisis_page
from assistant.model.knowledge import KnowledgeBase

CRISIS = "screen.self_harm_thoughts"
IN_ORDER = {
    "coach": ("Thank them", "safe right now", "If yes", "If no, or not sure", "already harmed",
              "doctor today", "whom they trust"),
    "client": ("Thank you", "safe right now", "If yes", "If no, or if you are not sure",
               "already harmed", "doctor can see you today", "someone you trust"),
    "self": ("Thank you", "Am I safe right now", "If yes", "If no, or if I am not sure",
             "already harmed", "doctor can see me today", "someone I trust"),
}  # fmt: skip
# Words that would name a way, a number to call or a service by name.
NAMED = re.compile(
    r"\d|\b(pills?|tablets?|overdose|poison|cut|kni(fe|ves)|blade|rope|hang|jump|bridge|train|gun|weapon"
    r"|drugs?|means|took(?! over)|taken|samaritans?|lifeline|telefonseelsorge|www)\b",
    re.IGNORECASE,
)
# In the first person nobody else is spoken of as the one in danger, and nobody else is spoken to.
NOT_ALONE_VOICE = re.compile(
    r"\b(you|your|yours|he|she|client|whoever|coach|we|us)\b", re.IGNORECASE
)


@functools.cache
def book() -> KnowledgeBase:
    return knowledge(None, None)


@functools.cache
def form() -> Form:
    return form_of(book(), dt.date(2026, 1, 12))


@functools.cache
def at_question(fact: str, audience: Audience) -> Dialogue:
    dialogue = d.start(form(), audience)
    while dialogue.slot.fact != fact:
        dialogue = d.skip(dialogue).dialogue
    return dialogue


def at_crisis_question(audience: Audience) -> Dialogue:
    return at_question(CRISIS, audience)


def pressed(dialogue: Dialogue, keys: str) -> tuple[Dialogue, Ending, str, list[Event]]:
    shown, kept = io.StringIO(), list[Event]()
    with create_pipe_input() as pipe:
        pipe.send_text(keys)
        last, ending = Screen(kept.append, pipe, PlainTextOutput(shown)).run(dialogue)
    return last, ending, " ".join(shown.getvalue().split()), kept


@pytest.mark.parametrize("voice", IN_ORDER)
def test_the_page_says_all_of_it_thanks_first_and_names_nothing(voice: Voice) -> None:
    text = " ".join(crisis_page(book(), voice))
    places = [text.find(words) for words in IN_ORDER[voice]]
    assert -1 not in places, dict(zip(IN_ORDER[voice], places, strict=True))
    assert places == sorted(places)
    assert places[0] == 0
    for words in ("emergency department", "emergency number", "crisis line"):
        assert words in text
    assert not NAMED.search(text), NAMED.search(text)


def test_a_person_alone_reads_every_word_in_the_first_person() -> None:
    question = form().slots[form().index_of(CRISIS)]
    spoken = [*crisis_page(book(), "self"), question.help("self"), question.closing("self")]
    spoken.append(question.text("self"))
    thanked = "Thank you for saying this here. "
    assert spoken[0].startswith(thanked)
    for text in spoken:
        assert not NOT_ALONE_VOICE.search(text.removeprefix(thanked)), text


@pytest.mark.parametrize(
    ("audience", "voice"), [("coach", "coach"), ("self", "self")]
)  # fmt: skip
def test_after_a_yes_the_whole_page_stands_and_stays(audience: Audience, voice: Voice) -> None:
    last, ending, shown, kept = pressed(at_crisis_question(audience), "yes\r\r")
    assert ending is Ending.ASIDE
    assert last.aside
    for part in crisis_page(book(), voice):
        assert " ".join(part.split()) in shown
    closing = form().slots[form().index_of(CRISIS)].closing(audience)
    assert " ".join(closing.split()) not in shown, "the page stands alone"
    assert [to_keep(event) for event in kept] != kept, "the answer is not among what is kept"


@pytest.mark.parametrize(
    ("typed", "step"),
    [("yes", "safe_yes"), ("no", "safe_no"), ("not sure", "safe_no"), ("I don't know.", "safe_no"),
     ("help", "safe_no")],
)  # fmt: skip
def test_what_is_typed_on_the_page_is_answered_and_nothing_closes(typed: str, step: str) -> None:
    steps = book().flags["self_harm_thoughts"].first_steps
    said = " ".join(next(each for each in steps if each.id == step).to("self").split())
    _, ending, shown, kept = pressed(at_crisis_question("self"), f"yes\r{typed}\r\r")
    assert ending is Ending.ASIDE
    assert shown.count(said) == 2  # once on the page, once as the answer
    assert [event.fact for event in kept if isinstance(event, Confirmed)] == [CRISIS]


def test_a_person_who_is_safe_may_go_back_and_no_case_comes_of_it() -> None:
    last, ending, _, _ = pressed(at_crisis_question("self"), "yes\rI am safe\rsave\r")
    assert last.in_review or last.slot.fact != CRISIS
    assert ending is Ending.ASIDE


@pytest.mark.parametrize("audience", ["coach", "self"])
@pytest.mark.parametrize("said", [True, False])
def test_a_resumed_draft_never_lands_on_the_question_nor_shows_the_answer(
    audience: Audience, *, said: bool
) -> None:
    before = at_crisis_question(audience)
    events = [Confirmed(fact, value) for fact, value in before.answers.items()]
    for kept in (events, [*events, to_keep(Confirmed(CRISIS, said))]):
        resumed = d.replay(d.start(form(), audience), kept)
        assert resumed.in_review or resumed.slot.fact != CRISIS
        label = book().facts[CRISIS].label
        (line,) = [line for line in review_lines(resumed, 200) if f" {label}: " in line]
        assert line.endswith(f"{label}: not answered yet")


def test_a_sign_that_cannot_wait_is_answered_at_once_and_not_at_the_end() -> None:
    dialogue = at_question("screen.symptom_now", "self")
    step = d.answer(dialogue, "Slurred speech, Hives all over")
    flag = book().flags["symptom_now"]
    wanted = [
        each.client
        for each in flag.first_steps
        if {"slurred_speech", "widespread_hives"} & set(each.items)
    ]
    assert len(wanted) == 2
    assert step.support.split("\n\n") == [flag.client, *wanted]
    assert d.answer(dialogue, "none").support == ""
    for fact, flag_id in (
        ("screen.saddle_or_bladder_change", "cauda_equina_sign"),
        ("screen.muscle_breakdown_sign", "rhabdo_sign"),
        ("screen.suspected_fracture", "suspected_fracture"),
        ("screen.new_weakness", "new_weakness"),
    ):
        words = book().flags[flag_id].client
        assert d.answer(at_question(fact, "self"), "yes").support == words
        assert d.answer(at_question(fact, "self"), "no").support == ""


def test_a_person_alone_is_read_no_list_of_ways() -> None:
    fact = "screen.purging_or_misuse"
    dialogue = at_question(fact, "self")
    labels = set(form().slots[form().index_of(fact)].question.labels.values())
    spoken = " ".join([dialogue.slot.text("self"), dialogue.slot.help("self")]).lower()
    assert not dialogue.slot.options
    named = r"vomit|brought|laxativ|water|slimming|pill|thyroid|insulin|dinitro|tablet"
    assert not re.search(named, spoken)
    assert len(labels) > 5
    no, yes = d.answer(dialogue, "no").dialogue, d.answer(dialogue, "yes").dialogue
    assert (no.answers[fact], yes.answers[fact]) == ((), ("unspecified",))
    assert d.answer(dialogue, "laxatives").dialogue is dialogue
    # After a yes the dangerous product is asked for in general words; a coach has it on the list.
    assert yes.slot.fact != fact
    industrial = form().index_of("screen.industrial_fat_product")
    assert industrial in yes.applicable
    assert industrial not in no.applicable
    assert not re.search(named, form().slots[industrial].text("self").lower())
    by_list = d.answer(at_question(fact, "coach"), "Dinitrophenol").dialogue
    assert industrial not in by_list.applicable
