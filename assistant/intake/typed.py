"""One line of typed text: a command or an answer, applied to the dialogue."""

import re

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Step
from assistant.intake.parse import check, names_a_choice, says_yes
from assistant.intake.quantities import plain_name, tidy
from assistant.intake.slot import Slot
from assistant.model.facts import FactType

_ANYWHERE = {
    "back": d.back,
    "units": d.switch_units,
    "review": d.review,
    "save": d.save,
    "finish": d.finish,
}
_AT_A_QUESTION = {
    "skip": d.skip,
    "why": d.why,
    "prefer not to say": d.decline,
    "clear": d.clear,
}
_OPEN = ("skip", "prefer not to say")
_ALSO_SAID = {
    "?": "why",
    "help": "why",
    "why do you ask": "why",
    "not sure": "skip",
    "don't know": "skip",
    "unknown": "skip",
    "rather not say": "prefer not to say",
    "leave": "save",
    "quit": "save",
    "exit": "save",
    "done": "finish",
}
# Whole lines that leave a question blank or decline it, however much is said around it. A line with a digit in it
# may hold an answer ("not sure, about 70"), so it is never read so.
_BLANK = re.compile(
    r"(?:well,? )?(?:i |really |honestly |i'm |im |i am )*(?:not (?:really |quite |so |too |at all )?(?:sure|certain)|unsure|no idea"
    r"|no clue|dunno|idk|(?:don't|dont|do not|can't|cannot|couldn't) (?:really )?(?:know|remember|recall|tell)"
    r"|never (?:measured|checked|counted|weighed)|(?:not|haven't) (?:been )?(?:measured|checked|known)"
    r")(?:[ ,].*)?|next|leave (?:it |this )?(?:blank|open|out)|skip (?:it|this)"
)
_DECLINED = re.compile(
    r"(?:i |i'd |i would |we'd )*(?:(?:rather|prefer) not(?: to)?(?: say| answer| tell(?: you)?)?"
    r"|(?:don't|dont|do not) (?:want|wish|like) to (?:say|answer|tell|talk).*|no comment|none of your business"
    r"|(?:that's |it's )?private|pass)"
)


def act(dialogue: Dialogue, text: str) -> Step:
    """Apply one typed line: a command wherever it makes sense, else an answer.

    In the review a number picks the question of that line, and an empty line changes nothing.
    """
    command = _command(dialogue, text)
    if command in _ANYWHERE:
        return _ANYWHERE[command](dialogue)
    if not dialogue.in_review:
        return (
            _AT_A_QUESTION[command](dialogue)
            if command
            else d.answer(dialogue, _meant(dialogue, text))
        )
    if not text.strip():
        return Step(dialogue)
    if re.fullmatch(r"[0-9]{1,4}", text.strip()):
        number, lines = int(text.strip()), dialogue.applicable
        if 1 <= number <= len(lines):
            return d.edit(dialogue, lines[number - 1])
    return dialogue.told("Type the number of a line to change it, or finish, back or save.")


def answered(dialogue: Dialogue, text: str) -> Step:
    """Take a line as the answer, or as leaving the question open or declined; no other command is read."""
    command = _command(dialogue, text)
    return (
        _AT_A_QUESTION[command](dialogue)
        if command in _OPEN
        else d.answer(dialogue, _meant(dialogue, text))
    )


def _meant(dialogue: Dialogue, text: str) -> str:
    """Return the line that is read: of a yes to "did you mean", what was offered at this question."""
    offered = dialogue.offered
    if offered is not None and offered.fact == dialogue.slot.fact and says_yes(text, dialogue.slot):
        return str(offered.value)
    return text


def problem_so_far(dialogue: Dialogue, text: str) -> str | None:
    """Return what is wrong with a line while it is typed, or None."""
    if not text.strip() or dialogue.in_review or _command(dialogue, text):
        return None
    return check(_meant(dialogue, text), dialogue.slot, dialogue.units)


def _command(dialogue: Dialogue, text: str) -> str | None:
    """Return the command that a line is; None for an answer.

    A choice that is shown is never a command. A word that may mean a choice gives way to one: `back` goes
    back.
    """
    if not dialogue.in_review and names_a_choice(text, dialogue.slot):
        return None
    said = dialogue.form.speech.meant(tidy(text).rstrip(".?! ") or tidy(text))
    command = _ALSO_SAID.get(said, said)
    if command in {*_ANYWHERE, *_AT_A_QUESTION}:
        return command
    return None if dialogue.in_review else _left_open(dialogue.slot, said)


def _left_open(slot: Slot, said: str) -> str | None:
    is_text = slot.declaration.type is FactType.TEXT
    if is_text or plain_name(said) in slot.also or re.search("[0-9]", said):
        return None
    if _DECLINED.fullmatch(said):
        return "prefer not to say"
    return "skip" if _BLANK.fullmatch(said) else None
