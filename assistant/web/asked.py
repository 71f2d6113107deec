"""One question of a dialogue as a form, and what was sent as the dialogue's next step.

The question about harming oneself is not asked in its place here: a server would have to remember what was
answered. It is the last thing asked, in the request that ends the dialogue, and then forgotten.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue, Step
from assistant.intake.form import Slot
from assistant.intake.parse import answer_in_words, may_not_apply, what_to_type
from assistant.intake.reading import minutes_for
from assistant.intake.typed import answered
from assistant.model.facts import FactType
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value


@dataclass(frozen=True)
class Choice:
    """One thing to pick. id: what the form sends for it."""

    id: str
    label: str
    picked: bool = False


@dataclass(frozen=True)
class Asked:
    """One question as a page shows it.

    kind: buttons (one of few), one (of many), many, or typed. number, of: its place among the questions
    that apply. typed: what stands in the field. how: what to type.
    """

    fact: str
    kind: str
    section: str
    intro: str
    text: str
    help: str
    why: str
    number: int
    of: int
    minutes_left: int
    choices: tuple[Choice, ...]
    may_decline: bool
    may_not_apply: bool
    none_label: str
    typed: str
    how: str
    is_answered: bool


_MOST_BUTTONS = 6
_YES, _NO = "yes", "no"


def in_place(
    dialogue: Dialogue, previous: Dialogue | None = None, *, back: bool = False
) -> Dialogue:
    """Return the dialogue at a question that may be asked in its place: never the session-only one.

    previous: where it came from. back: it is on its way back.
    """
    while not dialogue.in_review and dialogue.slot.fact in SESSION_ONLY_FACTS:
        step = d.back(dialogue) if back else None
        if step is not None and step.dialogue.position != dialogue.position:
            dialogue = step.dialogue
            continue
        dialogue = replace(dialogue, position=_beyond(dialogue, previous), doubted=None)
    return dialogue


def _beyond(dialogue: Dialogue, previous: Dialogue | None) -> int:
    """Return where to go on instead of the session-only question.

    Whoever walks through answered questions goes to the next one; everybody else to what is open, and with
    nothing open to the review.
    """
    slots, here = dialogue.form.slots, dialogue.position
    later = [i for i in dialogue.applicable if i > here]
    if previous is not None and not previous.in_review and not previous.editing:
        before = [i for i in dialogue.applicable if i < here]
        was_answered = previous.slot.fact in previous.answers
        if was_answered and before and before[-1] == previous.position and later:
            return later[0]
    opened = [i for i in dialogue.open_questions if slots[i].fact not in SESSION_ONLY_FACTS]
    return next((i for i in opened if i > here), opened[0] if opened else len(slots))


def is_complete(dialogue: Dialogue) -> bool:
    """Tell whether all questions but the session-only one are answered or left blank."""
    slots = dialogue.form.slots
    return all(slots[i].fact in SESSION_ONLY_FACTS for i in dialogue.open_questions)


def last_question(dialogue: Dialogue) -> Slot | None:
    """Return the session-only question where it applies; None where it is not part of the dialogue."""
    slots = dialogue.form.slots
    asked = (slots[i] for i in dialogue.applicable if slots[i].fact in SESSION_ONLY_FACTS)
    found = next(asked, None)
    return None if found is None else found.asked_of(dialogue.audience)


def asked(dialogue: Dialogue, typed: str | None = None) -> Asked:
    """Return the present question for the page. typed: what was sent and not understood."""
    slot, form = dialogue.slot, dialogue.form
    section = next(each for each in form.sections if each.id == slot.question.section)
    applicable = [i for i in dialogue.applicable if form.slots[i].fact not in SESSION_ONLY_FACTS]
    first_of_section = next(i for i in applicable if form.slots[i].question.section == section.id)
    intro = section.intro_coach if dialogue.audience == "coach" else section.intro_self
    opened = dialogue.open_questions
    left = (form.slots[i] for i in applicable if i >= dialogue.position or i in opened)
    given = dialogue.answers.get(slot.fact)
    kind, choices = _choices(slot, given)
    words = "" if given is None else _typed(given, slot, dialogue)
    return Asked(
        fact=slot.fact,
        kind=kind,
        section=section.title,
        intro=(intro or "") if dialogue.position == first_of_section else "",
        text=slot.text(dialogue.audience),
        help=slot.help(dialogue.audience),
        why=slot.question.why,
        number=applicable.index(dialogue.position) + 1,
        of=len(applicable),
        minutes_left=max(1, round(minutes_for(left, dialogue.audience))),
        choices=choices,
        may_decline=slot.question.may_decline,
        may_not_apply=may_not_apply(slot),
        none_label=slot.label(Status.NONE) if _may_be_none(slot, kind) else "",
        typed=words if typed is None else typed,
        how=what_to_type(slot, dialogue.units),
        is_answered=given is not None,
    )


def _may_be_none(slot: Slot, kind: str) -> bool:
    """Tell whether "none" is an answer beside the choices: of a list always, as where it is typed."""
    if slot.question.needs_one:
        return False
    return kind == "many" or (kind == "typed" and slot.declaration.allows_none)


def _choices(slot: Slot, given: Value | None) -> tuple[str, tuple[Choice, ...]]:
    if slot.declaration.type is FactType.CHOICES and not slot.yes_item:
        picked = given if isinstance(given, tuple) else ()
        listed = (Choice(str(value), label, value in picked) for label, value in slot.options)
        return "many", tuple(listed)
    if slot.options:
        listed = (
            Choice(_id(value), label, value == given and given is not None)
            for label, value in slot.options
        )
        choices = tuple(listed)
        return ("buttons" if len(choices) <= _MOST_BUTTONS else "one"), choices
    if slot.yes_item or slot.declaration.type is FactType.BOOLEAN:
        yes, no = _yes_no(slot)
        return "buttons", (
            Choice(_YES, "", given == yes),
            Choice(_NO, "", given == no and given is not None),
        )
    return "typed", ()


def _id(value: Value) -> str:
    if isinstance(value, bool):
        return _YES if value else _NO
    return str(value)


def _yes_no(slot: Slot) -> tuple[Value, Value]:
    return ((slot.yes_item,), ()) if slot.yes_item else (True, False)


def _typed(given: Value, slot: Slot, dialogue: Dialogue) -> str:
    if isinstance(given, Status | tuple | bool):
        return ""
    return answer_in_words(given, slot, dialogue.units)


def step_of(dialogue: Dialogue, form: Mapping[str, list[str]]) -> Step:
    """Return the step that a sent form means for the present question.

    do: answer, not_sure, rather_not, none, not_applicable, back or units; answer: what was picked
    or typed. A form about another question, sent twice or from an old page, changes nothing.
    """
    do = (form.get("do") or ["answer"])[-1]
    if dialogue.in_review:
        return d.back(dialogue) if do == "back" else Step(dialogue)
    slot = dialogue.slot
    if (form.get("fact") or [slot.fact])[-1] != slot.fact:
        return Step(dialogue)
    if do in _MOVES:
        return _MOVES[do](dialogue)
    kind, _ = _choices(slot, None)
    if do == "none" and _may_be_none(slot, kind):
        return d.give(dialogue, () if kind == "many" else Status.NONE)
    if do == "not_applicable" and may_not_apply(slot):
        return d.give(dialogue, Status.NOT_APPLICABLE)
    return _answer(dialogue, slot, form.get("answer") or [])


_MOVES: Mapping[str, Callable[[Dialogue], Step]] = {
    "back": d.back,
    "not_sure": d.clear,
    "rather_not": d.decline,
    "units": d.switch_units,
}


def _answer(dialogue: Dialogue, slot: Slot, sent: list[str]) -> Step:
    kind, choices = _choices(slot, None)
    if kind == "typed":
        return answered(dialogue, sent[-1] if sent else "")
    known = {each.id for each in choices}
    if not sent or not set(sent) <= known:
        # An empty or a foreign pick is told as an empty line is; nothing is guessed.
        return d.answer(dialogue, "")
    if kind == "many":
        return d.give(dialogue, tuple(sorted(set(sent))))
    if not slot.options:
        yes, no = _yes_no(slot)
        return d.give(dialogue, yes if sent[-1] == _YES else no)
    values = {_id(value): value for _, value in slot.options}
    return d.give(dialogue, values[sent[-1]])


def is_yes(form: Mapping[str, list[str]]) -> bool:
    """Tell whether the session-only question was answered yes. Ask once, keep nowhere."""
    return (form.get("answer") or [""])[-1] == _YES
