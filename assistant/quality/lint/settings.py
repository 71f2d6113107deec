"""rules/check.yaml: the words the checks object to, and what is read by no rule."""

import re
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from assistant.knowledge.draft import Draft
from assistant.knowledge.shapes import shape
from assistant.model.base import Document
from assistant.model.errors import Problem
from assistant.model.sources import CERTAINTY_ORDER, Certainty

DOCUMENT = "check"


class OverClaim(Document):
    """A pattern of words, and the weakest certainty that bears it."""

    pattern: Annotated[str, Field(min_length=1)]
    from_: Annotated[Certainty, Field(alias="from")]


class CheckDocument(Document):
    """The file as it is written."""

    over_claiming: tuple[OverClaim, ...] = ()
    read_elsewhere: dict[str, str] = {}


@dataclass(frozen=True)
class CheckSettings:
    """The settings made ready.

    over_claiming: patterns with the certainties that do not bear them.
    read_elsewhere: names (an ending of `*` matches all that begin so) with a reason.
    """

    over_claiming: tuple[tuple[re.Pattern[str], frozenset[Certainty]], ...] = ()
    read_elsewhere: tuple[str, ...] = ()

    def reads(self, name: str) -> bool:
        """Whether something other than a rule or a page reads a name."""
        return any(matches(pattern, name) for pattern in self.read_elsewhere)


def matches(pattern: str, name: str) -> bool:
    """Whether a name is the pattern, or begins like a pattern that ends in `*`."""
    if pattern.endswith("*"):
        return name.startswith(pattern[:-1])
    return name == pattern


def check_settings(draft: Draft) -> tuple[CheckSettings, list[Problem]]:
    """Return the settings of a draft, empty ones if it has none, and what is wrong with them."""
    origin = draft.origins.get(("document", DOCUMENT))
    if origin is None:
        return CheckSettings(), []
    made = shape(CheckDocument, draft.documents[DOCUMENT], origin.parsed, ())
    if isinstance(made, list):
        return CheckSettings(), made
    problems: list[Problem] = []
    patterns = []
    for number, each in enumerate(made.over_claiming):
        try:
            pattern = re.compile(each.pattern, re.IGNORECASE)
        except re.error as error:
            place = draft.place("document", DOCUMENT, "over_claiming", number)
            text = f"`{each.pattern}` is not a pattern ({error}); correct the brackets and marks"
            problems.append(Problem(place, "bad-pattern", text))
            continue
        weaker = CERTAINTY_ORDER[CERTAINTY_ORDER.index(each.from_) + 1 :]
        patterns.append((pattern, frozenset(weaker)))
    return CheckSettings(tuple(patterns), tuple(made.read_elsewhere)), problems
