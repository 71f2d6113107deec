"""check.yaml: what the checks of the rule book take for granted, and words they object to."""

import re
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Names, Text
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


class TradeWord(Document):
    """A pattern of words of the trade, and the plain words to say instead; in brackets behind those it may stand."""

    pattern: Text
    plain: Text


class NeverSaid(TradeWord):
    """A pattern of words no client reads, in brackets or not, and what to say instead. only: in these texts alone."""

    only: Literal["flag", ""] = ""


class CheckSettings(RuleFile):
    """The whole file.

    never_said: to a client, by language. trade_words: by language, what is explained wherever a client reads it. most_words: of one sentence for a
    client; 0 is no limit. read_elsewhere: what no rule and no page reads (an ending of `*` stands for all names
    that begin so), with its reader.
    """

    over_claiming: tuple[OverClaim, ...] = ()
    never_said: dict[Annotated[str, Names("language")], tuple[NeverSaid, ...]] = {}
    trade_words: dict[Annotated[str, Names("language")], tuple[TradeWord, ...]] = {}
    most_words: Annotated[int, Field(ge=0)] = 0
    read_elsewhere: dict[str, Text] = {}

    def reads(self, name: str) -> bool:
        """Whether something other than a rule or a page reads a name."""
        return any(matches(pattern, name) for pattern in self.read_elsewhere)

    def faults(self) -> Iterator[Fault]:
        """Yield patterns that are none."""
        shelves: dict[tuple[str, ...], tuple[OverClaim | TradeWord, ...]] = {
            ("over_claiming",): self.over_claiming,
            **{("never_said", code): words for code, words in self.never_said.items()},
            **{("trade_words", code): words for code, words in self.trade_words.items()},
        }
        rows = ((path, *row) for path, words in shelves.items() for row in enumerate(words))
        for path, number, each in rows:
            try:
                re.compile(each.pattern)
            except re.error as error:
                text = (
                    f"`{each.pattern}` is not a pattern ({error}); correct the brackets and marks"
                )
                yield Fault((*path, number, "pattern"), "bad-pattern", text)


def matches(pattern: str, name: str) -> bool:
    """Whether a name is the pattern, or begins like a pattern that ends in `*`."""
    if pattern.endswith("*"):
        return name.startswith(pattern[:-1])
    return name == pattern
