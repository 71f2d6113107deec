"""Which rules can fire only for a client whose record is kept; people without one never reach them."""

from collections.abc import Iterator

from assistant.knowledge.walk import clause_facts, conclusion_expressions
from assistant.model.clauses import AnyOf, Clause
from assistant.model.expressions import FactTerm, parts
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule

RECORD = "record"
_OPEN = {"unanswered", "unknown", "declined", "not_applicable", "none"}


def need_a_record(kb: KnowledgeBase) -> frozenset[str]:
    """Return the ids of rules with a condition that only a record, or such rules, can meet.

    A conclusion that another rule can draw without a record keeps a rule out of the list.
    """
    writers: dict[str, list[Rule]] = {}
    for rule in kb.rules.values():
        for conclusion in rule.then:
            writers.setdefault(conclusion.fact, []).append(rule)
    found: set[str] = set()
    while True:
        more = {
            rule.id
            for rule in kb.rules.values()
            if rule.id not in found and _needs(rule, kb, writers, found)
        }
        if not more:
            return frozenset(found)
        found |= more


def _needs(rule: Rule, kb: KnowledgeBase, writers: dict[str, list[Rule]], found: set[str]) -> bool:
    def is_out_of_reach(fact: str, wanted: frozenset[str]) -> bool:
        if kb.facts[fact].origin == RECORD:
            return True
        saying = [each for each in writers.get(fact, ()) if _may_say(each, fact, wanted)]
        return bool(saying) and all(each.id in found for each in saying)

    def is_stuck(clause: Clause) -> bool:
        if clause.count_true is not None:
            return all(is_out_of_reach(fact, frozenset()) for fact in clause.count_true)
        return any(is_out_of_reach(*each) for each in _asked(clause, kb))

    for condition in rule.when:
        alternatives = condition.any_of if isinstance(condition, AnyOf) else (condition,)
        if all(map(is_stuck, alternatives)):
            return True
    return any(is_out_of_reach(fact, frozenset()) for fact in _made_of(rule, kb))


def _asked(clause: Clause, kb: KnowledgeBase) -> Iterator[tuple[str, frozenset[str]]]:
    """Facts that must have a value for a clause to hold, with the choices it wants."""
    if clause.operator == "status" and clause.status in _OPEN:
        return
    if clause.equals is False:
        return
    wanted = frozenset(clause.one_of or ())
    for said in (clause.equals, clause.has):
        if isinstance(said, str):
            wanted = frozenset({said})
    for fact in clause_facts(clause):
        yield fact, wanted
    value = clause.operand
    if not isinstance(value, tuple):
        for term in parts(value):
            if isinstance(term, FactTerm) and kb.facts[term.fact].type is not FactType.BOOLEAN:
                yield term.fact, frozenset()


def _made_of(rule: Rule, kb: KnowledgeBase) -> Iterator[str]:
    """Facts that the rule's conclusions are worked out from."""
    for conclusion in rule.then:
        for _, expression in conclusion_expressions(conclusion):
            for term in parts(expression):
                if isinstance(term, FactTerm) and kb.facts[term.fact].type is not FactType.BOOLEAN:
                    yield term.fact


def _may_say(rule: Rule, fact: str, wanted: frozenset[str]) -> bool:
    for conclusion in rule.then:
        if conclusion.fact == fact:
            said = conclusion.to if conclusion.set is not None else conclusion.item
            if not wanted or not isinstance(said, str) or said in wanted:
                return True
    return False
