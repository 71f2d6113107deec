"""Two rules that may give one fact two values, with a witness: facts for which both fire.

The proof that no pair conflicts is the loader's, and it errs on the safe side. A witness makes a
complaint concrete; where none is found the complaint stands, and says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from assistant.engine.lookup import elements
from assistant.knowledge.checks.exclusive import Setter, conflicting_setters
from assistant.knowledge.tables import spelled
from assistant.knowledge.walk import clauses, facts_read, operand
from assistant.model.derivation import Derivation, Verdict
from assistant.model.expressions import ParameterTerm
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.quality.finding import split_place
from assistant.quality.people import seeded
from assistant.quality.points import DEFAULT_DAY, Unjudged, judged, points
from assistant.quality.suite import CONFLICT, Checked, Options, Subject

TRIES = 1500


def check_conflicts(subject: Subject, _options: Options) -> Checked:
    """Return conflicting pairs, each with the facts of a person for whom both rules fire."""
    kb = subject.book
    told: dict[tuple[str, int], str] = {}
    for one, other in conflicting_setters(kb):
        place = split_place(kb.place("rule", other.rule.id, "then", other.number))
        given = witness(one, other, kb, subject.calculators)
        told[place] = (
            "no witness was found" if given is None else f"both fire with {_worded(given)}"
        )
    found = []
    for each in subject.problems:
        if each.code == CONFLICT:
            met = told.get((each.file, each.line), "the rule meets itself")
            found.append(replace(each, what=f"{each.what}; {met}", check="conflicts"))
    said = f"{len(found)} pairs of rules may give one fact two values"
    return Checked("conflicts", tuple(found), said, {"pairs": len(found)})


def witness(
    one: Setter, other: Setter, kb: KnowledgeBase, calculators: Mapping[str, Any]
) -> dict[FactKey, Value] | None:
    """Return final facts for which both rules fire with different conclusions, if some are found.

    Searched for from the rules' own test points, with values on and beside every line.
    """
    element = _element(one.rule, other.rule, kb)
    draw = seeded(0)
    starts = list(_starts(one.rule, other.rule, kb, element))
    options = _options(one.rule, other.rule, kb, element)
    keys = sorted(options)
    for number in range(TRIES):
        given = dict(starts[number % len(starts)])
        if number >= len(starts):
            for key in draw.sample(keys, min(len(keys), draw.randint(1, 3))):
                given[key] = draw.choice(options[key])
        first = _fired(one.rule, element, given, kb, calculators)
        second = _fired(other.rule, element, given, kb, calculators)
        if first is not None and second is not None and _differ(first, second):
            return {key: given[key] for key in sorted(given) if key in options}
    return None


def _element(one: Rule, other: Rule, kb: KnowledgeBase) -> str | None:
    for rule in (one, other):
        if rule.for_each:
            return rule.tests.loop or elements(rule, kb)[0]
    return None


def _starts(
    one: Rule, other: Rule, kb: KnowledgeBase, element: str | None
) -> Iterator[dict[FactKey, Value]]:
    """The two rules' test points laid over each other, for the element in question."""
    for first in points(one, kb):
        for second in points(other, kb):
            yield {
                _for(key, rule, element): value
                for rule, point in ((one, first), (other, second))
                for key, value in point.given.items()
            }


def _for(key: FactKey, rule: Rule, element: str | None) -> FactKey:
    fact, index = split_key(key)
    return f"{fact}[{element}]" if index is not None and index == rule.tests.loop else key


def _options(
    one: Rule, other: Rule, kb: KnowledgeBase, element: str | None
) -> dict[FactKey, list[Value]]:
    options: dict[FactKey, list[Value]] = {}
    for fact_id in facts_read(one) | facts_read(other):
        fact = kb.facts[fact_id]
        if fact.origin == "context":
            continue
        keys = [fact_id]
        if fact.index is not None:
            ids = kb.book.domains[fact.index]
            keys = [f"{fact_id}[{each}]" for each in ids if element is None or each == element]
        for key in keys:
            options[key] = [*_values(fact, kb, (one, other)), Status.UNKNOWN]
    return options


def _values(fact: FactDeclaration, kb: KnowledgeBase, rules: tuple[Rule, Rule]) -> list[Value]:
    if fact.type is FactType.BOOLEAN:
        return [True, False]
    if fact.type is FactType.CHOICE:
        return list(kb.book.choices_of(fact))
    if fact.type is FactType.CHOICES:
        return [(), *((each,) for each in kb.book.choices_of(fact))]
    if fact.type in {FactType.NUMBER, FactType.INTEGER}:
        low, high = fact.range or (0.0, 1000.0)
        near = [n for rule in rules for n in _lines(fact.id, rule, kb) if low <= n <= high]
        return [*near, low, (low + high) / 2, high]
    return [DEFAULT_DAY.isoformat()] if fact.type is FactType.DATE else ["text"]


def _lines(fact_id: str, rule: Rule, kb: KnowledgeBase) -> Iterator[float]:
    for addressed in clauses(rule):
        term = operand(addressed.clause)
        if addressed.clause.fact == fact_id and isinstance(term, ParameterTerm):
            parameter = kb.parameters[term.param]
            for dated in parameter.values:
                yield from (dated.value - parameter.step, dated.value, dated.value + parameter.step)


def _fired(
    rule: Rule,
    element: str | None,
    given: Mapping[FactKey, Value],
    kb: KnowledgeBase,
    calculators: Mapping[str, Any],
) -> Derivation | None:
    try:
        outcome = judged(rule, element if rule.for_each else None, given, kb, calculators)
    except Unjudged:
        return None
    return outcome if outcome.verdict is Verdict.FIRED else None


def _differ(first: Derivation, second: Derivation) -> bool:
    one = {each.fact: each.value for each in first.conclusions}
    return any(each.fact in one and one[each.fact] != each.value for each in second.conclusions)


def _worded(given: Mapping[FactKey, Value]) -> str:
    def said(value: Value) -> str:
        return f"[{spelled(list(value))}]" if isinstance(value, tuple) else spelled(value)

    return ", ".join(f"{key} = {said(value)}" for key, value in given.items())
