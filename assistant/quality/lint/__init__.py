"""What is sound in form but cannot be meant: each lint reads the whole book, which knows every line."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.lint.boundaries import missing_boundary_pairs
from assistant.quality.lint.clauses import hopeless_clauses
from assistant.quality.lint.plain import plain_words, short_sentences
from assistant.quality.lint.translated import lost_translations
from assistant.quality.lint.twins import dead_and_twin_rules
from assistant.quality.lint.unread import unread, unused_calculators
from assistant.quality.lint.written import claims, twin_titles, unlocated

_LINTS: tuple[Callable[[KnowledgeBase], Iterable[Problem]], ...] = (
    hopeless_clauses, dead_and_twin_rules, unlocated, twin_titles, claims, unread, plain_words, short_sentences,
    lost_translations,
)  # fmt: skip


def lint(kb: KnowledgeBase, calculators: Mapping[str, Any], is_shipped: bool) -> list[Problem]:
    """Return everything to look at in a book in which nothing is wrong.

    is_shipped: whether the book has to use all calculators.
    """
    problems = [problem for each in _LINTS for problem in each(kb)]
    problems.extend(missing_boundary_pairs(kb, calculators))
    return problems + (unused_calculators(kb, calculators) if is_shipped else [])
