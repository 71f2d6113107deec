"""message.yaml: the short message to a client that a review becomes."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from assistant.model.away import AwayKind
from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.documents.page import FactSentence
from assistant.model.marks import Fact, Names, Number, Plain, Slots, Text

# What stands before and after its sentences.
ENDS_OF_A_MESSAGE = ("greeting", "closing", "closing_undated")


class MessageStep(Document):
    """What a decision comes to. say: what changes. next: what the client does next."""

    say: Plain
    next: Plain


class MessageLine(Document):
    """One sentence, said where the fact `about` and all facts it names have a value the client may see.

    value: the value that `about` must have; without it a yes/no fact must hold, another be known.
    unless_said: a line before this one that says it already. as_line: a line of the plan; where that is
    silent, so is this.
    """

    line: Text
    about: Fact
    value: str | None = None
    say: FactSentence
    unless_said: tuple[str, ...] = ()
    as_line: Annotated[str, Names("line of the plan")] | None = None


class MessageDocument(RuleFile):
    """The whole file.

    urgent: where somebody should be seen so soon, before anything else. stopped: under a stop. away: the next step on days without training, by what they are, whatever else is
    decided but to see somebody. decisions: by what the review decides. undecided: where it decides nothing.
    lines: in the order of weight; those that no longer fit into `most_words` are left out.
    """

    most_words: Number
    greeting: Annotated[Text, Slots(("name",))]
    closing: Annotated[Text, Slots(("next", "date"))]
    closing_undated: Annotated[Text, Slots(("next",))]
    urgent: dict[Annotated[str, Names("choice of screen.referral_urgency")], MessageStep] = {}
    stopped: MessageStep
    away: dict[AwayKind, Plain] = {}
    decisions: dict[Annotated[str, Names("choice of review.decision")], MessageStep]
    undecided: MessageStep
    lines: Annotated[tuple[MessageLine, ...], Field(min_length=1)]

    def needs(self) -> Iterator[str]:
        """Yield the parameter of the length."""
        yield self.most_words

    def faults(self) -> Iterator[Fault]:
        """Yield lines named twice, and lines that wait for one that does not come before them."""
        rows = enumerate(self.lines)
        yield from repeated((("lines", number, "line"), row.line) for number, row in rows)
        before: set[str] = set()
        for number, row in enumerate(self.lines):
            for name in sorted(set(row.unless_said) - before):
                text = f"`{name}` is no line before this one"
                yield Fault(("lines", number, "unless_said"), "unknown-line", text)
            before.add(row.line)
