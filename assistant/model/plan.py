"""The plan: explained values and titled lines, ready to be printed or written as JSON."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.model.derivation import FactValue, Run
from assistant.model.programme import Programme
from assistant.model.version import Place

# The section that says what comes from a gym's own folder.
HOUSE = "house"


@dataclass(frozen=True)
class Line:
    """One line of a section.

    id: stable name that `why` accepts. text: the statement. reason: the short why.
    facts: keys of the facts whose numbers stand in the text. rule: the rule behind the reason.
    """

    id: str
    text: str
    reason: str
    facts: tuple[str, ...]
    grade: str = ""
    rule: str = ""

    @property
    def typed(self) -> str:
        """The id without signs a shell reads in its own way: `training.dose glute_max`."""
        return self.id.replace("[", " ").rstrip("]")


@dataclass(frozen=True)
class PlanSection:
    """A titled part of the plan. `note` is one sentence under the title, if any."""

    id: str
    title: str
    lines: tuple[Line, ...]
    note: str = ""


@dataclass(frozen=True)
class Plan:
    """A whole plan for one audience. `facts` holds only what this audience may see.

    log_head: `SEQUENCE:HASH` of the plan's entry in the decision log; empty where it is not logged.
    place: where it stands in a client's record; None for a case file.
    """

    case_name: str
    as_of: str
    audience: str
    book_version: str
    logic_hash: str
    content_hash: str
    engine: str
    facts: Mapping[str, FactValue]
    sections: tuple[PlanSection, ...]
    run: Run
    unknown: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    programme: Programme | None = None
    views: Mapping[str, Any] = field(default_factory=dict)
    log_head: str = ""
    place: Place | None = None

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of all sections, in order."""
        return tuple(line for section in self.sections for line in section.lines)

    def lines_named(self, wanted: Iterable[str]) -> tuple[Line, ...]:
        """Return lines by id, `*` at the end for any rest, in the order asked for."""
        return tuple(
            line
            for pattern in wanted
            for line in self.lines
            if line.id == pattern
            or (pattern.endswith("*") and line.id.startswith(pattern.removesuffix("*")))
        )
