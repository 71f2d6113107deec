"""Sources exist, and no statement is graded above what its best source allows."""

from collections.abc import Iterable

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import Problem
from assistant.model.sources import (
    BEST_CERTAINTY_BY_MARK,
    CERTAINTY_ORDER,
    Certainty,
    Grade,
    Mark,
    SourceUse,
)


def check_grading(draft: Draft) -> list[Problem]:
    """Return unknown sources, and grades that claim more than the sources bear."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        problems.extend(_check(rule.source, rule.grade, Scope(draft, "rule", rule.id)))
    for parameter in draft.parameters.values():
        scope = Scope(draft, "parameter", parameter.id)
        problems.extend(_check(parameter.source, parameter.grade, scope))
    return problems


def _check(uses: Iterable[SourceUse], grade: Grade, scope: Scope) -> list[Problem]:
    allowed: list[Mark] = []
    for number, use in enumerate(uses):
        source = scope.draft.sources.get(use.ref)
        if source is None:
            hint = did_you_mean(use.ref, scope.draft.sources)
            text = f"`{use.ref}` is not a source{hint}"
            scope.problem(("source", number, "ref"), "unknown-source", text)
        else:
            allowed.append(source.mark)
    if allowed and not scope.problems:
        above = above_sources(grade.certainty, allowed)
        if above is not None:
            scope.problem(("grade", "certainty"), "grade-too-high", above)
    return scope.problems


def above_sources(grade: Certainty, marks: Iterable[Mark]) -> str | None:
    """Return what is wrong with a grade that its sources do not bear; without one it is practice."""
    borne = [BEST_CERTAINTY_BY_MARK[mark] for mark in marks]
    best = min(borne, key=CERTAINTY_ORDER.index, default=Certainty.PRACTICE)
    if CERTAINTY_ORDER.index(grade) >= CERTAINTY_ORDER.index(best):
        return None
    return f"`{grade.value}` is above what the sources bear; allowed: {best.value} or weaker"
