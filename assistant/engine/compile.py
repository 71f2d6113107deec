"""Compile a knowledge base for a day: parameters in force, loops unrolled, levels, limits."""

import datetime as dt
from collections.abc import Container, Iterable, Mapping
from dataclasses import replace
from itertools import groupby

from assistant.engine.bind import Binder
from assistant.engine.bound import BoundClause, BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.limits import check_limits
from assistant.engine.lookup import elements, problem, reference
from assistant.engine.lower import Lowering
from assistant.engine.strata import order, sort_by_level
from assistant.engine.terms import FactRef
from assistant.model.chain import fingerprint
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule
from assistant.model.values import FactKey, fact_key

# Enough to tie a record to the rule it used.
_HASH_DIGITS = 12


def compile_knowledge(kb: KnowledgeBase, on: dt.date) -> CompiledBook:
    """Return the knowledge base ready to run for cases of a day.

    Raises InputProblems, with all problems found, for rules that name unknown facts or
    parameters not in force, read each other in a circle, or are too large for the engines.
    """
    bound = _bind_all(kb, on)
    active = [one for one in bound if one.in_force]
    levels = order(active, kb)
    lowering = Lowering(levels, kb)
    program = lowering.program(bound)
    check_limits(program, bound, kb)
    keys_of = {fact_id: _keys(kb, fact_id) for fact_id in kb.facts}
    closing = ((levels.facts[name], key) for name in sorted(levels.facts) for key in keys_of[name])
    by_rule = groupby(range(len(bound)), key=lambda owner: bound[owner].rule.id)
    by_level = ((levels.rules[b.rule.id], n) for n, b in enumerate(bound) if b.in_force)
    return CompiledBook(
        kb=kb,
        on=on,
        rules=bound,
        program=program,
        refs=_all_refs(kb, keys_of),
        keys_of=keys_of,
        by_level=sort_by_level(by_level, levels.count),
        closing=sort_by_level(closing, levels.count),
        overrides=_overrides(kb, active),
        owners={rule_id: tuple(owners) for rule_id, owners in by_rule},
    )


def with_numbers(
    book: CompiledBook, kb: KnowledgeBase, changed: Container[str]
) -> CompiledBook | None:
    """Return a compiled book with other values of a few parameters, engines and all else shared.

    kb: the same knowledge base but for the values of the parameters `changed`. None where one of
    them stands in a clause: then the engines' program differs, and the book is compiled anew.
    """
    rules = list(book.rules)
    for owner, old in enumerate(book.rules):
        if not any(name.partition("@")[0] in changed for name in old.parameters):
            continue
        new = Binder(old.rule, old.element, kb, book.on).bind(old.position, old.hash)
        if (new.when, new.brakes) != (old.when, old.brakes):
            return None
        rules[owner] = replace(old, conclusions=new.conclusions)
    return replace(book, kb=kb, rules=tuple(rules))


def on_another_day(book: CompiledBook, on: dt.date) -> CompiledBook | None:
    """Return a compiled book for another day, engines and all else shared.

    None where other rules, or other values of parameters, are in force on it.
    """
    dated: tuple[Rule | Parameter, ...] = (
        *book.kb.rules.values(),
        *book.kb.parameters.values(),
    )
    if any(each.in_force(on) != each.in_force(book.on) for each in dated):
        return None
    return replace(book, on=on)


def _bind_all(kb: KnowledgeBase, on: dt.date) -> tuple[BoundRule, ...]:
    """Bind every rule for every element, collecting all problems."""
    bound: list[BoundRule] = []
    pool: dict[BoundClause, BoundClause] = {}
    problems: list[Problem] = []
    for rule_id in sorted(kb.rules):
        rule = kb.rules[rule_id]
        short_hash = fingerprint(rule.logic)[:_HASH_DIGITS]
        try:
            for position, element in enumerate(elements(rule, kb)):
                bound.append(Binder(rule, element, kb, on, pool=pool).bind(position, short_hash))
            _check_rule(rule, kb)
        except InputProblems as found:
            problems.extend(found.problems)
    if problems:
        raise InputProblems(problems)
    return tuple(bound)


def _check_rule(rule: Rule, kb: KnowledgeBase) -> None:
    """Refuse what the engine could only get wrong: a rule that feeds itself, answers concluded."""
    for conclusion in rule.then:
        fact = kb.facts[conclusion.fact]
        if fact.origin != "derived":
            text = f"`{fact.id}` is an {fact.origin} fact; only derived facts can be concluded"
            raise problem(kb, rule.id, "not-derived", text)
    for other in rule.overrides:
        if other not in kb.rules:
            raise problem(kb, rule.id, "unknown-rule", f"`overrides` names unknown rule {other}")


def _keys(kb: KnowledgeBase, fact_id: str) -> tuple[FactKey, ...]:
    """Return all keys of a fact: one, or one for each id of its index domain."""
    fact = kb.facts[fact_id]
    if fact.index is None:
        return (fact_id,)
    return tuple(fact_key(fact_id, index) for index in kb.book.domains.get(fact.index, ()))


def _all_refs(
    kb: KnowledgeBase, keys_of: Mapping[str, tuple[FactKey, ...]]
) -> dict[FactKey, FactRef]:
    refs: dict[FactKey, FactRef] = {}
    for fact_id, keys in keys_of.items():
        fact = kb.facts[fact_id]
        indices = (None,) if fact.index is None else kb.book.domains.get(fact.index, ())
        for key, index in zip(keys, indices, strict=True):
            refs[key] = reference(fact, index, kb)
    return refs


def _overrides(kb: KnowledgeBase, active: Iterable[BoundRule]) -> dict[str, frozenset[str]]:
    """Return, for each rule, every rule that gives way to it, following chains."""
    direct = {one.rule.id: set(one.rule.overrides) for one in active if one.rule.overrides}
    closed: dict[str, frozenset[str]] = {}
    for rule_id, weaker_rules in direct.items():
        reached: set[str] = set()
        frontier = set(weaker_rules)
        while frontier:
            reached |= frontier
            frontier = {weaker for other in frontier for weaker in direct.get(other, ())} - reached
        if rule_id in reached:
            text = "a rule overrides itself through others; one of them must give way"
            raise problem(kb, rule_id, "circle", text)
        closed[rule_id] = frozenset(reached)
    return closed
