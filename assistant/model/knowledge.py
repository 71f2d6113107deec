"""The whole knowledge base after load: immutable, cross-checked, with its two hashes."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.model.book import Book
from assistant.model.facts import FactDeclaration
from assistant.model.flags import Flag, FlagShelf
from assistant.model.parameters import DatedValue, Parameter
from assistant.model.questions import Question, Section
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Source


@dataclass(frozen=True)
class Place:
    """Where in `rules/` something stands; `line` counts from 1."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


@dataclass(frozen=True)
class KnowledgeBase:
    """Everything in `rules/`, by id, in the order of ids.

    overlay: a coach's own parameter values (parameter id -> value) within the allowed range.
    documents: parsed files that other rooms interpret themselves (exercises, muscles, programme,
    wording), by file stem.
    logic_hash changes when a plan can change; content_hash also with prose, sources and tests.
    """

    book: Book
    facts: Mapping[str, FactDeclaration]
    parameters: Mapping[str, Parameter]
    rules: Mapping[str, Rule]
    sources: Mapping[str, Source]
    grades: Mapping[str, GradeMeaning]
    sections: tuple[Section, ...]
    questions: tuple[Question, ...]
    documents: Mapping[str, Any]
    places: Mapping[str, Place]
    logic_hash: str
    content_hash: str
    overlay: Mapping[str, float] = field(default_factory=dict)
    flags: Mapping[str, Flag] = field(default_factory=dict)
    flag_words: FlagShelf | None = None

    @property
    def shelf(self) -> FlagShelf:
        """What all flags share. A book without flags has none: AssertionError."""
        assert self.flag_words is not None, "this book has no flags.yaml"
        return self.flag_words

    def parameter_value(self, parameter_id: str, on: dt.date) -> DatedValue:
        """Return a parameter's value in force on a day; the coach's own setting wins.

        Raises KeyError with one clear line if the parameter is not in force yet.
        """
        dated = self.parameters[parameter_id].in_force(on)
        if dated is None:
            raise KeyError(f"parameter `{parameter_id}` has no value in force on {on.isoformat()}")
        own = self.overlay.get(parameter_id)
        return dated if own is None else DatedValue(since=dated.since, value=own)
