"""One question with what its answer may be, and how a line that holds several things is read."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from assistant.intake.quantities import UnitSystem
from assistant.intake.speech import Speech
from assistant.knowledge.first_steps import told_at_once
from assistant.model.documents.flags import Flag
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.questions import Question
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
class Opening:
    """The item of a tick list that leads to a question, and the answer where it is not ticked."""

    ticks: str
    item: str
    no: Value


@dataclass(frozen=True)
class Slot:
    """One question with what its answer may be.

    choices: ids in the declared order. names: what the book calls ids that the question itself does
    not name. unit: the unit of a plain number as people say it. lines: how a line of text that
    holds several things is read; None for any words. yes_item: the choice that a plain yes records
    where a list is not read out (see `Question.self_yes_means`). crisis: pages by audience. signs:
    the flags that tell what to do first for each sign that is ticked here. speech: the language it is
    asked in. leads_to: of a tick list, the facts behind it. opening: of a question behind a tick list,
    where it stands there. also: other words for choices, tidied. today: from which `since` counts.
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
    leads_to: tuple[str, ...] = ()
    opening: Opening | None = None
    also: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    today: dt.date | None = None

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

    def called(self, audience: Audience) -> str:
        """Return what the answer is called where all answers are read."""
        own = self.question.label_self if audience == "self" else None
        return own or self.declaration.label

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
