"""Thresholds whose tests do not stand on both sides of the line, close to it."""

from collections.abc import Mapping
from typing import Any

from assistant.knowledge.walk import AddressedClause, clauses, operand
from assistant.model.clauses import ORDER_OPERATORS
from assistant.model.derivation import Holds, Reading
from assistant.model.errors import Problem
from assistant.model.expressions import ParameterTerm
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.quality.points import tested

# A distance of one step, and the last digit of binary fractions.
_SLACK = 1 + 1e-9


def missing_boundary_pairs(kb: KnowledgeBase, calculators: Mapping[str, Any]) -> list[Problem]:
    """Return clauses with a number as their line that no pair of test points encloses.

    A pair is one point where the clause holds and one where it does not, each within one step of
    the number. Reasons under `unmutated` (of the rule or the number) excuse, as for mutation.
    """
    problems: list[Problem] = []
    for rule in kb.rules.values():
        lines = [each for each in clauses(rule) if _is_line(each)]
        if not lines:
            continue
        readings = [each for one in tested(rule, kb, calculators) for each in one.readings]
        for addressed in lines:
            side = _open_side(addressed, readings, kb)
            if side is None or _is_excused(addressed, rule, kb):
                continue
            place = kb.place("rule", rule.id, *addressed.path)
            text = (
                f"{rule.id} {addressed.address}: no test stands {side} the line, within a step of "
                f"it; add a case on each side of `{_parameter(addressed)}`"
            )
            problems.append(Problem(place, "missing-boundary-pair", text))
    return problems


def _is_line(addressed: AddressedClause) -> bool:
    clause = addressed.clause
    return (
        clause.fact is not None
        and clause.operator in ORDER_OPERATORS
        and isinstance(operand(clause), ParameterTerm)
    )


def _parameter(addressed: AddressedClause) -> str:
    term = operand(addressed.clause)
    assert isinstance(term, ParameterTerm)  # _is_line saw to it
    return term.param


def _is_excused(addressed: AddressedClause, rule: Rule, kb: KnowledgeBase) -> bool:
    name = _parameter(addressed)
    reasons = {addressed.address, name} & set(rule.unmutated)
    return bool(reasons) or kb.parameters[name].unmutated is not None


def _open_side(
    addressed: AddressedClause, readings: list[Reading], kb: KnowledgeBase
) -> str | None:
    """Which side of the line no test comes close to; None if both do."""
    step = kb.parameters[_parameter(addressed)].step * _SLACK
    near = {
        reading.holds
        for reading in readings
        if reading.address == addressed.address
        and reading.margin is not None
        and abs(reading.margin) <= step
    }
    if Holds.TRUE not in near:
        return "where it holds, close to" if near else "close to"
    return None if Holds.FALSE in near else "where it does not hold, close to"
