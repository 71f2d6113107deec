"""A fact with one value gets it from one rule: two rules that set it must exclude each other.

The proof is syntactic and errs on the safe side: two rules pass if a clause of one rules out a
clause of the other, if their dates do not meet, if they conclude the very same, or if one
`overrides` the other. Everything else is a problem, to be settled by a clause or `overrides`.
"""

import datetime as dt
import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from assistant.knowledge.checks.disjoint import Bounds, can_not_both_hold
from assistant.model.clauses import AnyOf, Clause
from assistant.model.errors import Problem
from assistant.model.facts import Combine
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Conclusion, Rule

_ANY_ELEMENT = "$each"


@dataclass(frozen=True)
class Setter:
    """A conclusion that sets a one-valued fact, with its number in its rule."""

    rule: Rule
    number: int
    conclusion: Conclusion


def check_exclusive(kb: KnowledgeBase) -> list[Problem]:
    """Return pairs of rules that may give one fact two values."""
    problems: list[Problem] = []
    setters = _setters(kb)
    for fact in sorted(setters):
        problems.extend(_single(setters[fact], kb))
        for one, other in combinations(setters[fact], 2):
            if one.rule is other.rule and _meeting_index(one, other) is not None:
                problems.append(_problem(kb, other, f"the rule sets `{fact}` twice"))
    for one, other in conflicting_setters(kb):
        text = (
            f"`{other.conclusion.fact}` may get two values, from this rule and from "
            f"`{one.rule.id}`; add a clause that excludes one of them, or say `overrides`"
        )
        problems.append(_problem(kb, other, text))
    return problems


def conflicting_setters(kb: KnowledgeBase) -> Iterator[tuple[Setter, Setter]]:
    """Yield the pairs of two rules' conclusions that no clause, date or override keeps apart."""
    bounds = bounds_of(kb)
    for _, setters in sorted(_setters(kb).items()):
        for one, other in combinations(setters, 2):
            if one.rule is not other.rule and not _are_exclusive(one, other, bounds):
                yield one, other


def _setters(kb: KnowledgeBase) -> dict[str, list[Setter]]:
    """All conclusions about each fact that has one value."""
    setters: dict[str, list[Setter]] = {}
    # Of two rules the one that stands later is told, in a table the lower row.
    for rule in sorted(kb.rules.values(), key=lambda rule: kb.places[rule.id]):
        for number, conclusion in enumerate(rule.then):
            if kb.facts[conclusion.fact].combine is Combine.ONE:
                setters.setdefault(conclusion.fact, []).append(Setter(rule, number, conclusion))
    return setters


def _problem(kb: KnowledgeBase, setter: Setter, text: str) -> Problem:
    place = kb.place("rule", setter.rule.id, "then", setter.number)
    return Problem(place, "conflict", text)


def _single(setters: list[Setter], kb: KnowledgeBase) -> Iterator[Problem]:
    """A rule that loops and sets a fact outside its loop sets it several times over."""
    for setter in setters:
        variable = setter.rule.loop_variable
        if variable is None or setter.conclusion.of == variable:
            continue
        plain = json.dumps(_plain(setter.conclusion))
        if f'"{variable}"' in plain:
            text = f"`{setter.conclusion.fact}` is set once for every `{variable}`"
            yield _problem(kb, setter, text)


def _plain(model: Clause | Conclusion) -> dict[str, Any]:
    plain: dict[str, Any] = model.model_dump(mode="json", by_alias=True, exclude_none=True)
    return plain


def _meeting_index(one: Setter, other: Setter) -> str | None:
    """The element for which both conclusions are about the same fact, "" if it has no index.

    None: they never meet.
    """
    first, second = _index(one), _index(other)
    if second in (first, _ANY_ELEMENT):
        return first
    return second if first == _ANY_ELEMENT else None


def _index(setter: Setter) -> str:
    of = setter.conclusion.of
    if of is None:
        return ""
    return _ANY_ELEMENT if of == setter.rule.loop_variable else of


def _are_exclusive(one: Setter, other: Setter, bounds: Bounds) -> bool:
    element = _meeting_index(one, other)
    if element is None:
        return True
    if one.rule.id in other.rule.overrides or other.rule.id in one.rule.overrides:
        return True
    if _never_in_force_together(one.rule, other.rule):
        return True
    if _bound(one, element, one.conclusion) == _bound(other, element, other.conclusion):
        return True
    firsts, seconds = _needed(one, element), _needed(other, element)
    for first in firsts:
        for second in seconds:
            if all(can_not_both_hold(a, b, bounds) for a in first for b in second):
                return True
    return _blocks(one, other, element) or _blocks(other, one, element)


def _never_in_force_together(one: Rule, other: Rule) -> bool:
    return any(
        (first.in_force_until or dt.date.max) < (second.in_force_from or dt.date.min)
        for first, second in ((one, other), (other, one))
    )


def _needed(setter: Setter, element: str) -> list[list[dict[str, Any]]]:
    """What must hold for the rule to fire: each a list of alternatives."""
    needed = [
        [_bound(setter, element, clause) for clause in condition.any_of]
        if isinstance(condition, AnyOf)
        else [_bound(setter, element, condition)]
        for condition in setter.rule.when
    ]
    if setter.rule.for_each:
        [(variable, source)] = setter.rule.for_each.items()
        if "." in source and setter.conclusion.of == variable:
            needed.append([{"fact": source, "has": _as_item(element)}])
    return needed


def _as_item(element: str) -> Any:
    return {"loop": _ANY_ELEMENT} if element == _ANY_ELEMENT else element


def _blocks(blocked: Setter, other: Setter, element: str) -> bool:
    """Whether something the other rule needs is a brake or an excuse of this one."""
    brakes = [*blocked.rule.unless, *blocked.rule.excused_by]
    stops = [_bound(blocked, element, clause) for clause in brakes]
    return any(len(need) == 1 and need[0] in stops for need in _needed(other, element))


def _bound(setter: Setter, element: str, model: Clause | Conclusion) -> dict[str, Any]:
    """A clause or conclusion with the loop variable replaced by the element in question."""
    plain = _plain(model)
    variable = setter.rule.loop_variable
    if variable is None or setter.conclusion.of != variable:
        return plain

    def replaced(value: Any) -> Any:
        if isinstance(value, dict):
            if value == {"loop": variable}:
                return _as_item(element)
            return {
                name: element if name == "of" and inner == variable else replaced(inner)
                for name, inner in value.items()
            }
        return [replaced(inner) for inner in value] if isinstance(value, list) else value

    result: dict[str, Any] = replaced(plain)
    return result


def bounds_of(kb: KnowledgeBase) -> dict[str, tuple[float, float]]:
    """Lowest and highest value each parameter has on any day, the coach's own setting included."""
    bounds = {}
    for name, parameter in kb.parameters.items():
        values = [dated.value for dated in parameter.values]
        own = kb.overlay.get(name)
        bounds[name] = (min(values), max(values)) if own is None else (own, own)
    return bounds
