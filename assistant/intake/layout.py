"""Questions and reviews laid out as plain lines for a terminal of any width. No colour, no drawing."""

import textwrap

from assistant.intake.quantities import UnitSystem
from assistant.intake.view import QuestionView, ReviewSection

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


def question_lines(view: QuestionView, units: UnitSystem, width: int) -> list[str]:
    """Return everything that stands above the line for typing."""
    where = f"{view.section} (section {view.section_number} of {view.section_count})"
    count = f"question {view.question_number} of {view.question_count}"
    lines = [
        "-" * max(width, NARROWEST),
        *wrapped(f"{where}, {count}, {units.value}", width),
    ]
    if view.intro:
        lines += wrapped(view.intro, width)
    lines += ["", *wrapped(view.text, width)]
    if view.help:
        lines += wrapped(view.help, width, "  ")
    lines += choice_lines(view.choices, width)
    if view.given:
        lines += wrapped(f"Your answer: {view.given} (Enter keeps it)", width)
    if view.suggestion:
        lines += wrapped(f"Suggestion: {view.suggestion} (Enter takes it)", width)
    return lines


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
            lines += _hanging(item, room)
        else:
            row += item.ljust(column * -(-(len(item) + _GAP) // column))
    return [*lines, row.rstrip()] if row else lines


def _hanging(item: str, width: int) -> list[str]:
    return textwrap.wrap(item, width, subsequent_indent="   ")


def review_lines(sections: tuple[ReviewSection, ...], width: int) -> list[str]:
    """Return all answers, numbered, under their sections."""
    lines: list[str] = []
    for section in sections:
        lines += ["", section.title]
        for line in section.lines:
            lines += textwrap.wrap(
                f"{line.number:>3} {line.label}: {line.answer}",
                max(width, NARROWEST),
                subsequent_indent="    ",
            )
    return lines[1:]


def pages(lines: list[str], height: int) -> list[list[str]]:
    """Return lines cut into pages of at most `height`; one empty page if there are none."""
    room = max(height, 1)
    return [lines[start : start + room] for start in range(0, len(lines), room)] or [[]]
