"""The terminal screen, driven by keys through a pipe."""

import io
from collections.abc import Iterator

import pytest
from intake_forms import CRISIS, small_form
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.document import Document
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output.plain_text import PlainTextOutput

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Ending
from assistant.intake.events import Confirmed, Event, UnitsSwitched
from assistant.intake.quantities import UnitSystem
from assistant.intake.screen import ChoiceCompleter, Screen

FORM = small_form()
CTRL_B, CTRL_C, CTRL_D, F1, F2 = "\x02", "\x03", "\x04", "\x1bOP", "\x1bOQ"


class Keyboard:
    """A screen whose keys come from the test and whose output can be read."""

    def __init__(self, pipe: PipeInput) -> None:
        self.events: list[Event] = []
        self._pipe, self._out = pipe, io.StringIO()

    def press(self, dialogue: Dialogue, keys: str) -> tuple[Dialogue, Ending]:
        screen = Screen(self.events.append, self._pipe, PlainTextOutput(self._out))
        self._pipe.send_text(keys)
        return screen.run(dialogue, ["Welcome."])

    @property
    def shown(self) -> str:
        return self._out.getvalue()


@pytest.fixture
def keyboard() -> Iterator[Keyboard]:
    with create_pipe_input() as pipe:
        yield Keyboard(pipe)


def test_keys_for_back_why_and_units_act_without_enter(keyboard: Keyboard) -> None:
    last, ending = keyboard.press(d.start(FORM, "coach"), f"female\r{F1}{F2}31\r{CTRL_B}{CTRL_C}")
    assert ending is Ending.SAVED
    assert last.slot.fact == "client.age_years"
    assert last.units is UnitSystem.IMPERIAL
    assert keyboard.events == [
        Confirmed("client.sex_for_equations", "female"),
        UnitsSwitched(UnitSystem.IMPERIAL),
        Confirmed("client.age_years", 31.0),
    ]
    assert "Why we ask: client.age_years changes the plan" in keyboard.shown
    assert "Your answer: 31 a (Enter keeps it)" in keyboard.shown


def test_ctrl_d_leaves_too(keyboard: Keyboard) -> None:
    assert keyboard.press(d.start(FORM, "coach"), CTRL_D)[1] is Ending.SAVED


def test_a_refused_answer_is_not_remembered(keyboard: Keyboard) -> None:
    keyboard.press(d.start(FORM, "coach"), "femal\rsave\r")
    assert keyboard.events == []
    assert "did you mean `female`?" in keyboard.shown


def at_crisis_question() -> Dialogue:
    dialogue = d.start(FORM, "self")
    while dialogue.slot.fact != CRISIS:
        dialogue = d.skip(dialogue).dialogue
    return dialogue


def test_back_from_a_text_that_is_shown_leads_to_its_question(keyboard: Keyboard) -> None:
    last, ending = keyboard.press(at_crisis_question(), "no\rback\rsave\r")
    assert ending is Ending.SAVED
    assert not last.in_review
    assert last.slot.fact == CRISIS


def test_after_a_yes_the_support_text_stays_until_the_person_leaves(keyboard: Keyboard) -> None:
    last, ending = keyboard.press(at_crisis_question(), "yes\r\r")
    assert ending is Ending.ASIDE
    assert "Help is there day and night." in keyboard.shown
    assert "There will be no plan today" in keyboard.shown
    assert last.aside


def test_after_a_yes_the_person_may_go_back_to_the_questions(keyboard: Keyboard) -> None:
    last, ending = keyboard.press(at_crisis_question(), "yes\rback\rfinish\r")
    assert ending is Ending.ASIDE
    assert last.in_review


def test_after_another_answer_the_intake_goes_on(keyboard: Keyboard) -> None:
    _, ending = keyboard.press(at_crisis_question(), "no\r\r\rfinish\r")
    assert ending is Ending.FINISHED
    assert "Help is there day and night." in keyboard.shown
    assert "answered, not shown" in keyboard.shown


@pytest.mark.parametrize(
    ("text", "offered"),
    [
        ("st", ["statin"]),
        ("statin, ", []),
        ("statin, w", ["water tablets"]),
        ("tab", ["water tablets"]),
        ("statin, st", []),
        ("x", []),
    ],
)
def test_completion_offers_what_is_not_in_the_list_yet(text: str, offered: list[str]) -> None:
    completer = ChoiceCompleter(FORM.slots[FORM.index_of("screen.medicines")])
    found = completer.get_completions(Document(text), CompleteEvent())
    assert [each.text for each in found] == offered


def test_completion_on_request_lists_everything() -> None:
    completer = ChoiceCompleter(FORM.slots[FORM.index_of("screen.medicines")])
    asked = CompleteEvent(completion_requested=True)
    found = [each.text for each in completer.get_completions(Document(""), asked)]
    assert found == ["statin", "insulin", "water tablets"]
