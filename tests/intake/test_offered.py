"""A near name that is offered, what a yes to it is, and what a list to tick understands of the answers behind it.

From two first talks typed by people who had read the README alone: they answered "did you mean" with yes, named their
tablets where medicines in general were asked about, and were offered the opposite of what they had typed.
"""

from dataclasses import replace

import pytest
from tick_lists import book, form

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Step
from assistant.intake.parse import check
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.model.values import Value


def at(fact: str) -> Dialogue:
    return replace(d.start(form(), "self"), position=form().index_of(fact))


def values(step: Step) -> list[Value]:
    return [event.value for event in step.events if isinstance(event, d.Confirmed)]


@pytest.mark.parametrize(
    ("fact", "typed", "meant"),
    [("screen.medicines", "amlodipin", ("calcium_blocker",)),
     ("screen.medicines", "ibuprofen, amlodipin", ("calcium_blocker", "other")),
     ("client.goal", "buid muscle", "gain_muscle")],
)  # fmt: skip
def test_a_yes_to_did_you_mean_is_what_was_offered(fact: str, typed: str, meant: Value) -> None:
    offered = act(at(fact), typed)
    assert "did you mean" in offered.notice
    assert values(offered) == []
    assert values(act(offered.dialogue, "yes")) == [meant]


def test_anything_but_a_yes_takes_no_offer() -> None:
    offered = act(at("screen.medicines"), "amlodipin").dialogue
    assert values(act(offered, "no")) == [()]
    assert values(act(offered, "metformin")) == [("metformin",)]
    refused = act(offered, "blood pressure tablets").dialogue
    assert values(act(refused, "yes")) == []


def test_a_yes_at_another_question_is_that_answer() -> None:
    """Going back leaves the offer behind: a yes to a sign is a yes to the sign."""
    offered = act(at("screen.medicines"), "amlodipin").dialogue
    elsewhere = replace(offered, position=form().index_of("screen.new_weakness"))
    assert values(act(elsewhere, "yes")) == [True]


@pytest.mark.parametrize(
    ("fact", "typed"),
    [("client.daily_activity", "stands most of the day, no"), ("client.daily_activity", "sat most of the day"),
     ("ticks.health", "blood pressure cuff"), ("screen.symptom_now", "no chest pain")],
)  # fmt: skip
def test_no_name_is_offered_that_a_word_of_the_line_is_unlike(fact: str, typed: str) -> None:
    told = check(typed, form().slots[form().index_of(fact)], UnitSystem.METRIC)
    assert told is not None
    assert "did you mean" not in told


def test_whatever_names_a_medicine_ticks_the_medicines() -> None:
    """Else a tablet named one question early is told to be no answer, or ticks the blood pressure alone."""
    (typed,) = (each for each in book().typed_words if each.fact == "screen.medicines")
    for names in typed.words.values():
        for name in names:
            (ticked,) = values(act(at("ticks.health"), name))
            assert isinstance(ticked, tuple)
            assert "medicines" in ticked, name


def test_a_word_of_another_item_ticks_that_one_too() -> None:
    assert values(act(at("ticks.health"), "thyroid medicine")) == [("medicines", "thyroid")]


def test_who_does_not_lift_at_present_is_asked_for_no_programme() -> None:
    sessions, weeks = "client.sessions_per_week_now", "client.weeks_on_programme"
    assert form().slots[form().index_of(sessions)].suggestion is None
    for lifts, asked in ((0.0, False), (2.0, True)):
        _, applicable = form().settle({sessions: lifts})
        assert (form().index_of(weeks) in applicable) is asked
