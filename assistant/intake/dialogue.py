"""The intake as a pure state machine: a frozen state, and transitions that return the next one.

The state walks through the questions that apply. Answers are confirmed one by one; going back,
skipping or leaving never loses a confirmed answer. Only a change of an earlier answer can take
one out, when its question no longer applies, and the step says so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

from assistant.intake.doubts import doubt, refused
from assistant.intake.events import Confirmed, Event, SupportShown, UnitsSwitched
from assistant.intake.form import Audience, Crisis, Form, Slot
from assistant.intake.parse import parse_answer
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.intake.speech import Sentence
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value


class Ending(StrEnum):
    """How a session ends. aside: after a yes to the question about self-harm no case is written."""

    SAVED = "saved"
    FINISHED = "finished"
    ASIDE = "aside"


@dataclass(frozen=True)
class Dialogue:
    """The state of an intake.

    answers: confirmed answers of questions that apply. position: index of the question that is asked now; the number of
    questions stands for the review. editing: the question was picked in the review. trail: where the person came from,
    as (position, editing), for going back. doubted: an answer that was questioned and is taken when given again.
    offered: what a yes to "did you mean" is read as, and at which question. aside: the question about self-harm was
    answered yes in this session; it stays so until the session ends, whatever is changed afterwards.
    """

    form: Form
    audience: Audience
    units: UnitSystem = UnitSystem.METRIC
    answers: Mapping[str, Value] = field(default_factory=dict)
    position: int = 0
    editing: bool = False
    trail: tuple[tuple[int, bool], ...] = ()
    doubted: Confirmed | None = None
    offered: Confirmed | None = None
    aside: bool = False

    @property
    def in_review(self) -> bool:
        """True while the review is shown instead of a question."""
        return self.position >= len(self.form.slots)

    @property
    def slot(self) -> Slot:
        """The question that is asked now, as this audience is asked; IndexError in the review."""
        return self.form.slots[self.position].asked_of(self.audience)

    def told(self, template: str, **values: str | float | Sentence) -> "Step":
        """Return a step that stays here and says something, in the language of the form."""
        return Step(self, self.form.speech.say(template, **values))

    @property
    def applicable(self) -> tuple[int, ...]:
        """Indices of the questions that apply to this person so far."""
        return self._settled[1]

    @property
    def open_questions(self) -> tuple[int, ...]:
        """Indices of the questions that apply and are neither answered nor left blank."""
        return tuple(
            index for index in self.applicable if self.form.slots[index].fact not in self.answers
        )

    @property
    def settled(self) -> Mapping[str, Value]:
        """Confirmed answers, and what follows for the questions that do not apply."""
        return self._settled[0]

    @cached_property
    def _settled(self) -> tuple[Mapping[str, Value], tuple[int, ...]]:
        return self.form.settle(self.answers)


@dataclass(frozen=True)
class Step:
    """A transition: the new state, what to tell the person, what to remember.

    support: what a ticked sign asks for at once, or a text that everyone is shown after this answer,
    whatever it was. crisis: the page that stands instead after a yes to the question about self-harm.
    """

    dialogue: Dialogue
    notice: str = ""
    events: tuple[Event, ...] = ()
    support: str = ""
    crisis: Crisis | None = None
    ending: Ending | None = None


def start(form: Form, audience: Audience, units: UnitSystem = UnitSystem.METRIC) -> Dialogue:
    """Return a dialogue at its first question."""
    return at_first_open(Dialogue(form, audience, units))


def at_first_open(dialogue: Dialogue) -> Dialogue:
    """Return the dialogue at the first open question, or in the review if there is none.

    This is where a session starts or goes on, so there is no way back beyond it but the order. Nobody
    comes back to the question about self-harm as the first thing: it waits until they finish.
    """
    at_first = replace(dialogue, editing=False, trail=(), doubted=None)
    slots = dialogue.form.slots
    opened = (i for i in dialogue.open_questions if slots[i].fact not in SESSION_ONLY_FACTS)
    return replace(at_first, position=next(opened, len(slots)))


def _first_open(dialogue: Dialogue) -> int:
    opened = dialogue.open_questions
    return opened[0] if opened else len(dialogue.form.slots)


def _go(dialogue: Dialogue, position: int, *, editing: bool = False) -> Dialogue:
    trail = (*dialogue.trail, (dialogue.position, dialogue.editing))
    here = replace(dialogue, position=position, editing=editing, trail=trail)
    return replace(here, doubted=None, offered=None)


def answer(dialogue: Dialogue, text: str) -> Step:
    """Read typed text as the answer to the present question.

    Empty text keeps the answer given before, or takes the suggestion. Text that is no answer, and
    an answer that does not sit well with another one, leave the state where it is, with a notice.
    """
    slot = dialogue.slot
    if not text.strip():
        return _bare_enter(dialogue, slot)
    try:
        value = parse_answer(text, slot, dialogue.units)
    except Refusal as refusal:
        told = refused(refusal, text, slot, dialogue.form, dialogue.answers, dialogue.units)
        near = Confirmed(slot.fact, refusal.instead) if refusal.instead else None
        return Step(dialogue if near == dialogue.offered else replace(dialogue, offered=near), told)
    return give(dialogue, value)


def _bare_enter(dialogue: Dialogue, slot: Slot) -> Step:
    if slot.fact in dialogue.answers:
        return Step(_forward(dialogue, was_open=False))
    if slot.suggestion is not None:
        return give(dialogue, slot.suggestion)
    return dialogue.told("Nothing typed yet. Type an answer, or skip to leave this one blank.")


def give(dialogue: Dialogue, value: Value) -> Step:
    """Take a value as the answer to the present question; one that looks wrong is asked about first."""
    if value == () and dialogue.slot.question.needs_one:
        return dialogue.told("At least one is needed.")
    given = Confirmed(dialogue.slot.fact, value)
    question = doubt(given.fact, value, dialogue.answers, dialogue.form)
    if question is not None and dialogue.doubted != given:
        told = "{question} Type the same again if it is right, or back to change."
        return replace(dialogue, doubted=given).told(told, question=question)
    return _record(dialogue, value)


def _record(dialogue: Dialogue, value: Value) -> Step:
    slot = dialogue.slot
    given = Confirmed(slot.fact, value)
    recorded, dropped = with_answer(dialogue, given)
    notice = "No longer applies, so taken out: {answers}." if dropped else ""
    yes = slot.fact in SESSION_ONLY_FACTS and value is True
    return Step(
        dialogue=_forward(recorded, was_open=slot.fact not in dialogue.answers),
        notice=dialogue.form.speech.say(notice, answers=", ".join(dropped)),
        events=(given,),
        support=slot.told_at_once(value, dialogue.audience) or slot.closing(dialogue.audience),
        crisis=slot.crisis.get(dialogue.audience) if yes else None,
    )


def with_answer(dialogue: Dialogue, given: Confirmed) -> tuple[Dialogue, tuple[str, ...]]:
    """Return the dialogue with one more answer, and labels of answers that no longer apply."""
    answers = {**dialogue.answers, given.fact: given.value}
    _, applicable = dialogue.form.settle(answers)
    kept_facts = {dialogue.form.slots[index].fact for index in applicable}
    dropped = tuple(
        slot.called(dialogue.audience)
        for slot in dialogue.form.slots
        if slot.fact in answers and slot.fact not in kept_facts
    )
    kept = {fact: value for fact, value in answers.items() if fact in kept_facts}
    aside = dialogue.aside or (given.fact in SESSION_ONLY_FACTS and given.value is True)
    return replace(dialogue, answers=kept, aside=aside, doubted=None), dropped


def _forward(dialogue: Dialogue, *, was_open: bool) -> Dialogue:
    """Go on: from an open question to the next open one, from an answered one to the next at all.

    After an edit, and at the end, questions that are still open come before the review.
    """
    ahead = dialogue.open_questions if was_open else dialogue.applicable
    later = [index for index in ahead if index > dialogue.position]
    if later and (was_open or not dialogue.editing):
        return _go(dialogue, later[0])
    return _go(dialogue, _first_open(dialogue))


def back(dialogue: Dialogue) -> Step:
    """Go to where the person came from; without a trail, to the question before in order."""
    applicable = dialogue.applicable
    trail = list(dialogue.trail)
    while trail:
        position, editing = trail.pop()
        if position in applicable or position >= len(dialogue.form.slots):
            came_from = replace(dialogue, position=position, editing=editing, doubted=None)
            return Step(replace(came_from, trail=tuple(trail)))
    earlier = [index for index in applicable if index < dialogue.position]
    if not earlier:
        return replace(dialogue, trail=(), doubted=None).told("This is the first question.")
    return Step(replace(dialogue, position=earlier[-1], trail=(), editing=False, doubted=None))


def skip(dialogue: Dialogue) -> Step:
    """Leave an open question blank (unknown). An answer given before stays as it is."""
    if dialogue.slot.fact in dialogue.answers:
        return _forward(dialogue, was_open=False).told("Your answer from before stays.")
    return _record(dialogue, Status.UNKNOWN)


def clear(dialogue: Dialogue) -> Step:
    """Take back an answer: the question then counts as left blank."""
    return _record(dialogue, Status.UNKNOWN)


def decline(dialogue: Dialogue) -> Step:
    """Record that the person would rather not say, where the question offers that."""
    if not dialogue.slot.question.may_decline:
        return dialogue.told("Type skip to leave this one blank.")
    return _record(dialogue, Status.DECLINED)


def why(dialogue: Dialogue) -> Step:
    """Tell why the present question is asked; nothing else changes."""
    return dialogue.told("Why we ask: {why}", why=dialogue.slot.question.why)


def switch_units(dialogue: Dialogue) -> Step:
    """Read and show measures in the other system from here on; answers stay as they are."""
    units = dialogue.units.other
    told = "Units are now {units}. Answers given so far stay the same."
    switched = replace(dialogue, units=units, doubted=None)
    told_so = switched.told(told, units=Sentence(units.value))
    return replace(told_so, events=(UnitsSwitched(units),))


def review(dialogue: Dialogue) -> Step:
    """Go to the review of all answers."""
    return Step(dialogue if dialogue.in_review else _go(dialogue, len(dialogue.form.slots)))


def edit(dialogue: Dialogue, index: int) -> Step:
    """Go from the review to one question; after its answer the review comes back."""
    if index not in dialogue.applicable:
        return dialogue.told("There is no such number in the list.")
    return Step(_go(dialogue, index, editing=True))


def save(dialogue: Dialogue) -> Step:
    """Leave now; everything confirmed is kept in the draft."""
    return Step(dialogue, ending=Ending.ASIDE if dialogue.aside else Ending.SAVED)


def finish(dialogue: Dialogue) -> Step:
    """End the intake, unless a question is still open."""
    opened = dialogue.open_questions
    if opened:
        told = "Questions still open: {count}. Type skip to leave one blank."
        return _go(dialogue, opened[0]).told(told, count=len(opened))
    return Step(dialogue, ending=Ending.ASIDE if dialogue.aside else Ending.FINISHED)


def replay(dialogue: Dialogue, events: Sequence[Event]) -> Dialogue:
    """Return the dialogue after remembered events, at its first open question.

    A session-only answer was not remembered, so its question is open again.
    """
    for event in events:
        match event:
            case Confirmed():
                dialogue, _ = with_answer(dialogue, event)
            case UnitsSwitched():
                dialogue = replace(dialogue, units=event.units)
            case SupportShown():
                pass
    return at_first_open(dialogue)
