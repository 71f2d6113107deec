"""The test points of a rule: what is given, and what the rule must make of it."""

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, TypeAlias

from assistant.engine.single import judge
from assistant.knowledge.values import read_value
from assistant.knowledge.walk import clause_facts, clauses, operand
from assistant.model.derivation import Concluded, Derivation, Holds, Verdict
from assistant.model.errors import EngineFault, InputProblems
from assistant.model.expressions import FactTerm, parts
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule, RuleTestCase
from assistant.model.values import FactKey, Status, Value, split_key

DEFAULT_DAY = dt.date(2026, 1, 12)
# Expected numbers are written out in full; this only forgives the last digit of binary fractions.
TOLERANCE = 1e-9

Range: TypeAlias = tuple[float | None, float | None]


@dataclass(frozen=True)
class Point:
    """One situation of a rule's tests. `address` is `tests` or e.g. `tests.cases.2`.

    ranges: low and high of given facts that are written with them.
    """

    address: str
    given: Mapping[FactKey, Value]
    ranges: Mapping[FactKey, Range]
    expected: RuleTestCase


class Unjudged(Exception):
    """A rule cannot be worked out on given facts."""


def judged(
    rule: Rule,
    loop: str | None,
    given: Mapping[FactKey, Value],
    kb: KnowledgeBase,
    calculators: Mapping[str, Any],
    **more: Any,
) -> Derivation:
    """Return what a rule makes of given facts; see judge. Raises Unjudged."""
    try:
        return judge(rule, loop, given, kb, rule.tests.on or DEFAULT_DAY, calculators, **more)
    except (EngineFault, InputProblems, ValueError, ArithmeticError) as error:
        raise Unjudged(str(error)) from error


def tested(rule: Rule, kb: KnowledgeBase, calculators: Mapping[str, Any]) -> Iterator[Derivation]:
    """Yield what a rule makes of each of its points that can be worked out.

    What cannot is told by the rule's own tests.
    """
    for point in points(rule, kb):
        with suppress(Unjudged):
            yield judged(rule, rule.tests.loop, point.given, kb, calculators, ranges=point.ranges)


def points(rule: Rule, kb: KnowledgeBase) -> list[Point]:
    """All points of a rule: the given facts as they are, and each variation of them."""
    found = []
    if rule.tests.expect:
        expected = RuleTestCase(but={}, fires=True, expect=rule.tests.expect)
        found.append(_point("tests", rule.tests.given, expected, kb))
    for number, case in enumerate(rule.tests.cases):
        varied = {**rule.tests.given, **case.but}
        found.append(_point(f"tests.cases.{number}", varied, case, kb))
    return found


def _point(
    address: str, raw: Mapping[str, Any], expected: RuleTestCase, kb: KnowledgeBase
) -> Point:
    given: dict[FactKey, Value] = {}
    ranges: dict[FactKey, Range] = {}
    for key, value in raw.items():
        declaration = kb.facts[split_key(key)[0]]
        if isinstance(value, dict):
            given[key] = read_value(declaration, kb.book, value["value"])
            ranges[key] = (value.get("low"), value.get("high"))
        else:
            given[key] = read_value(declaration, kb.book, value)
    return Point(address, given, ranges, expected)


def wrong(point: Point, outcome: Derivation, rule: Rule, kb: KnowledgeBase) -> str | None:
    """What differs from the expectation, or None if nothing does."""
    return next(_differences(point, outcome, rule, kb), None)


def _differences(point: Point, outcome: Derivation, rule: Rule, kb: KnowledgeBase) -> Iterator[str]:
    expected, verdict = point.expected, outcome.verdict
    if expected.fires is not None or expected.expect is not None:
        must_fire = expected.fires is True or expected.expect is not None
        if must_fire != (verdict is Verdict.FIRED):
            yield f"expected to {'fire' if must_fire else 'hold back'}, but {_told(outcome)}"
    named = {Verdict.FAILED_AT: expected.failed_at, Verdict.BLOCKED_BY: expected.blocked_by}
    for wanted, fact in named.items():
        if fact is not None and (
            verdict is not wanted or fact not in _at_fault(outcome, wanted, rule)
        ):
            yield f"expected {wanted.value} {fact}, but {_told(outcome)}"
    if expected.needs is not None:
        yield from _needs(expected.needs, outcome, rule)
    if expected.expect is not None and verdict is Verdict.FIRED:
        yield from _conclusions(expected.expect, outcome.conclusions, kb)


