"""A rule's own tests: they are there, and speak of facts, values and elements that exist."""

from collections.abc import Mapping
from typing import Any

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.values import read_value
from assistant.knowledge.walk import LEFT_OUT, WITHHELD, facts_read, facts_written
from assistant.model.errors import Problem, Refused
from assistant.model.rules import Rule
from assistant.model.values import split_key

RANGE_FIELDS = ("value", "low", "high")


def check_examples(draft: Draft) -> list[Problem]:
    """Return what is wrong with the rules' tests, without running them."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        scope = Scope(draft, "rule", rule.id)
        _check(rule, scope)
        problems.extend(scope.problems)
    return problems


def _check(rule: Rule, scope: Scope) -> None:
    tests = rule.tests
    if not tests.expect and not any(case.expect for case in tests.cases):
        scope.problem(("tests",), "missing-test", "the rule's tests never expect a conclusion")
    if (tests.loop is None) != (rule.for_each is None):
        text = "`loop` names the element tested, exactly where the rule has `for_each`"
        scope.problem(("tests", "loop"), "bad-test", text)
    elif tests.loop is not None and rule.for_each is not None:
        _loop(tests.loop, next(iter(rule.for_each.values())), scope)
    read = facts_read(rule) | {WITHHELD, LEFT_OUT}
    _given(tests.given, read, scope, ("tests", "given"))
    _expected(tests.expect, rule, scope, ("tests", "expect"))
    for number, case in enumerate(tests.cases):
        at = ("tests", "cases", number)
        if not case.but:
            scope.problem(at, "bad-test", "`but` says what differs from `given`")
        _given(case.but, read, scope, (*at, "but"))
        if case.expect is not None:
            _expected(case.expect, rule, scope, (*at, "expect"))
        outcomes = (case.fires, case.failed_at, case.blocked_by, case.needs, case.expect)
        if all(outcome is None for outcome in outcomes):
            text = "say what is expected: fires, failed_at, blocked_by, needs or expect"
            scope.problem(at, "bad-test", text)
        faults = [case.failed_at, case.blocked_by, *(case.needs or ())]
        for key in faults:
            if key is not None and split_key(key)[0] not in read:
                hint = did_you_mean(split_key(key)[0], read)
                scope.problem(at, "bad-test", f"`{key}` is not read by this rule{hint}")


def _loop(element: str, source: str, scope: Scope) -> None:
    if "." in source:
        fact = scope.draft.facts.get(source)
        ids = scope.choices(fact) if fact is not None else (element,)
    else:
        ids = scope.draft.book.domains.get(source, (element,))
    if element not in ids:
        text = f"`{element}` is not an element of `{source}`{did_you_mean(element, ids)}"
        scope.problem(("tests", "loop"), "bad-test", text)


def _given(given: Mapping[str, Any], read: set[str], scope: Scope, at: RawPath) -> None:
    for key, raw in given.items():
        fact_id, _ = split_key(key)
        if fact_id in scope.draft.facts and fact_id not in read:
            text = f"`{fact_id}` is not read by this rule, so giving it tests nothing"
            scope.problem((*at, key), "bad-test", text)
        if isinstance(raw, dict):
            _with_range(key, raw, scope, (*at, key))
            if "value" not in raw:
                text = f"`{key}` is given with a range, but without its `value`"
                scope.problem((*at, key), "bad-test", text)
        else:
            _value(key, raw, scope, (*at, key))


def _expected(expected: Mapping[str, Any], rule: Rule, scope: Scope, at: RawPath) -> None:
    written = facts_written(rule)
    for key, raw in expected.items():
        fact_id, _ = split_key(key)
        if fact_id in scope.draft.facts and fact_id not in written:
            hint = did_you_mean(fact_id, written)
            text = f"`{fact_id}` is not concluded by this rule{hint}"
            scope.problem((*at, key), "bad-test", text)
            continue
        if isinstance(raw, dict):
            _with_range(key, raw, scope, (*at, key))
        else:
            _value(key, raw, scope, (*at, key))


def _with_range(key: str, raw: Mapping[str, Any], scope: Scope, at: RawPath) -> None:
    """A number may stand with the ends of its range: {value: 10, low: 8, high: 12}."""
    strange = sorted(set(raw) - set(RANGE_FIELDS))
    if strange or not raw:
        wrong = f"not `{strange[0]}`" if strange else "at least one of them"
        text = f"`{key}` may be a value, or a mapping with {', '.join(RANGE_FIELDS)}; {wrong}"
        scope.problem(at, "bad-test", text)
    declaration = scope.draft.facts.get(split_key(key)[0])
    if declaration is not None and not declaration.has_range:
        scope.problem(at, "no-range", f"`{key}` has no range; write the value alone")
    for number in raw.values():
        _value(key, number, scope, at)


def _value(key: str, raw: Any, scope: Scope, at: RawPath) -> None:
    fact_id, index = split_key(key)
    declaration = scope.draft.facts.get(fact_id)
    if declaration is None:
        hint = did_you_mean(fact_id, scope.draft.facts)
        scope.problem(at, "unknown-fact", f"`{fact_id}` is not declared{hint}")
        return
    ids = scope.draft.book.domains.get(declaration.index or "", ())
    if (index is None) != (declaration.index is None) or (index is not None and index not in ids):
        form = fact_id if declaration.index is None else f"{fact_id}[<{declaration.index}>]"
        scope.problem(at, "bad-index", f"`{key}` is written `{form}`")
        return
    groups = declaration.groups
    if isinstance(raw, list):
        raw = [item for item in raw if not (isinstance(item, str) and item in groups)]
    try:
        read_value(declaration, scope.draft.book, raw)
    except Refused as refused:
        scope.problem(at, refused.code, f"`{key}` {refused.text}")
