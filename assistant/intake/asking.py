"""Whether a question applies, read three-valued from the answers before it.

A question is left out only when one of its ask-if clauses is known not to hold. A missing or
declined answer never takes a question away, because a question not asked cannot raise a flag.
The readings are those of the engine (a test compares the two), except that a comparison this
module cannot make is unknown, so the question is asked.
"""

import re
from collections.abc import Mapping, Sequence

from assistant.model.clauses import Clause, Condition, alternatives
from assistant.model.derivation import Holds
from assistant.model.expressions import Expression, FactTerm, ParameterTerm
from assistant.model.values import Status, Value

Answers = Mapping[str, Value]
Parameters = Mapping[str, float]


def applies(ask_if: Sequence[Condition], answers: Answers, parameters: Parameters) -> bool:
    """Return False only if a condition is known not to hold: none of its alternatives may."""
    return all(
        any(truth(c, answers, parameters) is not Holds.FALSE for c in alternatives(condition))
        for condition in ask_if
    )


def truth(clause: Clause, answers: Answers, parameters: Parameters) -> Holds:
    """Return how a clause reads the answers so far; whatever cannot be told is unknown."""
    if clause.count_true is not None:
        return _count_true(clause, answers, parameters)
    subject = clause.fact if clause.fact is not None else clause.count_items
    assert subject is not None  # a clause has one of three subjects
    if clause.of is not None:
        return Holds.UNKNOWN
    have = answers.get(subject, Status.UNKNOWN)
    if clause.operator == "status":
        return _holds(_has_status(have, str(clause.operand)))
    if isinstance(have, Status):
        return Holds.FALSE if have.is_answered else Holds.UNKNOWN
    if clause.count_items is not None:
        have = float(len(have)) if isinstance(have, tuple) else have
    return _compare(clause, have, answers, parameters)


def _holds(outcome: bool) -> Holds:
    return Holds.TRUE if outcome else Holds.FALSE


def _has_status(have: Value, wanted: str) -> bool:
    if wanted == "known":
        return not isinstance(have, Status)
    if wanted == "unanswered":
        return have in (Status.UNKNOWN, Status.DECLINED)
    return isinstance(have, Status) and have == Status(wanted)


def _count_true(clause: Clause, answers: Answers, parameters: Parameters) -> Holds:
    facts = clause.count_true or ()
    sure = sum(answers.get(fact) is True for fact in facts)
    possible = sum(
        answers.get(fact, Status.UNKNOWN) in (True, Status.UNKNOWN, Status.DECLINED)
        for fact in facts
    )
    readings = {_compare(clause, float(n), answers, parameters) for n in (sure, possible)}
    return readings.pop() if len(readings) == 1 else Holds.UNKNOWN


def _compare(clause: Clause, have: Value, answers: Answers, parameters: Parameters) -> Holds:
    operator, operand = clause.operator, clause.operand
    if operator == "not_empty":
        return _holds(bool(have))
    if isinstance(operand, tuple):
        return _holds(have in operand)
    want = _value_of(operand, answers, parameters)
    if want is None:
        return Holds.UNKNOWN
    if operator in {"has", "lacks"}:
        return _holds((operator == "has") == (isinstance(have, tuple) and want in have))
    if operator in {"equals", "is_not"}:
        same = have == want and isinstance(have, bool) == isinstance(want, bool)
        return _holds((operator == "equals") == same)
    return _ordered(operator, have, want)


def _ordered(operator: str, have: Value, want: Value) -> Holds:
    sign = _sign(have, want)
    if sign is None:
        return Holds.UNKNOWN
    return _holds(
        {
            "at_least": sign >= 0,
            "at_most": sign <= 0,
            "more_than": sign > 0,
            "less_than": sign < 0,
        }[operator]
    )


def _sign(have: Value, want: Value) -> int | None:
    if isinstance(have, str) and isinstance(want, str):
        return (have > want) - (have < want) if _are_days(have, want) else None
    if isinstance(have, (int, float)) and isinstance(want, (int, float)):
        return (have > want) - (have < want)
    return None


def _are_days(*texts: str) -> bool:
    """ISO days compare as text; the order of other ids is not known here."""
    return all(re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) for text in texts)


def _value_of(operand: Expression, answers: Answers, parameters: Parameters) -> Value | None:
    if isinstance(operand, (bool, int, float, str)):
        return operand
    if isinstance(operand, ParameterTerm):
        return parameters.get(operand.param)
    if isinstance(operand, FactTerm) and operand.of is None:
        value = answers.get(operand.fact)
        return None if isinstance(value, Status) else value
    return None
