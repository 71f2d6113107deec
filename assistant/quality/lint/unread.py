"""What nobody takes up: conclusions, numbers, sources, answers, and reasons for readers not needed."""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.knowledge.references import names_in
from assistant.knowledge.walk import (
    addressed,
    clause_facts,
    expressions,
    facts_read,
    parameters_read,
)
from assistant.model.documents.checking import matches
from assistant.model.errors import Problem
from assistant.model.expressions import CalculateTerm
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.marks import FACT_BEGINNING, placeholder_fact, placeholders


def unread(kb: KnowledgeBase) -> Iterator[Problem]:
    """Yield what no rule, question or page reads, and readers in check.yaml without need."""
    rules, files = kb.rules.values(), kb.files.values()
    facts = {fact for rule in rules for fact in facts_read(rule)}
    numbers = {name for rule in rules for name in parameters_read(rule)}
    shown = names_in(files, "fact")
    yield from _conclusions(kb, facts | shown)
    yield from _needless_readers(kb, facts | numbers | shown)
    numbers |= names_in(files, "parameter") | {name for file in files for name in file.needs()}
    yield from _definitions(kb, numbers)
    facts |= {
        fact
        for question in kb.questions
        for _, clause in addressed(question.ask_if, "ask_if")
        for fact in clause_facts(clause)
    }
    yield from _answers(kb, facts | shown)


def _conclusions(kb: KnowledgeBase, read: set[str]) -> Iterator[Problem]:
    said = {name for rule in kb.rules.values() for name in placeholders(rule.because)}
    read = read | {fact for name in said if (fact := placeholder_fact(name))}
    # In plan.yaml `notes: <beginning>` shows every fact whose name begins so.
    beginnings = tuple(names_in(kb.files.values(), FACT_BEGINNING))
    for rule in kb.rules.values():
        for number, conclusion in enumerate(rule.then):
            fact = conclusion.fact
            is_note = f"fact:{fact}" in kb.house and kb.facts[fact].type is FactType.BOOLEAN
            if is_note or fact in read or fact.startswith(beginnings) or kb.check.reads(fact):
                continue
            text = (
                f"{rule.id} concludes `{fact}`, which no rule reads and no page shows; show it in "
                "plan.yaml, or name its reader in check.yaml"
            )
            yield Problem(kb.place("rule", rule.id, "then", number), "unread-conclusion", text)


def _needless_readers(kb: KnowledgeBase, read: set[str]) -> Iterator[Problem]:
    known = [*kb.facts, *kb.parameters]
    for pattern in kb.check.read_elsewhere:
        about = [name for name in known if matches(pattern, name)]
        place = kb.place("document", "check", "read_elsewhere", pattern)
        if not about:
            text = f"`{pattern}` is no fact or parameter; remove the line"
            yield Problem(place, "unknown-name", text)
        elif read.issuperset(about):
            text = f"a rule or a page reads `{pattern}`; remove the line"
            yield Problem(place, "needless-reader", text)


def _definitions(kb: KnowledgeBase, numbers: set[str]) -> Iterator[Problem]:
    for name in kb.parameters:
        if name not in numbers and not kb.check.reads(name):
            text = f"no rule reads `{name}`"
            yield Problem(kb.place("parameter", name), "unused-parameter", text)
    cited = {use.ref for rule in kb.rules.values() for use in rule.source}
    cited |= {use.ref for parameter in kb.parameters.values() for use in parameter.source}
    cited |= names_in(kb.files.values(), "source")
    cited |= {ref for typed in kb.typed_words for ref in typed.source}
    for name in kb.sources:
        if name not in cited:
            yield Problem(kb.place("source", name), "unused-source", f"nothing cites `{name}`")


def _answers(kb: KnowledgeBase, read: set[str]) -> Iterator[Problem]:
    asked = {question.fact for question in kb.questions}
    for fact in kb.facts.values():
        if fact.origin != "answer":
            continue
        place = kb.place("fact", fact.id)
        if fact.id not in asked:
            yield Problem(place, "unasked-fact", f"no question asks `{fact.id}`")
        if fact.id not in read and not fact.personal and not kb.check.reads(fact.id):
            yield Problem(place, "unread-fact", f"no rule reads `{fact.id}`")
    for question in kb.questions:
        choices = kb.book.choices_of(kb.facts[question.fact])
        missing = [choice for choice in choices if choice not in question.labels]
        if question.labels and missing:
            text = f"no label for {', '.join(missing)}"
            yield Problem(kb.place("question", question.fact), "unlabelled-choice", text)


def unused_calculators(kb: KnowledgeBase, calculators: Mapping[str, Any]) -> list[Problem]:
    """Return calculators that no rule names, each at the line of its function."""
    used = {
        term.calculate
        for rule in kb.rules.values()
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
