"""The checks of a rule book under one roof: each has a name, findings, and a line to say for itself."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from assistant.knowledge.draft import Draft
from assistant.knowledge.drafting import knowledge_of, read_draft
from assistant.knowledge.locate import rules_directory
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.finding import Finding, from_problems

CONFLICT = "conflict"


@dataclass(frozen=True)
class Subject:
    """A book under check. kb: None where it is broken, so that nothing can be run.

    is_shipped: whether the calculators were made for this book, so that it has to use them all.
    """

    kb: Draft | None
    problems: tuple[Finding, ...]
    calculators: Mapping[str, Any]
    is_shipped: bool = False

    @property
    def book(self) -> Draft:
        """The knowledge base; only the check of its schema goes on without one."""
        assert self.kb is not None
        return self.kb


@dataclass(frozen=True)
class Options:
    """What the checks are run over.

    cases: whole people with the path of each. people, seed: how many invented people, and the
    number of the first. against: another book to compare with. rules: patterns of the ids of the
    only rules whose own tests are looked at.
    """

    cases: Sequence[tuple[str, Case]] = ()
    people: int = 300
    seed: int = 0
    against: KnowledgeBase | None = None
    rules: Sequence[str] = ("*",)

    def chosen(self, kb: KnowledgeBase) -> list[Rule]:
        """Return the rules that are meant."""
        return [
            rule
            for rule in kb.rules.values()
            if any(fnmatchcase(rule.id, pattern) for pattern in self.rules)
        ]


@dataclass(frozen=True)
class Checked:
    """What one check came to. said: one line for people. details: plain data for programs. seconds: it took."""

    name: str
    findings: tuple[Finding, ...]
    said: str
    details: Mapping[str, Any] = field(default_factory=dict)
    seconds: float = 0.0


Check = Callable[[Subject, Options], Checked]


def subject_of(rules: Path | None, house: Path | None, calculators: Mapping[str, Any]) -> Subject:
    """Read a book for checking. Raises InputProblems if its folder cannot be read at all.

    A book whose only fault is that two rules may conflict is still put together, so that a case
    in which they do can be looked for.
    """
    draft, problems = read_draft(rules, house, calculators=calculators)
    can_run = all(problem.code == CONFLICT for problem in problems)
    kb = knowledge_of(draft) if draft is not None and can_run else None
    is_shipped = rules is None or rules.resolve() == rules_directory().resolve()
    return Subject(kb, from_problems(problems, "schema"), calculators, is_shipped)
