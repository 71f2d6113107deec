"""The questions of a knowledge base, made ready for asking: order, choices, ask-if."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from assistant.intake.asking import applies
from assistant.intake.quantities import plain_name
from assistant.intake.slot import Audience, Crisis, LineReader, Opening, Slot
from assistant.intake.speech import Speech
from assistant.knowledge.first_steps import (
    CRISIS_FLAG,
    crisis_page,
    crisis_step,
    flags_of_signs,
)
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question, Section, TickItem, TickList
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

__all__ = ["Audience", "Crisis", "Form", "LineReader", "Slot", "form_of", "plain_no", "slot_of"]

# What a tick list's own answer is kept under in a dialogue and its draft. No rule and no case knows it.
TICKS = "ticks."


@dataclass(frozen=True)
class Form:
    """All questions in the order of asking.

    parameters: values in force on `as_of`, by id, for the ask-if clauses. known: answers from before
    to questions that this form does not hold. second_look: a question about an answer that is
    allowed but looks wrong, or None. speech: the language of the dialogue.
    """

    sections: tuple[Section, ...]
    slots: tuple[Slot, ...]
    as_of: dt.date
    parameters: Mapping[str, float] = field(default_factory=dict)
    known: Mapping[str, Value] = field(default_factory=dict)
    second_look: Callable[[str, Value], str | None] | None = None
    speech: Speech = field(default_factory=Speech)

    def index_of(self, fact: str) -> int:
        """Return the place of a fact's question; KeyError if it is not asked."""
        return self._places[fact]

    @cached_property
    def _places(self) -> Mapping[str, int]:
        return {slot.fact: index for index, slot in enumerate(self.slots)}

    def settle(self, confirmed: Mapping[str, Value]) -> tuple[dict[str, Value], tuple[int, ...]]:
        """Return what stands answered, and the indices of the questions that apply.

        Questions are taken in order, each reading the settled answers before it, so what applies
        depends only on earlier answers. A question that does not apply has its `otherwise`, one whose
        item was not ticked its plain no; an open question has no entry. Nor has a tick list, which is
        no answer about anybody: it applies while a question behind it may, and those wait for it.
        """
        settled = {fact: value for fact, value in self.known.items() if fact not in self._places}
        ticked: dict[str, Value | None] = {}
        applicable = []
        for index, slot in enumerate(self.slots):
            if slot.leads_to:
                if any(self._may_apply(fact, settled) for fact in slot.leads_to):
                    ticked[slot.fact] = confirmed.get(slot.fact)
                    applicable.append(index)
                continue
            if not applies(slot.question.ask_if, settled, self.parameters):
                settled[slot.fact] = Status(slot.question.otherwise)
                continue
            behind = slot.opening
            if behind is not None and behind.ticks in ticked:
                ticks = ticked[behind.ticks]
                if ticks is None and slot.fact not in confirmed:
                    continue
                # Only a list that was answered says no; a blank or declined one says nothing.
                if isinstance(ticks, tuple) and behind.item not in ticks:
                    settled[slot.fact] = behind.no
                    continue
            applicable.append(index)
            if slot.fact in confirmed:
                settled[slot.fact] = confirmed[slot.fact]
        return settled, tuple(applicable)

    def _may_apply(self, fact: str, settled: Mapping[str, Value]) -> bool:
        slot = self.slots[self.index_of(fact)]
        return applies(slot.question.ask_if, settled, self.parameters)


def form_of(knowledge: KnowledgeBase, on: dt.date) -> Form:
    """Return the form of a knowledge base for one day."""
    speech = Speech(knowledge.spoken)
    return Form(
        sections=knowledge.sections,
        slots=tuple(replace(slot, today=on) for slot in _slots(knowledge, speech)),
        as_of=on,
        parameters={
            parameter_id: knowledge.parameter_value(parameter_id, on).value
            for parameter_id, parameter in knowledge.parameters.items()
            if parameter.in_force(on) is not None
        },
        speech=speech,
    )


