"""Sources exist, and no statement is graded above what its sources bear.

A source counts only for what it is said to support. Each part of a statement is as sure as the best
source for that part, and the weakest part caps the whole; a calculator is a part, too. Where one part is
practice and another is published, the whole may still be `low`: some published work fits.

A rule of the house makes no claim about bodies, so it leans on no equation and on no number but such as
hold by definition (two is two): any other number is somebody's claim.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.walk import expressions, parameters_read
from assistant.model.errors import Problem
from assistant.model.expressions import CalculateTerm
from assistant.model.rules import Rule
from assistant.model.sources import (
    BEST_CERTAINTY_BY_MARK,
    SINGLE_WORKS,
    Certainty,
    Grade,
    Mark,
    Source,
    SourceUse,
    strongest,
    weakest,
)

_Parts = dict[str, Certainty]


def check_grading(draft: Draft, calculators: Mapping[str, Any] | None) -> list[Problem]:
    """Return unknown sources, and grades that claim more than the sources bear."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        worked_out = _worked_out(rule, calculators or {})
        scope = Scope(draft, "rule", rule.id)
        problems.extend(_check(rule.source, rule.grade, scope, worked_out))
        if rule.kind == "house":
            problems.extend(_claims(rule, draft))
    for parameter in draft.parameters.values():
        scope = Scope(draft, "parameter", parameter.id)
        problems.extend(_check(parameter.source, parameter.grade, scope, {}))
    return list(dict.fromkeys(problems))  # the rows of a table may share one grade


def _check(
    uses: Iterable[SourceUse], grade: Grade, scope: Scope, worked_out: _Parts
) -> list[Problem]:
    supported: dict[str, list[Source]] = {}
    for number, use in enumerate(uses):
        source = scope.draft.sources.get(use.ref)
        if source is None:
            hint = did_you_mean(use.ref, scope.draft.sources)
            text = f"`{use.ref}` is not a source{hint}"
            scope.problem(("source", number, "ref"), "unknown-source", text)
        else:
            supported.setdefault(use.supports, []).append(source)
    if supported and not scope.problems:
        parts = worked_out | {part: _borne(sources) for part, sources in supported.items()}
        cap = weakest(list(parts.values()))
        limiting = next(part for part, borne in parts.items() if borne is cap)
        if cap is Certainty.PRACTICE and set(parts.values()) != {cap}:
            cap = Certainty.LOW
        if grade.certainty is not weakest([grade.certainty, cap]):
            text = (
                f"`{grade.certainty.value}` is above what the sources bear for `{limiting}`; "
                f"allowed: {cap.value} or weaker"
            )
            scope.problem(("grade", "certainty"), "grade-too-high", text)
    return scope.problems


def _claims(rule: Rule, draft: Draft) -> list[Problem]:
    """Return what in a rule of the house is a claim after all: an equation, a number of somebody's."""
    scope = Scope(draft, "rule", rule.id)
    worked_out = {term.calculate for term in expressions(rule) if isinstance(term, CalculateTerm)}
    numbers = {name for name in parameters_read(rule) if not _is_by_definition(name, draft)}
    for name in sorted(worked_out | numbers):
        text = f"`house`, but it leans on `{name}`, which is a claim; leave out `kind: house`"
        scope.problem(("kind",), "house-claims", text)
    return scope.problems


def _is_by_definition(name: str, draft: Draft) -> bool:
    parameter = draft.parameters.get(name)
    uses = parameter.source if parameter is not None else ()
    sources = [draft.sources[use.ref] for use in uses if use.ref in draft.sources]
    return bool(sources) and all(source.kind == "standard" for source in sources)


def above_sources(grade: Certainty, sources: list[Source]) -> str | None:
    """Return what is wrong with a grade that its sources do not bear; without one it is practice."""
    best = _borne(sources) if sources else Certainty.PRACTICE
    if grade is weakest([grade, best]):
        return None
    return f"`{grade.value}` is above what the sources bear; allowed: {best.value} or weaker"


def _borne(sources: list[Source]) -> Certainty:
    """Return how sure the sources for one part make it: one study alone makes nothing strong."""
    best = strongest([BEST_CERTAINTY_BY_MARK[source.mark] for source in sources])
    read = [source for source in sources if source.mark is Mark.READ]
    is_single = len(read) == 1 and read[0].kind in SINGLE_WORKS
    return Certainty.MODERATE if best is Certainty.STRONG and is_single else best


def _worked_out(rule: Rule, calculators: Mapping[str, Any]) -> _Parts:
    return {
        term.calculate: BEST_CERTAINTY_BY_MARK[Mark(calculators[term.calculate].mark)]
        for term in expressions(rule)
        if isinstance(term, CalculateTerm) and term.calculate in calculators
    }
