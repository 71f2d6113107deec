"""One rule by itself over given final facts: for the rules' own tests and their mutation."""

import datetime as dt
from collections.abc import Container, Mapping

from assistant.engine.answers import plain_value
from assistant.engine.bind import Binder
from assistant.engine.decide import Judge, conclude
from assistant.engine.lookup import elements, problem
from assistant.engine.terms import Calculator, CaseFacts
from assistant.engine.verdict import record_of
from assistant.model.derivation import Derivation, Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import FactKey, Value


def judge(
    rule: Rule,
    loop_element: str | None,
    given: Mapping[FactKey, Value],
    kb: KnowledgeBase,
    on: dt.date,
    calculators: Mapping[str, Calculator],
    *,
    ranges: Mapping[FactKey, tuple[float | None, float | None]] | None = None,
    params: Mapping[str, float] | None = None,
    dropped: Container[str] = (),
) -> Derivation:
    """Return the record of one rule over final facts, as the verdict pass would give it.

    given: values by fact key. Answers not given are unknown, derived yes/no facts are no, other
    derived facts are as if nobody had concluded them (so is a derived fact given as unknown).
    ranges: low and high of given facts that have them.
    params: parameter values to use instead of those in force.
    dropped: addresses of clauses to leave out, e.g. `when.1`, `when.0.any_of.2`, `unless.0`.
    Raises InputProblems for a loop element that the rule does not have, and EngineFault if a
    calculator refuses its inputs.
    """
    if loop_element is not None and loop_element not in elements(rule, kb):
        text = f"`{loop_element}` is not an element that the rule loops over"
        raise problem(kb, rule.id, "unknown-element", text)
    if loop_element is None and rule.for_each:
        text = "the rule has `for_each`; say for which element it is judged"
        raise problem(kb, rule.id, "element-missing", text)
    binder = Binder(rule, loop_element, kb, on, params or {}, dropped)
    bound = binder.bind(0, "")
    values = {key: plain_value(value) for key, value in given.items()}
    facts = CaseFacts(values, dict(ranges or {}), calculators)
    verdict, readings = Judge(facts).decide(bound)
    conclusions = conclude(bound, facts) if verdict is Verdict.FIRED else ()
    return record_of(bound, verdict, readings, conclusions)
