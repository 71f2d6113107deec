"""The intake on a terminal. Everything here is input and output; decisions are in `typed.act`.

Questions scroll by instead of being drawn over each other: nothing on the screen is lost, a
screen reader can follow, and it works in a terminal of any size. No meaning rests on colour.
"""

import re
import shutil
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from prompt_toolkit import PromptSession
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.history import DummyHistory
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.output import Output
from prompt_toolkit.styles import Style

from assistant.intake.dialogue import Dialogue, Ending, Step
from assistant.intake.events import Event
from assistant.intake.form import Audience, Crisis, Slot
from assistant.intake.layout import COMMANDS, pages, question_lines, review_lines, wrapped
from assistant.intake.parse import what_to_type
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act, problem_so_far
from assistant.model.facts import FactType

# Rows that the menu of completions may take; the default would push a question off a small screen.
_MENU_ROWS = 4
_ROWS_BESIDE_REVIEW = 5
# Below the page after a yes to the question about self-harm. Anything typed that is no way out is taken
# for "no": the page then says again whom to call.
_ON_CRISIS_PAGE: Mapping[Audience, str] = {
    "coach": (
        "There is no plan today, and this answer is not written down; everything else is kept. Type yes, no "
        "or not sure to see that step again. Enter leaves; back returns to the questions."
    ),
    "self": (
        "There is no plan today, and this answer of mine is not written down; everything else is kept. I can "
        "type yes, no or not sure, to see what I do first. Enter leaves. If I am safe, back takes me to "
        "the questions."
    ),
}
_LEAVING = frozenset({"", "save", "leave", "quit", "exit"})
_GOING_BACK = frozenset({"back", "go back", "i am safe", "i am safe, go back", "i'm safe"})
_PLAIN = Style.from_dict({"bottom-toolbar": "noreverse"})


class ChoiceCompleter(Completer):
    """Completes the names of choices; in a list, the part after the last comma."""

    def __init__(self, slot: Slot) -> None:
        """Complete the choices of one question."""
        self._is_list = slot.declaration.type is FactType.CHOICES
        self._labels = [label for label, _ in slot.options]

    def get_completions(
        self, document: Document, complete_event: CompleteEvent
    ) -> Iterable[Completion]:
        """Yield the labels in which a word begins as typed, leaving out those already in the list."""
        text = document.text_before_cursor
        head, _, part = text.rpartition(",") if self._is_list else ("", "", text)
        typed = part.lstrip().lower()
        if not typed and not complete_event.completion_requested:
            return
        taken = {item.strip().lower() for item in head.split(",")}
        for label in self._labels:
            words = [label.lower(), *re.split(r"[\s(/-]+", label.lower())]
            if label.lower() not in taken and any(word.startswith(typed) for word in words):
                yield Completion(label, start_position=-len(typed))


