"""Conclusions that reach nobody, calculators no rule uses, and reasons for readers that are not needed."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from assistant.knowledge.draft import Draft
from assistant.knowledge.walk import expressions, facts_read, parameters_read
from assistant.model.errors import Problem
from assistant.model.expressions import CalculateTerm
from assistant.quality.lint.settings import DOCUMENT, CheckSettings, matches

_NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)+")
# In plan.yaml `notes: <prefix>` shows every fact whose name begins so.
_PREFIX_FIELD = "notes"


def unread_conclusions(draft: Draft, settings: CheckSettings) -> list[Problem]:
    """Return facts that rules conclude, but no rule, page or other reader takes up."""
    read = {fact for rule in draft.rules.values() for fact in facts_read(rule)}
    read |= {name for rule in draft.rules.values() for name in _said(rule.because)}
    named = set(_named(draft))
    prefixes = tuple(text for document in draft.documents.values() for text in _notes(document))
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
    named = set(_named(draft))
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
        place = draft.place("document", DOCUMENT, "read_elsewhere", pattern)
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


def _named(draft: Draft) -> Iterator[str]:
    """Names of facts in the documents that pages and planners are made of."""
    for name, document in draft.documents.items():
        if name != DOCUMENT:
            for text in _texts(document):
                yield from _said(text)


def _notes(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == _PREFIX_FIELD and isinstance(inner, str):
                yield inner
            yield from _notes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _notes(inner)


def _said(text: str) -> Iterator[str]:
    yield from _NAME.findall(text)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)
