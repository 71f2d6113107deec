"""Questions of the intake: wording for both audiences, why we ask, when to ask, and lists to tick first."""

from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document
from assistant.model.clauses import Condition
from assistant.model.facts import FactId, Identifier


class Section(Document):
    """A section of the intake, shown with progress."""

    id: Identifier
    title: str
    intro_coach: str | None = None
    intro_self: str | None = None


class Question(Document):
    """One question; its answer is the value of `fact`.

    ask_if: asked only if all these conditions hold on the answers so far; when one is known not to
    hold, the fact becomes `otherwise` (a status, usually not_applicable).
    suggestion: shown as the default for a bare Enter (never for safety answers).
    labels: what to call each choice. quantity: which units may be typed.
    closing: text shown to everyone after the answer, whatever it was (crisis support).
    help_self, closing_self: the same for a person who answers alone; absent, the first wording stands.
    self_yes_means: a list that names what nobody alone should read as a list. A person alone is asked
    yes or no, and yes records this one choice.
    no_means: what a plain no is where a number or one of several choices is asked for.
    needs_one: of a list, that none is no answer.
    of_two: which of two numbers counts where a span is typed (`6 to 7`): the low or the high end or the middle.
    Absent, the person is asked; a span of a safety answer is always asked about. upper and lower: of a
    pressure typed as one over the other.
    label_self: what the answer is called where a person who answers alone reads all answers.
    """

    fact: FactId
    section: Identifier
    coach: str
    self: str
    why: str
    help: str | None = None
    ask_if: tuple[Condition, ...] = ()
    otherwise: Literal["not_applicable", "none", "unknown"] = "not_applicable"
    suggestion: bool | float | str | None = None
    labels: dict[str, str] = {}
    quantity: (
        Annotated[str, Field(pattern="^(mass|length|energy|duration_min|duration_h)$")] | None
    ) = None
    may_decline: bool = False
    closing: str | None = None
    help_self: str | None = None
    closing_self: str | None = None
    self_yes_means: Identifier | None = None
    no_means: float | str | None = None
    needs_one: Literal[True] | None = None
    of_two: Literal["low", "middle", "high", "upper", "lower"] | None = None
    label_self: str | None = None


class TickItem(Document):
    """One thing to tick.

    facts: whose questions are asked where it is ticked. otherwise: what each of them is where it is not
    ticked, unless that follows from its kind: false for yes/no, the empty list for a list. words: what people type
    for it beside its label.
    """

    id: Identifier
    label: str
    facts: Annotated[tuple[FactId, ...], Field(min_length=1)]
    otherwise: dict[FactId, float | str] = {}
    words: tuple[str, ...] = ()


class TickList(Document):
    """A list of "any of these?": one answer for several questions, asked right before the first of them.

    What is not ticked is answered with its plain no; what is ticked is asked as if there were no list.
    A list that is left blank or declined answers nothing, so everything behind it is asked.
    label: what the list is called in the review of answers.
    """

    id: Identifier
    section: Identifier
    label: str
    coach: str
    self: str
    why: str
    help: str | None = None
    items: Annotated[tuple[TickItem, ...], Field(min_length=1)]

    @property
    def facts(self) -> tuple[str, ...]:
        """Facts behind all items."""
        return tuple(fact for item in self.items for fact in item.facts)


class TypedWords(Document):
    """Other words that people type for the choices of a question.

    words: by choice; a word that stands under several choices of a list means all of them. source: who
    says so, where it is a matter of fact and not of speech.
    """

    id: Identifier
    fact: FactId
    source: tuple[str, ...] = ()
    words: dict[str, tuple[str, ...]]
