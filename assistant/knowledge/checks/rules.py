"""Every rule: its stage, loop, clauses and conclusions."""

from collections.abc import Mapping
from typing import Any

from assistant.knowledge.checks.clauses import check_clause, check_ids, check_value
from assistant.knowledge.checks.expressions import infer, same_unit
from assistant.knowledge.checks.scope import Loop, Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.walk import clauses, facts_written
from assistant.model.errors import Problem
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.rules import Conclusion, Rule

SCREEN = "screen"


def check_rules(draft: Draft, calculators: Mapping[str, Any] | None) -> list[Problem]:
    """Return what is wrong with the logic of each rule taken by itself."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        scope = Scope(draft, "rule", rule.id, calculators)
        scope.loop = _loop(rule, scope)
        _stage_and_dates(rule, scope)
        _overrides(rule, scope)
        _unmutated(rule, scope)
        for addressed in clauses(rule):
            check_clause(addressed.clause, scope, addressed.path)
        for number, conclusion in enumerate(rule.then):
            _conclusion(conclusion, scope, ("then", number))
        problems.extend(scope.problems)
    return problems


def _loop(rule: Rule, scope: Scope) -> Loop | None:
    if rule.for_each is None:
        return None
    if len(rule.for_each) != 1:
        scope.problem(("for_each",), "bad-loop", "`for_each` has exactly one variable")
        return None
    [(variable, source)] = rule.for_each.items()
    ids = _loop_ids(variable, source, scope)
    return None if ids is None else Loop(variable, ids)


def _loop_ids(variable: str, source: str, scope: Scope) -> tuple[str, ...] | None:
    if not variable.isidentifier():
        scope.problem(("for_each",), "bad-loop", f"`{variable}` is not a plain name")
    if "." not in source:
        ids = scope.draft.book.domains.get(source)
        if ids is None:
            hint = did_you_mean(source, scope.draft.book.domains)
            text = f"`{source}` is not a domain of book.yaml{hint}"
            scope.problem(("for_each", variable), "unknown-domain", text)
        return ids
    declaration = scope.fact(source, ("for_each", variable))
    if declaration is None:
        return None
    if declaration.type is not FactType.CHOICES or declaration.index is not None:
        text = f"`{source}` is not a list, so there is nothing to loop over"
        scope.problem(("for_each", variable), "bad-loop", text)
        return None
    return scope.choices(declaration)


def _stage_and_dates(rule: Rule, scope: Scope) -> None:
    stages = scope.draft.book.stages
    if rule.stage not in stages:
        hint = did_you_mean(rule.stage, stages, f"; stages: {', '.join(stages)}")
        scope.problem(("stage",), "unknown-stage", f"`{rule.stage}` is not a stage{hint}")
    if rule.stage == SCREEN and rule.unless:
        text = "a screening rule must not be held back by a missing answer; use `excused_by`"
        scope.problem(("unless",), "unless-in-screen", text)
    start, end = rule.in_force_from, rule.in_force_until
    if start is not None and end is not None and start > end:
        scope.problem(("in_force_until",), "bad-dates", "the rule ends before it begins")


def _overrides(rule: Rule, scope: Scope) -> None:
    for number, other_id in enumerate(rule.overrides):
        other = scope.draft.rules.get(other_id)
        at = ("overrides", number)
        if other is None:
            hint = did_you_mean(other_id, scope.draft.rules)
            scope.problem(at, "unknown-rule", f"`{other_id}` is not a rule{hint}")
        elif other_id == rule.id or rule.id in other.overrides:
            scope.problem(at, "bad-override", f"`{rule.id}` and `{other_id}` override in a circle")
        elif not facts_written(rule) & facts_written(other):
            text = f"`{other_id}` concludes nothing that this rule concludes"
            scope.problem(at, "bad-override", text)


def _unmutated(rule: Rule, scope: Scope) -> None:
    addresses = {a.address for a in clauses(rule)} | {f"when.{n}" for n in range(len(rule.when))}
    for number in range(len(rule.then)):
        addresses |= {f"then.{number}", f"then.{number}.low", f"then.{number}.high"}
    for name in rule.unmutated:
        if name not in addresses and name not in scope.draft.parameters:
            hint = did_you_mean(name, [*addresses, *scope.draft.parameters])
            text = f"`{name}` is no clause, conclusion or parameter of this rule{hint}"
            scope.problem(("unmutated", name), "unknown-address", text)


def _conclusion(conclusion: Conclusion, scope: Scope, path: RawPath) -> None:
    field = "set" if conclusion.set is not None else "add"
    declaration = scope.draft.facts.get(conclusion.fact)
    if declaration is None:
        scope.fact(conclusion.fact, (*path, field))
        return
    scope.index(declaration, conclusion.of, (*path, "of"))
    if declaration.origin != "derived":
        text = f"`{declaration.id}` is an {declaration.origin}; rules conclude derived facts"
        scope.problem((*path, field), "not-derived", text)
    if field == "add":
        _add(conclusion, declaration, scope, path)
    else:
        _set(conclusion, declaration, scope, path)
    for end in ("low", "high"):
        expression = getattr(conclusion, end)
        if expression is not None:
            _end(expression, end, declaration, scope, path)


def _add(conclusion: Conclusion, declaration: FactDeclaration, scope: Scope, path: RawPath) -> None:
    if declaration.type is not FactType.CHOICES or declaration.combine is not Combine.COLLECT:
        text = f"`add` is for lists that collect; `{declaration.id}` is not one"
        scope.problem((*path, "add"), "bad-conclusion", text)
        return
    assert conclusion.item is not None
    at = (*path, "item")
    if isinstance(conclusion.item, str) and conclusion.item in declaration.groups:
        return
    value = infer(conclusion.item, scope, at)
    if value is None:
        return
    if value.type != "id":
        scope.problem(at, "bad-type", f"`item` is one id, not {value}")
        return
    if isinstance(conclusion.item, str) and conclusion.item not in scope.choices(declaration):
        known = [*scope.choices(declaration), *declaration.groups]
        text = f"`{conclusion.item}` is not a choice of `{declaration.id}`"
        scope.problem(at, "unknown-choice", text + did_you_mean(conclusion.item, known))
    else:
        check_ids(value.ids or (), declaration, scope, at)


def _set(conclusion: Conclusion, declaration: FactDeclaration, scope: Scope, path: RawPath) -> None:
    if declaration.combine is Combine.COLLECT:
        text = f"`{declaration.id}` collects; use `add` with an `item`"
        scope.problem((*path, "set"), "bad-conclusion", text)
        return
    assert conclusion.to is not None
    at = (*path, "to")
    if declaration.combine is Combine.ANY and conclusion.to is not True:
        text = f"`{declaration.id}` is true if any rule says so; it can only be set to true"
        scope.problem(at, "bad-conclusion", text)
        return
    value = infer(conclusion.to, scope, at)
    if value is not None:
        check_value(declaration, value, scope, at)


def _end(
    expression: Any, end: str, declaration: FactDeclaration, scope: Scope, path: RawPath
) -> None:
    if not declaration.has_range:
        text = f"`{declaration.id}` does not say `has_range: true`, so it has no `{end}`"
        scope.problem((*path, end), "no-range", text)
        return
    value = infer(expression, scope, (*path, end))
    if value is None:
        return
    if value.type != "number" or not same_unit(value.unit, declaration.unit):
        text = f"`{end}` must be a number in {declaration.unit}, not {value}"
        scope.problem((*path, end), "unit-mismatch", text)
