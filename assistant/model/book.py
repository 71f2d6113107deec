"""The book's front page, and decision tables."""

from typing import Annotated, Any

from pydantic import Field

from assistant.model.base import Document
from assistant.model.facts import FactDeclaration, Identifier


class Book(Document):
    """Front page of the knowledge base.

    stages: order in which rules run; a rule reads only facts of its own and earlier stages.
    domains: named lists of ids that facts can be indexed by and rules can loop over.
    """

    name: str
    version: Annotated[str, Field(pattern=r"^\d+\.\d+\.\d+$")]
    stages: tuple[Identifier, ...]
    domains: dict[str, tuple[Identifier, ...]]

    def choices_of(self, fact: FactDeclaration) -> tuple[Identifier, ...]:
        """Return the ids a choice or list fact may hold, in their declared order."""
        return fact.choices or self.domains.get(fact.choice_domain or "", ())


class Column(Document):
    """One column of a decision table.

    The cell stands wherever the template says "$". A cell `any` drops the column from that row;
    a list in a `then` column makes one conclusion an item.
    """

    when: dict[str, Any] | None = None
    unless: dict[str, Any] | None = None
    excused_by: dict[str, Any] | None = None
    then: dict[str, Any] | None = None


class Table(Document):
    """A decision table: every row becomes the rule `<id>-<row id>`.

    shared: rule fields that all rows have (title, stage, for_each, when, then, source, grade...);
    a row may add to lists and replace the rest.
    """

    id: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    title: str
    stage: Identifier
    shared: dict[str, Any] = {}
    columns: dict[str, Column]
    rows: Annotated[tuple[dict[str, Any], ...], Field(min_length=1)]
