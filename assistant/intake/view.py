"""What a question and the review look like in words, before anything is drawn."""

from dataclasses import dataclass

from assistant.intake.dialogue import Dialogue
from assistant.intake.events import SESSION_ONLY_FACTS
from assistant.intake.form import Slot
from assistant.intake.parse import answer_in_words, what_to_type


@dataclass(frozen=True)
class QuestionView:
    """A question as it is shown.

    Numbers count from 1: section of sections, question of the questions of this section that apply.
    choices: labels in order, numbered from 1 when shown. given: the answer from before.
    """

    section: str
    section_number: int
    section_count: int
    question_number: int
    question_count: int
    intro: str
    text: str
    help: str
    choices: tuple[str, ...]
    how: str
    suggestion: str
    given: str
    may_decline: bool


@dataclass(frozen=True)
class ReviewLine:
    """One line of the review; `number` is what a person types to change it."""

    number: int
    label: str
    answer: str


@dataclass(frozen=True)
class ReviewSection:
    """The lines of one section."""

    title: str
    lines: tuple[ReviewLine, ...]


def question_view(dialogue: Dialogue) -> QuestionView:
    """Return the present question in words; IndexError in the review."""
    slot, form = dialogue.slot, dialogue.form
    section = next(each for each in form.sections if each.id == slot.question.section)
    used = list(dict.fromkeys(each.question.section for each in form.slots))
    here = [i for i in dialogue.applicable if form.slots[i].question.section == section.id]
    intro = section.intro_coach if dialogue.audience == "coach" else section.intro_self
    number = here.index(dialogue.position) + 1
    return QuestionView(
        section=section.title,
        section_number=used.index(section.id) + 1,
        section_count=len(used),
        question_number=number,
        question_count=len(here),
        intro=(intro or "") if number == 1 else "",
        text=slot.text(dialogue.audience),
        help=slot.help(dialogue.audience),
        choices=labels_of(slot),
        how=what_to_type(slot, dialogue.units),
        suggestion=_suggestion(dialogue),
        given=_given(dialogue, slot),
        may_decline=slot.question.may_decline,
    )


def labels_of(slot: Slot) -> tuple[str, ...]:
    """Return the labels of the options in the order they are numbered."""
    return tuple(label for label, _ in slot.options)


def _suggestion(dialogue: Dialogue) -> str:
    slot = dialogue.slot
    if slot.suggestion is None or slot.fact in dialogue.answers:
        return ""
    return answer_in_words(slot.suggestion, slot, dialogue.units)


def _given(dialogue: Dialogue, slot: Slot) -> str:
    if slot.fact not in dialogue.answers:
        return ""
    if slot.fact in SESSION_ONLY_FACTS:
        return "answered, not shown"
    return answer_in_words(dialogue.answers[slot.fact], slot, dialogue.units)


def review_view(dialogue: Dialogue) -> tuple[ReviewSection, ...]:
    """Return every question that applies with its answer in words, by section."""
    form = dialogue.form
    numbered = list(enumerate(dialogue.applicable, start=1))
    sections = []
    order = list(dict.fromkeys(slot.question.section for slot in form.slots))
    for section in sorted(
        (s for s in form.sections if s.id in order), key=lambda s: order.index(s.id)
    ):
        lines = tuple(
            ReviewLine(
                number,
                form.slots[index].declaration.label,
                _given(dialogue, form.slots[index].asked_of(dialogue.audience))
                or "not answered yet",
            )
            for number, index in numbered
            if form.slots[index].question.section == section.id
        )
        if lines:
            sections.append(ReviewSection(section.title, lines))
    return tuple(sections)
