"""The questions of a knowledge base, made ready for asking: order, choices, ask-if."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from assistant.intake.asking import applies
from assistant.intake.quantities import UnitSystem
from assistant.intake.speech import Speech
from assistant.knowledge.first_steps import (
    CRISIS_FLAG,
    crisis_page,
    crisis_step,
    flags_of_signs,
    told_at_once,
)
from assistant.model.documents.flags import Flag
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question, Section
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

Audience = Literal["coach", "self"]


@dataclass(frozen=True)
class LineReader:
    """How a line that holds several things is read.

    read: from typed text to the same in one spelling; raises Refusal. how: what to type, in words. shown:
    from that one spelling to the words of the form's language, which are read as well.
    """

    read: Callable[[str, UnitSystem], str]
    how: str
    shown: Callable[[str], str] = str


@dataclass(frozen=True)
class Crisis:
    """What is shown after a yes to the question about self-harm, and after what is typed on that page."""

    page: tuple[str, ...]
    safe: str
    not_safe: str


@dataclass(frozen=True)
class Slot:
    """One question with what its answer may be.

    choices: ids in the declared order. names: what the book calls ids that the question itself does
    not name. unit: the unit of a plain number as people say it. lines: how a line of text that
    holds several things is read; None for any words. yes_item: the choice that a plain yes records
    where a list is not read out (see `Question.self_yes_means`). crisis: pages by audience. signs:
    the flags that tell what to do first for each sign that is ticked here. speech: the language it is
    asked in.
    """

    question: Question
    declaration: FactDeclaration
    choices: tuple[str, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    lines: LineReader | None = None
    yes_item: str = ""
    crisis: Mapping[Audience, Crisis] = field(default_factory=dict)
    signs: tuple[Flag, ...] = ()
    speech: Speech = field(default_factory=Speech)

    def asked_of(self, audience: Audience) -> "Slot":
        """Return the question as this audience is asked: one that is alone is read no list of ways."""
        means = self.question.self_yes_means
        if audience == "coach" or means is None:
            return self
        return replace(self, choices=(), yes_item=means)

    @property
    def fact(self) -> str:
        """The fact that the answer is the value of."""
        return self.question.fact

    def label(self, choice: str) -> str:
        """What a choice is called."""
        named = self.question.labels.get(choice) or self.names.get(choice)
        return named or choice.replace("_", " ")

    def text(self, audience: Audience) -> str:
        """The wording for one audience."""
        return self.question.coach if audience == "coach" else self.question.self

    def help(self, audience: Audience) -> str:
        """Return the line of help for one audience, empty if there is none."""
        own = self.question.help_self if audience == "self" else None
        return own or self.question.help or ""

    def closing(self, audience: Audience) -> str:
        """Return the text that everyone sees after the answer, empty if there is none."""
        own = self.question.closing_self if audience == "self" else None
        return own or self.question.closing or ""

    def told_at_once(self, value: Value, audience: Audience) -> str:
        """Return what a sign that was just ticked asks for, so that nobody reads on to the end first."""
        answers = {self.fact: value}
        return "\n\n".join(
            text for words in self.signs for text in told_at_once(words, answers, audience)
        )

    @property
    def options(self) -> tuple[tuple[str, Value], ...]:
        """Labels and values in the order they are numbered on the screen; empty for free typing.

        A yes/no question whose two answers have names is chosen from, because with such names
        ("rest" and "train anyway") a plain yes could mean either.
        """
        labels = self.question.labels
        if self.declaration.type is FactType.BOOLEAN:
            named: dict[str, Value] = {"true": True, "false": False}
            both = set(named) <= set(labels)
            return tuple((labels[key], named[key]) for key in labels if key in named and both)
        listed: list[tuple[str, Value]] = [(self.label(choice), choice) for choice in self.choices]
        single = self.declaration.type is FactType.CHOICE
        if single and self.declaration.allows_none and Status.NONE not in self.choices:
            listed.append((self.label(Status.NONE), Status.NONE))
        return tuple(listed)

    @property
    def suggestion(self) -> bool | float | str | None:
        """The value of a bare Enter. A safety answer is never suggested."""
        return None if self.declaration.is_safety else self.question.suggestion


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
        for index, slot in enumerate(self.slots):
            if slot.fact == fact:
                return index
        raise KeyError(fact)

    def settle(self, confirmed: Mapping[str, Value]) -> tuple[dict[str, Value], tuple[int, ...]]:
        """Return what stands answered, and the indices of the questions that apply.

        Questions are taken in order, each reading the settled answers before it, so what applies
        depends only on earlier answers. A question that does not apply has its `otherwise`; an
        open question has no entry.
        """
        asked = {slot.fact for slot in self.slots}
        settled = {fact: value for fact, value in self.known.items() if fact not in asked}
        applicable = []
        for index, slot in enumerate(self.slots):
            if not applies(slot.question.ask_if, settled, self.parameters):
                settled[slot.fact] = Status(slot.question.otherwise)
                continue
            applicable.append(index)
            if slot.fact in confirmed:
                settled[slot.fact] = confirmed[slot.fact]
        return settled, tuple(applicable)


def form_of(knowledge: KnowledgeBase, on: dt.date) -> Form:
    """Return the form of a knowledge base for one day."""
    speech = Speech(knowledge.spoken)
    return Form(
        sections=knowledge.sections,
        slots=tuple(slot_of(question, knowledge, speech) for question in knowledge.questions),
        as_of=on,
        parameters={
            parameter_id: knowledge.parameter_value(parameter_id, on).value
            for parameter_id, parameter in knowledge.parameters.items()
            if parameter.in_force(on) is not None
        },
        speech=speech,
    )


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
        crisis=_crisis(knowledge) if question.fact in SESSION_ONLY_FACTS else {},
        signs=flags_of_signs(knowledge, question.fact),
        speech=speech,
    )


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
