"""When a question is shown, as FHIR's `enableWhen`: never less often than the book asks it.

The book leaves a question out only where a condition is known not to hold, so an open answer keeps it.
FHIR's `!=` holds without an answer, too; the other comparisons need "or there is no answer" beside them, and
one question has either all of its conditions or any of them. A condition that would need both is left
out: the question is then shown to more people, and silence still takes none away.
"""

import datetime as dt
from collections.abc import Iterator

from assistant.exchange.answer_items import single_answer
from assistant.exchange.terms import EMPTY_LIST, Json
from assistant.model.clauses import Clause, Condition, alternatives
from assistant.model.expressions import ParameterTerm
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Question
from assistant.model.session_only import SESSION_ONLY_FACTS

_SIGNS = {"at_least": ">=", "at_most": "<=", "more_than": ">", "less_than": "<"}


def enabling(kb: KnowledgeBase, question: Question, on: dt.date) -> Json:
    """Return the fields of an item that say when it is shown; none where it always is."""
    wanted = _all_of(kb, question, on)
    if not wanted and len(question.ask_if) == 1:
        wanted = _any_of(kb, question.ask_if[0], on)
        return {"enableWhen": wanted, "enableBehavior": "any"} if wanted else {}
    more = {"enableBehavior": "all"} if len(wanted) > 1 else {}
    return {"enableWhen": wanted, **more} if wanted else {}


def _all_of(kb: KnowledgeBase, question: Question, on: dt.date) -> list[Json]:
    """Return the conditions that hold without an answer, too, and those of the questions read."""
    found: list[Json] = []
    questions = {each.fact: each for each in kb.questions}
    for condition in question.ask_if:
        for clause in alternatives(condition):
            # A question that is not shown has no answer, so what hides it hides what follows from it.
            if clause.fact in questions and len(alternatives(condition)) == 1:
                found += _all_of(kb, questions[clause.fact], on)
        found += _plain(kb, condition)
    return [each for place, each in enumerate(found) if each not in found[:place]]


def _plain(kb: KnowledgeBase, condition: Condition) -> Iterator[Json]:
    (clause, *others) = alternatives(condition)
    if others or clause.fact is None or clause.fact in SESSION_ONLY_FACTS:
        return
    fact = kb.facts[clause.fact]
    if clause.operator == "status" and clause.operand in {"known", "unanswered"}:
        exists = clause.operand == "known"
        yield {"question": fact.id, "operator": "exists", "answerBoolean": exists}
    elif clause.operator == "not_empty":
        yield _compared(kb, clause, "!=", EMPTY_LIST)
    elif clause.operator in {"equals", "one_of"} and fact.type in {
        FactType.BOOLEAN,
        FactType.CHOICE,
    }:
        wanted = clause.one_of or (clause.equals,)
        every = (True, False) if fact.type is FactType.BOOLEAN else kb.book.choices_of(fact)
        yield from (_compared(kb, clause, "!=", value) for value in every if value not in wanted)


def _any_of(kb: KnowledgeBase, condition: Condition, on: dt.date) -> list[Json]:
    """Return the alternatives of one condition with "or no answer"; nothing where one cannot be said."""
    found: list[Json] = []
    for clause in alternatives(condition):
        wanted = getattr(clause, clause.operator)
        if isinstance(wanted, ParameterTerm):
            wanted = kb.parameter_value(wanted.param, on).value
        sign = {"has": "=", "lacks": "!=", **_SIGNS}.get(clause.operator)
        if sign is None or clause.fact is None or not isinstance(wanted, bool | float | str):
            return []
        found.append(_compared(kb, clause, sign, wanted))
        silent = {"question": clause.fact, "operator": "exists", "answerBoolean": False}
        found += [silent] if silent not in found else []
    return found


def _compared(kb: KnowledgeBase, clause: Clause, sign: str, value: bool | float | str) -> Json:
    fact = kb.facts[str(clause.fact)]
    (answer,) = single_answer(kb, fact, value).items()
    name = answer[0].replace("value", "answer")
    return {"question": fact.id, "operator": sign, name: answer[1]}
