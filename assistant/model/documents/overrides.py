"""overrides.yaml: which lines of a plan a coach may change by hand, how far, and what a reason must say."""

import re
from collections.abc import Iterator
from typing import Annotated, Literal

from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import Fact, Names, Output, Text


class OverrideLimit(Document):
    """How far one line of a plan may be changed; see the head of rules/overrides.yaml."""

    fact: Fact
    at_least: tuple[Fact, ...] = ()
    at_most: tuple[Fact, ...] = ()
    own_range: bool = False
    closed_while: tuple[Output, ...] = ()
    closed_from: Literal["inform", "caution", "withhold"] | None = None
    ends_with: Fact | None = None


class Reasons(Document):
    """What the reason of a change must say, and the codes it may begin with, as in `pain: the knee`.

    says_nothing: patterns of whole reasons, in lower case, that tell nobody anything.
    """

    says_nothing: tuple[str, ...] = ()
    codes: dict[str, Text] = {}

    def tells(self, reason: str) -> bool:
        """Whether a reason says something; a code alone does."""
        code = self.code_of(reason)
        said = " ".join(reason.split()).casefold().removeprefix(code).lstrip(": ")
        if code and not said:
            return True
        return not any(re.fullmatch(pattern, said) for pattern in self.says_nothing)

    def code_of(self, reason: str) -> str:
        """Return the code that a reason begins with; empty for one in other words."""
        head = reason.partition(":")[0].strip().casefold()
        return head if head in self.codes else ""

    @property
    def wanted(self) -> str:
        """What to write instead of a reason that says nothing."""
        codes = ", ".join(self.codes)
        begin = f"; it may begin with a code and a colon: {codes}" if codes else ""
        return f"say in words what led to it{begin}"


class Overrides(RuleFile):
    """The whole file, by line of the plan."""

    lines: dict[Annotated[str, Names("line of the plan")], OverrideLimit] = {}
    reasons: Reasons = Reasons()

    def faults(self) -> Iterator[Fault]:
        """Yield patterns that are none."""
        for number, pattern in enumerate(self.reasons.says_nothing):
            try:
                re.compile(pattern)
            except re.error as error:
                text = f"`{pattern}` is not a pattern ({error}); correct the brackets and marks"
                yield Fault(("reasons", "says_nothing", number), "bad-pattern", text)