@dataclass
class Screen:
    """A terminal for one intake. `remember` is called with each event before it is acted on."""

    remember: Callable[[Event], None]
    typing: Input | None = None
    showing: Output | None = None

    def __post_init__(self) -> None:
        """Set up the line editor."""
        self._session: PromptSession[str] = PromptSession(
            input=self.typing,
            output=self.showing,
            key_bindings=_keys(),
            reserve_space_for_menu=_MENU_ROWS,
            history=DummyHistory(),  # earlier answers must not come back with a key
            style=_PLAIN,
        )
        self._page = 0
        self._shown: tuple[int, UnitSystem] | None = None

    def run(self, dialogue: Dialogue, greeting: Iterable[str] = ()) -> tuple[Dialogue, Ending]:
        """Ask until the person finishes or leaves; return the last state and how it ended."""
        for line in greeting:
            self._show(wrapped(line, self._width))
        while True:
            step = act(dialogue, self._ask(dialogue))
            for event in step.events:
                self.remember(event)
            dialogue = step.dialogue
            if step.notice:
                self._show(["", *wrapped(step.notice, self._width)])
            if step.crisis is not None and self._leaves_crisis_page(step.crisis, dialogue.audience):
                return dialogue, Ending.ASIDE
            if step.crisis is None and step.support:
                typed = self._after_support(step)
                if typed != "back" if dialogue.aside else typed in _LEAVING - {""}:
                    return dialogue, Ending.ASIDE if dialogue.aside else Ending.SAVED
                if typed == "back" and not dialogue.aside:
                    dialogue = act(dialogue, typed).dialogue
            if step.ending is not None:
                return dialogue, step.ending

    def _ask(self, dialogue: Dialogue) -> str:
        if dialogue.in_review:
            return self._ask_in_review(dialogue)
        self._page = 0
        slot = dialogue.slot
        if self._shown != (dialogue.position, dialogue.units):  # not again after a mere notice
            self._show(question_lines(dialogue, self._width))
        self._shown = (dialogue.position, dialogue.units)
        how = what_to_type(slot, dialogue.units)
        extra = " · prefer not to say" if slot.question.may_decline else ""

        def toolbar() -> str:
            typed = self._session.default_buffer.text
            said = problem_so_far(dialogue, typed) or f"Type {how}. Or: {COMMANDS}{extra}"
            return "\n".join(wrapped(said, self._width)[:2])

        return self._prompt("> ", toolbar, ChoiceCompleter(slot))

    def _ask_in_review(self, dialogue: Dialogue) -> str:
        self._shown = None
        lines = review_lines(dialogue, self._width)
        sheets = pages(lines, self._height - _ROWS_BESIDE_REVIEW)
        self._page %= len(sheets)
        title = f"Your answers, page {self._page + 1} of {len(sheets)}"
        self._show(["-" * self._width, title, *sheets[self._page]])
        said = "Type the number of a line to change it, finish, back or save. Enter: next page"
        typed = self._prompt("review> ", lambda: "\n".join(wrapped(said, self._width)[:2]), None)
        if not typed.strip():
            self._page += 1
        return typed

    def _leaves_crisis_page(self, crisis: Crisis, audience: Audience) -> bool:
        """Show the page after a yes and stay there: it never goes away by itself.

        What is typed on it is answered with a step of the page and remembered nowhere.
        """
        self._show([row for part in crisis.page for row in ["", *wrapped(part, self._width)]])
        self._show(["", *wrapped(_ON_CRISIS_PAGE[audience], self._width)])
        while True:
            typed = " ".join(self._prompt("> ", lambda: "", None).lower().split()).rstrip(".!?")
            if typed in _LEAVING:
                return True
            if typed in _GOING_BACK:
                return False
            said = crisis.safe if typed in {"yes", "y"} else crisis.not_safe
            self._show(["", *wrapped(said, self._width)])
            self._show(["", *wrapped(_ON_CRISIS_PAGE[audience], self._width)])

    def _after_support(self, step: Step) -> str:
        """Show the support text, wait, and return what is typed: it never goes away by itself."""
        aside = step.dialogue.aside
        after = (
            "There will be no plan today, and this answer is not written down. Everything else is "
            "kept for another day. Press Enter to leave, or type back to return to the questions."
            if aside
            else "Press Enter to go on, back to change the answer, or save to leave."
        )
        self._show(["", *wrapped(step.support, self._width), "", *wrapped(after, self._width)])
        return self._prompt("> ", lambda: "", None).strip().lower()

    def _prompt(self, message: str, toolbar: Callable[[], str], completer: Completer | None) -> str:
        try:
            return self._session.prompt(
                message, bottom_toolbar=toolbar, completer=completer, complete_while_typing=True
            )
        except (KeyboardInterrupt, EOFError):
            return "save"

    def _show(self, lines: Iterable[str]) -> None:
        for line in lines:
            self._session.output.write(line + "\n")
        self._session.output.flush()

    @property
    def _width(self) -> int:
        return min(shutil.get_terminal_size().columns - 1, 90)

    @property
    def _height(self) -> int:
        return shutil.get_terminal_size().lines


def _keys() -> KeyBindings:
    """Keys that act at once: Ctrl-B goes back, F1 tells why, F2 switches units."""
    keys = KeyBindings()
    for key, command in (("c-b", "back"), ("f1", "why"), ("f2", "units")):

        def act_at_once(event: KeyPressEvent, said: str = command) -> None:
            event.app.exit(result=said)

        keys.add(key)(act_at_once)
    return keys