def _slots(knowledge: KnowledgeBase, speech: Speech) -> tuple[Slot, ...]:
    """Return the questions in their order, each tick list right before the first one behind it."""
    slots: list[Slot] = []
    waiting = {fact: ticks for ticks in knowledge.tick_lists for fact in ticks.facts}
    listed: set[str] = set()
    for question in knowledge.questions:
        slot = slot_of(question, knowledge, speech)
        ticks = waiting.get(question.fact)
        if ticks is not None:
            if ticks.id not in listed:
                slots.append(_tick_slot(ticks, knowledge, speech))
                listed.add(ticks.id)
            slot = replace(slot, opening=_opening(ticks, slot.declaration))
        slots.append(slot)
    return tuple(slots)


def _tick_slot(ticks: TickList, knowledge: KnowledgeBase, speech: Speech) -> Slot:
    choices = tuple(item.id for item in ticks.items)
    fact = TICKS + ticks.id
    question = Question(
        fact=fact,
        section=ticks.section,
        coach=ticks.coach,
        self=ticks.self,
        why=ticks.why,
        help=ticks.help,
        labels={item.id: item.label for item in ticks.items},
        may_decline=True,
    )
    declared = FactDeclaration(
        id=fact,
        label=ticks.label,
        type=FactType.CHOICES,
        origin="answer",
        choices=choices,
        allows_none=True,
    )
    names = {Status.NONE.value: knowledge.wording.labels.get(Status.NONE, "")}
    also = _tick_words(ticks, knowledge)
    return Slot(question, declared, choices, names, speech=speech, leads_to=ticks.facts, also=also)


def _tick_words(ticks: TickList, knowledge: KnowledgeBase) -> Mapping[str, tuple[str, ...]]:
    """Return what else ticks an item: its own words, and those that a safety list behind it is answered with.

    Whoever names a tablet where medicines in general are asked about has answered that there are some.
    """
    also: dict[str, tuple[str, ...]] = {}
    for item in ticks.items:
        words = [plain_name(word) for word in item.words]
        for fact in item.facts:
            declared = knowledge.facts[fact]
            if declared.is_safety and declared.type is FactType.CHOICES:
                words += _also(knowledge, fact)
        for word in words:
            also[word] = (*also.get(word, ()), item.id)
    return also


def _opening(ticks: TickList, declaration: FactDeclaration) -> Opening:
    item = next(each for each in ticks.items if declaration.id in each.facts)
    return Opening(TICKS + ticks.id, item.id, plain_no(item, declaration))


def plain_no(item: TickItem, declaration: FactDeclaration) -> Value:
    """Return the answer of somebody who does not tick the item."""
    if declaration.type is FactType.BOOLEAN:
        return False
    if declaration.type is FactType.CHOICES:
        return ()
    said = item.otherwise[declaration.id]
    is_status = isinstance(said, str) and said in set(Status) and said not in declaration.choices
    return Status(str(said)) if is_status else said


def slot_of(question: Question, knowledge: KnowledgeBase, speech: Speech) -> Slot:
    """Return a question with what its answer may be. speech: shared by the slots of a form."""
    declaration = knowledge.facts[question.fact]
    choices = declaration.choices
    if declaration.type in {FactType.CHOICE, FactType.CHOICES} and declaration.choice_domain:
        choices = knowledge.book.domains[declaration.choice_domain]
    names = {each: knowledge.wording.labels.get(each, "") for each in (*choices, Status.NONE)}
    unit = knowledge.wording.units.get(declaration.unit, declaration.unit)
    return Slot(
        question,
        declaration,
        choices,
        names,
        "" if unit == "1" else unit,
        also=_also(knowledge, question.fact),
        crisis=_crisis(knowledge) if question.fact in SESSION_ONLY_FACTS else {},
        signs=flags_of_signs(knowledge, question.fact),
        speech=speech,
    )


def _also(knowledge: KnowledgeBase, fact: str) -> Mapping[str, tuple[str, ...]]:
    also: dict[str, tuple[str, ...]] = {}
    for typed in knowledge.typed_words:
        for choice, words in typed.words.items() if typed.fact == fact else ():
            for word in map(plain_name, words):
                also[word] = (*also.get(word, ()), choice)
    return also


def _crisis(knowledge: KnowledgeBase) -> dict[Audience, Crisis]:
    if CRISIS_FLAG not in knowledge.flags:
        return {}
    audiences: tuple[Audience, ...] = ("coach", "self")
    return {
        voice: Crisis(
            crisis_page(knowledge, voice),
            crisis_step(knowledge, "safe_yes", voice),
            crisis_step(knowledge, "safe_no", voice),
        )
        for voice in audiences
    }
