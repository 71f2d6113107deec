"""Conclusions that reach nobody, calculators no rule uses, and reasons for readers that are not needed."""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.knowledge.draft import Draft
from assistant.knowledge.references import names_in
from assistant.knowledge.walk import expressions, facts_read, parameters_read
from assistant.model.documents.checking import CheckSettings, matches
from assistant.model.errors import Problem
from assistant.model.expressions import CalculateTerm
from assistant.model.marks import FACT_BEGINNING, placeholder_fact, placeholders


def unread_conclusions(draft: Draft, settings: CheckSettings) -> list[Problem]:
    """Return facts that rules conclude, but no rule, page or other reader takes up."""
    read = {fact for rule in draft.rules.values() for fact in facts_read(rule)}
    read |= {name for rule in draft.rules.values() for name in _said(rule.because)}
    named = names_in(draft.files.values(), "fact")
    # In plan.yaml `notes: <beginning>` shows every fact whose name begins so.
    prefixes = tuple(names_in(draft.files.values(), FACT_BEGINNING))
    problems = []
    for rule in draft.rules.values():
        for number, conclusion in enumerate(rule.then):
            fact = conclusion.fact
            is_shown = fact in named or fact.startswith(prefixes)
            if fact in read or is_shown or settings.reads(fact):
                continue
            text = (
                f"{rule.id} concludes `{fact}`, which no rule reads and no page shows; show it in "
                "plan.yaml, or name its reader in check.yaml"
            )
            place = draft.place("rule", rule.id, "then", number)
            problems.append(Problem(place, "unread-conclusion", text))
    return problems


def needless_readers(draft: Draft, settings: CheckSettings) -> list[Problem]:
    """Return readers in check.yaml for names that are not there, or that rules do read."""
    read = {f for rule in draft.rules.values() for f in facts_read(rule) | parameters_read(rule)}
    named = names_in(draft.files.values(), "fact")
    known = [*draft.facts, *draft.parameters]
    problems = []
    for pattern in settings.read_elsewhere:
        about = [name for name in known if matches(pattern, name)]
        if not about:
            code, text = "unknown-name", f"`{pattern}` is no fact or parameter; remove the line"
        elif all(name in read or name in named for name in about):
            code, text = "needless-reader", f"a rule or a page reads `{pattern}`; remove the line"
        else:
            continue
        place = draft.place("document", "check", "read_elsewhere", pattern)
        problems.append(Problem(place, code, text))
    return problems


def unused_calculators(draft: Draft, calculators: Mapping[str, Any]) -> list[Problem]:
    """Return calculators that no rule of the draft names, each at the line of its function."""
    used = {
        term.calculate
        for rule in draft.rules.values()
        for term in expressions(rule)
        if isinstance(term, CalculateTerm)
    }
    return [
        Problem(
            _line_of(calculator.function),
            "unused-calculator",
            f"no rule names `{name}`; remove the function with what only it uses, or name it in a rule",
        )
        for name, calculator in calculators.items()
        if name not in used
    ]


def _line_of(function: Any) -> str:
    module = function.__module__.replace(".", "/")
    return f"{module}.py:{function.__code__.co_firstlineno}"


def _said(sentence: str) -> Iterator[str]:
    yield from filter(None, map(placeholder_fact, placeholders(sentence)))
