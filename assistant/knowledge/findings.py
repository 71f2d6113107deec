"""Things in a sound knowledge base that somebody should look at; none of them is an error."""

from collections.abc import Iterator

from assistant.knowledge.references import names_in
from assistant.knowledge.walk import addressed, clause_facts, facts_read, parameters_read
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase


def findings(kb: KnowledgeBase) -> tuple[Problem, ...]:
    """Return what is unused or unasked, in the order of kinds and ids."""
    return (*_unused(kb), *_unasked(kb), *_unlabelled(kb))


def _at(kb: KnowledgeBase, kind: str, item: str) -> str:
    return str(kb.places[f"{kind}:{item}"])


def _unused(kb: KnowledgeBase) -> Iterator[Problem]:
    files = kb.files.values()
    read = {name for rule in kb.rules.values() for name in parameters_read(rule)}
    read |= names_in(files, "parameter")
    read |= {name for file in files for name in file.needs()}
    for name in kb.parameters:
        if name not in read:
            yield Problem(_at(kb, "parameter", name), "unused-parameter", f"no rule reads `{name}`")
    uses = {use.ref for rule in kb.rules.values() for use in rule.source}
    uses |= names_in(files, "source")
    uses |= {use.ref for parameter in kb.parameters.values() for use in parameter.source}
    for source in kb.sources:
        if source not in uses:
            yield Problem(_at(kb, "source", source), "unused-source", f"nothing cites `{source}`")


def _unasked(kb: KnowledgeBase) -> Iterator[Problem]:
    asked = {question.fact for question in kb.questions}
    read = {fact for rule in kb.rules.values() for fact in facts_read(rule)}
    read |= {
        fact
        for question in kb.questions
        for _, clause in addressed(question.ask_if, "ask_if")
        for fact in clause_facts(clause)
    }
    read |= names_in(kb.files.values(), "fact")
    for fact in kb.facts.values():
        if fact.origin != "answer":
            continue
        if fact.id not in asked:
            yield Problem(_at(kb, "fact", fact.id), "unasked-fact", f"no question asks `{fact.id}`")
        if fact.id not in read and not fact.personal:
            yield Problem(_at(kb, "fact", fact.id), "unread-fact", f"no rule reads `{fact.id}`")


def _unlabelled(kb: KnowledgeBase) -> Iterator[Problem]:
    for question in kb.questions:
        choices = kb.book.choices_of(kb.facts[question.fact])
        missing = [choice for choice in choices if choice not in question.labels]
        if question.labels and missing:
            text = f"no label for {', '.join(missing)}"
            yield Problem(_at(kb, "question", question.fact), "unlabelled-choice", text)