def _told(outcome: Derivation) -> str:
    """The verdict in words, with the clauses at fault."""
    faults = {
        Verdict.FAILED_AT: Holds.FALSE,
        Verdict.BLOCKED_BY: Holds.TRUE,
        Verdict.NEEDS: Holds.UNKNOWN,
    }.get(outcome.verdict)
    at = [
        f"{reading.address} ({reading.fact})"
        for reading in outcome.readings
        if reading.holds is faults and (reading.role == "when") is not (faults is Holds.TRUE)
    ]
    return f"it {outcome.verdict.value} {', '.join(at)}".rstrip()


def _at_fault(outcome: Derivation, wanted: Verdict, rule: Rule) -> set[str]:
    """Facts (ids and keys) of the clauses that made the verdict."""
    holds = Holds.FALSE if wanted is Verdict.FAILED_AT else Holds.TRUE
    facts: set[str] = set()
    for reading in outcome.readings:
        is_condition = reading.role == "when"
        if reading.holds is holds and is_condition is (wanted is Verdict.FAILED_AT):
            facts |= _facts_of(reading.address, reading.fact, rule)
    return facts


def _facts_of(address: str, key: FactKey, rule: Rule) -> set[str]:
    """A reading's fact by key and id, and the facts its clause counts or compares with."""
    facts = {key, split_key(key)[0]}
    for addressed in clauses(rule):
        if addressed.address == address:
            facts |= set(clause_facts(addressed.clause))
            compared = operand(addressed.clause)
            inside = [] if compared is None else list(parts(compared))
            facts |= {term.fact for term in inside if isinstance(term, FactTerm)}
    return facts


def _needs(needs: tuple[str, ...], outcome: Derivation, rule: Rule) -> Iterator[str]:
    if outcome.verdict is not Verdict.NEEDS:
        yield f"expected to need {', '.join(needs)}, but {_told(outcome)}"
        return
    open_facts = [
        _facts_of(reading.address, reading.fact, rule)
        for reading in outcome.readings
        if reading.holds is Holds.UNKNOWN and reading.role != "excused_by"
    ]
    unexplained = [facts for facts in open_facts if not facts & set(needs)]
    strange = [fact for fact in needs if not any(fact in facts for facts in open_facts)]
    if unexplained:
        yield f"it also needs {', '.join(sorted(unexplained[0]))}"
    if strange:
        yield f"it does not need {strange[0]}"


def _conclusions(
    expected: Mapping[str, Any], concluded: tuple[Concluded, ...], kb: KnowledgeBase
) -> Iterator[str]:
    for key, raw in expected.items():
        declaration = kb.facts[split_key(key)[0]]
        about = [each for each in concluded if each.fact == key]
        if not about:
            yield f"expected a conclusion on {key}, but there is none"
        elif isinstance(raw, dict):
            for field, number in raw.items():
                have = getattr(about[0], field)
                if not _same(have, number):
                    yield f"expected {key} {field} {number}, got {have}"
        elif isinstance(raw, list):
            items = {item for name in raw for item in declaration.groups.get(name, (name,))}
            have_items = _items(about)
            if items != have_items:
                yield f"expected {key} {sorted(items)}, got {sorted(have_items)}"
        elif not _same(about[0].value, raw):
            yield f"expected {key} {raw}, got {about[0].value}"


def _items(about: list[Concluded]) -> set[str]:
    items: set[str] = set()
    for each in about:
        value = each.value
        items |= set(value) if isinstance(value, tuple) else {str(value)}
    return items


def _same(have: Value | None, want: Any) -> bool:
    if isinstance(have, bool) or isinstance(want, bool):
        return have is want
    if isinstance(have, (int, float)) and isinstance(want, (int, float)):
        return math.isclose(have, want, rel_tol=TOLERANCE, abs_tol=TOLERANCE)
    if isinstance(have, Status):
        return False
    return bool(have == want)
