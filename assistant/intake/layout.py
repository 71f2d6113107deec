"""Questions and reviews laid out as plain lines for a terminal of any width. No colour, no drawing."""

import textwrap

from assistant.intake.dialogue import Dialogue
from assistant.intake.form import Slot
from assistant.intake.parse import answer_in_words
from assistant.intake.reading import minutes_left
from assistant.model.session_only import SESSION_ONLY_FACTS

NARROWEST = 20
_GAP = 2
_COLUMN = 24
COMMANDS = "back · skip · why · units · review · save"


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Return text in lines of at most `width` characters; paragraphs are kept."""
    room = max(width, NARROWEST)
    lines: list[str] = []
    for paragraph in text.splitlines() or [""]:
        lines += textwrap.wrap(
            paragraph, room, initial_indent=indent, subsequent_indent=indent
        ) or [""]
    return lines


def question_lines(dialogue: Dialogue, width: int) -> list[str]:
    """Return everything that stands above the line for typing; IndexError in the review.

    Numbers count from 1: section of sections, question of the questions of this section that apply.
    """
    slot, form = dialogue.slot, dialogue.form
    section = next(each for each in form.sections if each.id == slot.question.section)
    used = list(dict.fromkeys(each.question.section for each in form.slots))
    here = [i for i in dialogue.applicable if form.slots[i].question.section == section.id]
    number = here.index(dialogue.position) + 1
    where = f"{section.title} (section {used.index(section.id) + 1} of {len(used)})"
    count = f"question {number} of {len(here)}"
    left = f"about {minutes_left(dialogue)} min left"
    lines = [
        "-" * max(width, NARROWEST),
        *wrapped(f"{where}, {count}, {left}, {dialogue.units.value}", width),
    ]
    intro = section.intro_coach if dialogue.audience == "coach" else section.intro_self
    if intro and number == 1:
        lines += wrapped(intro, width)
    lines += ["", *wrapped(slot.text(dialogue.audience), width)]
    if helping := slot.help(dialogue.audience):
        lines += wrapped(helping, width, "  ")
    lines += choice_lines(tuple(label for label, _ in slot.options), width)
    if slot.fact in dialogue.answers:
        lines += wrapped(f"Your answer: {_given(dialogue, slot)} (Enter keeps it)", width)
    elif slot.suggestion is not None:
        suggested = answer_in_words(slot.suggestion, slot, dialogue.units)
        lines += wrapped(f"Suggestion: {suggested} (Enter takes it)", width)
    return lines


def _given(dialogue: Dialogue, slot: Slot) -> str:
    if slot.fact in SESSION_ONLY_FACTS:
        return "answered, not shown"
    return answer_in_words(dialogue.answers[slot.fact], slot, dialogue.units)


def choice_lines(labels: tuple[str, ...], width: int) -> list[str]:
    """Return numbered choices, row by row; a long one takes as many columns as it needs."""
    room = max(width, NARROWEST)
    column = room // max(1, room // _COLUMN)
    lines, row = [], ""
    for number, label in enumerate(labels, start=1):
        item = f"{number:>2} {label}"
        if row and len(row) + len(item) > room:
            lines.append(row.rstrip())
            row = ""
        if len(item) > room:
            lines += textwrap.wrap(item, room, subsequent_indent="   ")
        else:
            row += item.ljust(column * -(-(len(item) + _GAP) // column))
    return [*lines, row.rstrip()] if row else lines


def review_lines(dialogue: Dialogue, width: int) -> list[str]:
    """Return every question that applies with its answer, numbered, under its section."""
    form = dialogue.form
    titles = {section.id: section.title for section in form.sections}
    lines: list[str] = []
    numbered = list(enumerate(dialogue.applicable, start=1))
    for section in dict.fromkeys(slot.question.section for slot in form.slots):
        here = [(n, i) for n, i in numbered if form.slots[i].question.section == section]
        if here:
            lines += ["", titles[section]]
        for number, index in here:
            slot = form.slots[index].asked_of(dialogue.audience)
            given = _given(dialogue, slot) if slot.fact in dialogue.answers else "not answered yet"
            lines += textwrap.wrap(
                f"{number:>3} {slot.called(dialogue.audience)}: {given}",
                max(width, NARROWEST),
                subsequent_indent="    ",
            )
    return lines[1:]


def pages(lines: list[str], height: int) -> list[list[str]]:
    """Return lines cut into pages of at most `height`; one empty page if there are none."""
    room = max(height, 1)
    return [lines[start : start + room] for start in range(0, len(lines), room)] or [[]]
