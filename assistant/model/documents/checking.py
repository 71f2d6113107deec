"""check.yaml: what the checks of the rule book take for granted, and words they object to."""

import re
from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Text
from assistant.model.sources import CERTAINTY_ORDER, Certainty


class OverClaim(Document):
    """A pattern of words, and the weakest certainty that bears it."""

    pattern: Text
    from_: Annotated[Certainty, Field(alias="from")]

    def objects(self, sentence: str, certainty: Certainty) -> str | None:
        """Return the words of a sentence that a certainty does not bear, if any."""
        found = re.search(self.pattern, sentence, re.IGNORECASE)
        too_weak = CERTAINTY_ORDER.index(certainty) > CERTAINTY_ORDER.index(self.from_)
        return found[0] if found and too_weak else None


class CheckSettings(RuleFile):
    """The whole file.

    read_elsewhere: what no rule and no page reads (an ending of `*` stands for all names that begin
    so), with its reader.
    """

    over_claiming: tuple[OverClaim, ...] = ()
    read_elsewhere: dict[str, Text] = {}

    def reads(self, name: str) -> bool:
        """Whether something other than a rule or a page reads a name."""
        return any(matches(pattern, name) for pattern in self.read_elsewhere)

    def faults(self) -> Iterator[Fault]:
        """Yield patterns that are none."""
        for number, each in enumerate(self.over_claiming):
            try:
                re.compile(each.pattern)
            except re.error as error:
                text = (
                    f"`{each.pattern}` is not a pattern ({error}); correct the brackets and marks"
                )
                yield Fault(("over_claiming", number, "pattern"), "bad-pattern", text)


def matches(pattern: str, name: str) -> bool:
    """Whether a name is the pattern, or begins like a pattern that ends in `*`."""
    if pattern.endswith("*"):
        return name.startswith(pattern[:-1])
    return name == pattern
