"""Laws of the state machine, over random walks of answers, commands and slips."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from intake_forms import CLEAR_TEXT, CRISIS, small_form

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Ending, Step
from assistant.intake.events import Confirmed, Event, to_keep
from assistant.intake.parse import check
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status

FORM = small_form()
COMMANDS = ["back", "skip", "why", "units", "prefer not to say", "review", "clear", "finish"]
OTHER_TEXTS = ["male", "16", "5 ft 4", "170", "insulin", "yes", "no", "none", "4", "", "junk", "90"]
# "answer" stands for a clear answer to whatever is asked.
MOVES = st.lists(st.sampled_from(["answer"] * 12 + COMMANDS + OTHER_TEXTS), max_size=45)


def text_of(move: str, dialogue: Dialogue) -> str:
    if move != "answer":
        return move
    if dialogue.in_review:
        return "1"
    # A clear text may be one that is asked about again, or in other units; a unit settles both.
    unit = {"client.height_cm": " cm", "client.weight_kg": " kg"}.get(dialogue.slot.fact, "")
    return CLEAR_TEXT[dialogue.slot.fact] + unit


def walk(moves: list[str]) -> list[tuple[Dialogue, Step]]:
    """Every step of a walk, with the state before it."""
    steps, dialogue = [], d.start(FORM, "coach")
    for move in moves:
        step = act(dialogue, text_of(move, dialogue))
        steps.append((dialogue, step))
        dialogue = step.dialogue
    return steps


def to_the_end(dialogue: Dialogue) -> tuple[Dialogue, list[int]]:
    """Answer clearly until nothing is open; return the last state and the positions visited."""
    visited = []
    for _ in range(200):
        if dialogue.in_review:
            if not dialogue.open_questions:
                return dialogue, visited
            dialogue = d.finish(dialogue).dialogue
        visited.append(dialogue.position)
        dialogue = act(dialogue, text_of("answer", dialogue)).dialogue
    raise AssertionError("the walk does not end")


@given(MOVES)
@settings(max_examples=150, deadline=None)
def test_back_after_an_answer_is_where_it_was_given_and_enter_keeps_it(moves: list[str]) -> None:
    for before, step in walk(moves):
        if before.in_review or not step.events or not isinstance(step.events[0], Confirmed):
            continue
        returned = d.back(step.dialogue).dialogue
        assert returned == replace(
            before, answers=returned.answers, aside=returned.aside, doubted=None
        )
        assert returned.answers == step.dialogue.answers
        kept = act(returned, "")
        assert kept.dialogue.answers == step.dialogue.answers
        assert kept.events == ()


@given(st.integers(1, 30))
@settings(deadline=None)
def test_in_a_straight_walk_back_and_enter_return_to_the_same_state(length: int) -> None:
    for before, step in walk(["answer"] * length):
        if before.in_review:
            break
        assert act(d.back(step.dialogue).dialogue, "").dialogue == step.dialogue


@given(MOVES)
@settings(max_examples=150, deadline=None)
def test_only_an_answer_clear_or_decline_changes_what_is_confirmed(moves: list[str]) -> None:
    for before, step in walk(moves):
        after = step.dialogue.answers
        given_now = {e.fact: e.value for e in step.events if isinstance(e, Confirmed)}
        assert len(given_now) <= 1
        lost = set(before.answers) - set(after)
        if lost:
            assert given_now, "answers went without a new one"
            assert all(
                FORM.slots[FORM.index_of(fact)].declaration.label in step.notice for fact in lost
            )
        for fact, value in after.items():
            assert value == given_now.get(fact, before.answers.get(fact))


@given(MOVES)
@settings(max_examples=100, deadline=None)
def test_every_applicable_question_is_reached_and_every_other_one_settled(
    moves: list[str],
) -> None:
    steps = walk(moves)
    reached = {before.position for before, _ in steps if not before.in_review}
    last, visited = to_the_end(steps[-1][1].dialogue if steps else d.start(FORM, "coach"))
    assert set(last.applicable) <= reached | set(visited)
    assert set(last.settled) == {slot.fact for slot in FORM.slots}
    for index, slot in enumerate(FORM.slots):
        if index not in last.applicable:
            assert last.settled[slot.fact] == slot.question.otherwise
    assert d.finish(last).ending in (Ending.FINISHED, Ending.ASIDE)


def forget(dialogue: Dialogue) -> Dialogue:
    """The state without what lives in the session only."""
    kept = {f: v for f, v in dialogue.answers.items() if f not in SESSION_ONLY_FACTS}
    return d.at_first_open(replace(dialogue, answers=kept, aside=False))


@given(MOVES)
@settings(max_examples=100, deadline=None)
def test_resuming_from_any_prefix_is_the_state_at_that_point(moves: list[str]) -> None:
    kept: list[Event] = []
    for _, step in walk(moves):
        kept += [to_keep(event) for event in step.events]
        resumed = d.replay(d.start(FORM, "coach"), kept)
        assert resumed == forget(step.dialogue)


@given(MOVES)
@settings(deadline=None)
def test_an_unfinished_intake_never_finishes(moves: list[str]) -> None:
    for before, step in walk([*moves, "finish"]):
        if step.ending is not None:
            assert not before.open_questions


def test_a_brake_is_asked_when_the_answer_it_hangs_on_is_missing() -> None:
    dialogue = d.start(FORM, "coach")
    while not dialogue.in_review:
        dialogue = d.skip(dialogue).dialogue
    # Nothing is known, so nothing may be left out.
    assert set(dialogue.answers) == {slot.fact for slot in FORM.slots}
    assert set(dialogue.answers.values()) == {Status.UNKNOWN}


def test_a_known_no_leaves_a_question_out_with_its_status() -> None:
    dialogue = act(d.start(FORM, "coach"), "male").dialogue
    assert dialogue.settled["screen.pregnant"] is Status.NOT_APPLICABLE
    assert FORM.index_of("screen.pregnant") not in dialogue.applicable


def test_editing_reopens_questions_and_takes_out_what_no_longer_applies() -> None:
    done, _ = to_the_end(d.start(FORM, "coach"))
    picked = d.edit(done, FORM.index_of("screen.medicines")).dialogue
    opened = act(picked, "insulin").dialogue
    assert opened.slot.fact == "screen.severe_low_sugar_last_24h"
    back_in_review = act(opened, "no").dialogue
    assert back_in_review.in_review
    picked = d.edit(back_in_review, FORM.index_of("screen.medicines")).dialogue
    changed = act(picked, "statin")
    assert "low sugar in the last day" in changed.notice
    assert "screen.severe_low_sugar_last_24h" not in changed.dialogue.answers
    assert changed.dialogue.in_review


def test_a_safety_answer_is_never_suggested() -> None:
    # The book's loader refuses such a suggestion; the dialogue does not rely on that.
    at = FORM.index_of("screen.pregnant")
    question = FORM.slots[at].question.model_copy(update={"suggestion": False})
    slots = (*FORM.slots[:at], replace(FORM.slots[at], question=question), *FORM.slots[at + 1 :])
    dialogue = replace(d.start(replace(FORM, slots=slots), "coach"), position=at)
    step = act(dialogue, "")
    assert step.events == ()
    assert step.dialogue == dialogue


def test_a_harmless_suggestion_is_taken_by_enter() -> None:
    dialogue = replace(d.start(FORM, "coach"), position=FORM.index_of("client.minutes_per_session"))
    assert act(dialogue, "").events == (Confirmed("client.minutes_per_session", 60.0),)


def test_units_switch_changes_reading_but_no_answer() -> None:
    dialogue = replace(d.start(FORM, "coach"), position=FORM.index_of("client.height_cm"))
    imperial = act(dialogue, "units").dialogue
    assert imperial.units is UnitSystem.IMPERIAL
    assert act(imperial, "65").dialogue.answers == {"client.height_cm": pytest.approx(165.1)}
    assert check("65", dialogue.slot, UnitSystem.METRIC) is not None


def test_after_a_yes_to_the_crisis_question_no_case_is_finished_in_this_session() -> None:
    done, _ = to_the_end(d.start(FORM, "self"))
    assert d.finish(done).ending is Ending.FINISHED
    picked = d.edit(done, FORM.index_of(CRISIS)).dialogue
    said_yes = act(picked, "yes")
    assert said_yes.support == "Help is there day and night."
    assert d.finish(said_yes.dialogue).ending is Ending.ASIDE
    taken_back = act(d.edit(said_yes.dialogue, FORM.index_of(CRISIS)).dialogue, "no")
    assert d.finish(taken_back.dialogue).ending is Ending.ASIDE


@pytest.mark.parametrize("text", ["yes", "no", "skip", "prefer not to say"])
def test_the_support_text_is_shown_whatever_the_answer(text: str) -> None:
    dialogue = replace(d.start(FORM, "self"), position=FORM.index_of(CRISIS))
    assert act(dialogue, text).support == "Help is there day and night."
