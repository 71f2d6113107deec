"""Questions: each asks an answer fact, in a known section, once, and only looks back."""

from assistant.knowledge.checks.clauses import check_clause
from assistant.knowledge.checks.scope import Scope, is_number
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.values import read_value
from assistant.knowledge.walk import addressed, clause_facts
from assistant.model.errors import Problem, Refused
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.questions import Question
from assistant.model.values import Status

_UNIT_OF_QUANTITY = {
    "mass": "kg",
    "length": "cm",
    "energy": "kcal/d",
    "duration_min": "min",
    "duration_h": "h",
}
_YES_NO = {FactType.BOOLEAN: ("true", "false")}


def check_questions(draft: Draft) -> list[Problem]:
    """Return what is wrong with the intake's questions."""
    problems: list[Problem] = []
    sections = [section.id for section in draft.sections]
    asked: set[str] = set()
    for question in draft.questions:
        scope = Scope(draft, "question", question.fact)
        fact = draft.facts.get(question.fact)
        if fact is None:
            hint = did_you_mean(question.fact, draft.facts)
            scope.problem(("fact",), "unknown-fact", f"`{question.fact}` is not declared{hint}")
        elif fact.origin != "answer":
            text = f"`{fact.id}` is {fact.origin}, so it is not asked"
            scope.problem(("fact",), "not-an-answer", text)
        else:
            _about_fact(question, fact, scope)
        if question.section not in sections:
            hint = did_you_mean(question.section, sections)
            text = f"`{question.section}` is not a section{hint}"
            scope.problem(("section",), "unknown-section", text)
        _conditions(question, asked, scope)
        asked.add(question.fact)
        problems.extend(scope.problems)
    return problems


def _about_fact(question: Question, fact: FactDeclaration, scope: Scope) -> None:
    answers = [*scope.choices(fact), *_YES_NO.get(fact.type, ())]
    if fact.allows_none:
        answers.append(Status.NONE.value)
    for label in question.labels:
        if label not in answers:
            hint = did_you_mean(label, answers)
            text = f"label for `{label}`, which is not a choice of `{fact.id}`{hint}"
            scope.problem(("labels", label), "unknown-choice", text)
    if question.suggestion is not None:
        if fact.is_safety:
            text = "a safety question never suggests an answer"
            scope.problem(("suggestion",), "suggested-safety-answer", text)
        try:
            read_value(fact, scope.draft.book, question.suggestion)
        except Refused as refused:
            scope.problem(("suggestion",), refused.code, f"the suggestion {refused.text}")
    _plain_answers(question, fact, scope)
    if question.quantity is not None:
        unit = _UNIT_OF_QUANTITY[question.quantity]
        if not is_number(fact) or fact.unit != unit:
            text = f"`{question.quantity}` is for facts in {unit}; `{fact.id}` is in {fact.unit}"
            scope.problem(("quantity",), "unit-mismatch", text)


def _plain_answers(question: Question, fact: FactDeclaration, scope: Scope) -> None:
    is_span = question.of_two in {"low", "middle", "high"}
    if question.of_two is not None and (not is_number(fact) or (is_span and fact.is_safety)):
        text = f"`{question.of_two}` of two numbers is for numbers, and a span is no safety answer"
        scope.problem(
            ("of_two",), "bad-value", f"{text}; leave it out, so that the person is asked"
        )
    if question.no_means is not None:
        try:
            read_value(fact, scope.draft.book, question.no_means)
        except Refused as refused:
            scope.problem(("no_means",), refused.code, f"`no_means` {refused.text}")
    if question.needs_one and fact.type is not FactType.CHOICES:
        scope.problem(("needs_one",), "bad-value", "`needs_one` belongs to a list")


def _conditions(question: Question, asked: set[str], scope: Scope) -> None:
    for path, clause in addressed(question.ask_if, "ask_if"):
        check_clause(clause, scope, path)
        for fact_id in clause_facts(clause):
            if fact_id in scope.draft.facts and fact_id not in asked:
                text = f"`{fact_id}` is not asked before this question, so it is not known yet"
                scope.problem(path, "asked-too-late", text)
