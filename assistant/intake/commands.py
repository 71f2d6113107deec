"""The words that steer the intake instead of answering."""

from enum import StrEnum

from assistant.intake.quantities import tidy


class Command(StrEnum):
    """What a person can ask for at any question."""

    BACK = "back"
    SKIP = "skip"
    WHY = "why"
    UNITS = "units"
    DECLINE = "prefer not to say"
    CLEAR = "clear"
    REVIEW = "review"
    SAVE = "save"
    FINISH = "finish"


_SPELLINGS = {
    **{command.value: command for command in Command},
    "?": Command.WHY,
    "help": Command.WHY,
    "why do you ask": Command.WHY,
    "not sure": Command.SKIP,
    "don't know": Command.SKIP,
    "unknown": Command.SKIP,
    "rather not say": Command.DECLINE,
    "leave": Command.SAVE,
    "quit": Command.SAVE,
    "exit": Command.SAVE,
    "done": Command.FINISH,
}


def command_in(text: str) -> Command | None:
    """Return the command that a text is, or None if it is an answer."""
    return _SPELLINGS.get(tidy(text).rstrip(".?! ") or tidy(text))
