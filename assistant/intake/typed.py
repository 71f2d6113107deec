"""One line of typed text: a command or an answer, applied to the dialogue."""

import re

from assistant.intake import dialogue as d
from assistant.intake.commands import Command, command_in
from assistant.intake.dialogue import Dialogue, Step
from assistant.intake.parse import check, names_a_choice

_ANYWHERE = {
    Command.BACK: d.back,
    Command.UNITS: d.switch_units,
    Command.REVIEW: d.review,
    Command.SAVE: d.save,
    Command.FINISH: d.finish,
}
_AT_A_QUESTION = {
    Command.SKIP: d.skip,
    Command.WHY: d.why,
    Command.DECLINE: d.decline,
    Command.CLEAR: d.clear,
}


def act(dialogue: Dialogue, text: str) -> Step:
    """Apply one typed line: a command wherever it makes sense, else an answer.

    In the review a number picks the question of that line, and an empty line changes nothing.
    """
    command = _command(dialogue, text)
    if command in _ANYWHERE:
        return _ANYWHERE[command](dialogue)
    if not dialogue.in_review:
        return _AT_A_QUESTION[command](dialogue) if command else d.answer(dialogue, text)
    if not text.strip():
        return Step(dialogue)
    if re.fullmatch(r"[0-9]{1,4}", text.strip()):
        number, lines = int(text.strip()), dialogue.applicable
        if 1 <= number <= len(lines):
            return d.edit(dialogue, lines[number - 1])
    return Step(dialogue, "Type the number of a line to change it, or finish, back or save.")


def problem_so_far(dialogue: Dialogue, text: str) -> str | None:
    """Return what is wrong with a line while it is typed, or None."""
    if not text.strip() or dialogue.in_review or _command(dialogue, text):
        return None
    return check(text, dialogue.slot, dialogue.units)


def _command(dialogue: Dialogue, text: str) -> Command | None:
    if not dialogue.in_review and names_a_choice(text, dialogue.slot):
        return None
    return command_in(text)
