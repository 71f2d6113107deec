"""What is sound in form but cannot be meant: read from the draft, which knows every line."""

from collections.abc import Callable, Mapping
from typing import Any

from assistant.knowledge import findings
from assistant.knowledge.draft import Draft
from assistant.model.documents.checking import CheckSettings
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.lint.boundaries import missing_boundary_pairs
from assistant.quality.lint.clauses import hopeless_clauses
from assistant.quality.lint.twins import dead_and_twin_rules
from assistant.quality.lint.unread import needless_readers, unread_conclusions
from assistant.quality.lint.written import claims, unlocated, unwritten

_Lint = Callable[[Draft], list[Problem]]
_PLAIN: tuple[_Lint, ...] = (hopeless_clauses, dead_and_twin_rules, unlocated, unwritten)


def lint(draft: Draft, kb: KnowledgeBase, calculators: Mapping[str, Any]) -> list[Problem]:
    """Return everything to look at in a draft in which nothing is wrong.

    kb: the knowledge base made of the same draft.
    """
    settings = kb.check
    problems = [problem for each in _PLAIN for problem in each(draft)]
    problems.extend(claims(draft, settings))
    problems.extend(unread_conclusions(draft, settings))
    problems.extend(needless_readers(draft, settings))
    problems.extend(missing_boundary_pairs(draft, kb, calculators))
    problems.extend(p for p in findings(kb) if not _is_read_elsewhere(p, settings))
    return problems


def _is_read_elsewhere(problem: Problem, settings: CheckSettings) -> bool:
    names = problem.text.split("`")[1::2]
    return problem.code in {"unread-fact", "unused-parameter"} and any(
        settings.reads(name) for name in names
    )
