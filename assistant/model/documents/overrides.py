"""overrides.yaml: which lines of a plan a coach may change by hand, and how far."""

from typing import Annotated, Literal

from assistant.model.base import Document, RuleFile
from assistant.model.marks import Fact, Names, Output


class OverrideLimit(Document):
    """How far one line of a plan may be changed; see the head of rules/overrides.yaml."""

    fact: Fact
    at_least: tuple[Fact, ...] = ()
    at_most: tuple[Fact, ...] = ()
    own_range: bool = False
    closed_while: tuple[Output, ...] = ()
    closed_from: Literal["inform", "caution", "withhold"] | None = None
    ends_with: Fact | None = None


class Overrides(RuleFile):
    """The whole file, by line of the plan."""

    lines: dict[Annotated[str, Names("line of the plan")], OverrideLimit] = {}
