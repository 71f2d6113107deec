"""Whether two clauses (as plain data) can not both be true of the same facts."""

import json
from collections.abc import Mapping
from typing import Any

_SUBJECT = ("fact", "of", "count_true", "count_items")
_NUMBER_OPERATORS = frozenset({"at_least", "at_most", "more_than", "less_than", "equals"})
# What each `status` word leaves possible: a known value, or one of the four ways of having none.
_KINDS = {
    "known": {"known"},
    "unanswered": {"unknown", "declined"},
    "unknown": {"unknown"},
    "declined": {"declined"},
    "not_applicable": {"not_applicable"},
    "none": {"none"},
}

Bounds = Mapping[str, tuple[float, float]]


def can_not_both_hold(one: dict[str, Any], other: dict[str, Any], bounds: Bounds) -> bool:
    """Return True only if it is certain that the two clauses exclude each other.

    bounds: lowest and highest value of each parameter.
    """
    if any(one.get(name) != other.get(name) for name in _SUBJECT):
        return _empty_and_has(one, other) or _empty_and_has(other, one)
    first, second = _operator(one), _operator(other)
    if "status" in (first, second):
        return not _kinds(one, first) & _kinds(other, second)
    return (
        _numbers_apart(one, other, bounds)
        or _opposites(one, first, other, second)
        or _opposites(other, second, one, first)
        or not _may_share_a_choice(one, first, other, second)
    )


def _operator(clause: dict[str, Any]) -> str:
    return next(name for name in clause if name not in _SUBJECT)


def _kinds(clause: dict[str, Any], operator: str) -> set[str]:
    return _KINDS[clause["status"]] if operator == "status" else {"known"}


def _empty_and_has(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """`count_items: f, equals: 0` against `f` having something."""
    is_empty = one.get("equals") == 0 or one.get("less_than") == 1 or one.get("at_most") == 0
    return (
        is_empty
        and one.get("count_items") is not None
        and one["count_items"] == other.get("fact")
        and ("not_empty" in other or "has" in other)
    )


def _opposites(one: dict[str, Any], first: str, other: dict[str, Any], second: str) -> bool:
    pairs = {("has", "lacks"), ("equals", "is_not"), ("at_least", "less_than"),
             ("more_than", "at_most"), ("more_than", "less_than")}  # fmt: skip
    return (first, second) in pairs and _same(one[first], other[second])


def _same(one: Any, other: Any) -> bool:
    # JSON text tells true from 1, which Python's == does not.
    return json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)


def _may_share_a_choice(
    one: dict[str, Any], first: str, other: dict[str, Any], second: str
) -> bool:
    allowed, also = _allowed(one, first), _allowed(other, second)
    if allowed is not None and also is not None:
        return bool(allowed & also)
    if allowed is not None and second == "is_not" and isinstance(other["is_not"], str):
        return bool(allowed - {json.dumps(other["is_not"])})
    if also is not None and first == "is_not" and isinstance(one["is_not"], str):
        return bool(also - {json.dumps(one["is_not"])})
    return True


def _allowed(clause: dict[str, Any], operator: str) -> set[str] | None:
    """The literal values a clause allows, as JSON text; None where they are not literals."""
    if operator == "one_of":
        return {json.dumps(each) for each in clause["one_of"]}
    if operator == "equals" and isinstance(clause["equals"], (bool, str)):
        return {json.dumps(clause["equals"])}
    return None


def _numbers_apart(one: dict[str, Any], other: dict[str, Any], bounds: Bounds) -> bool:
    first, second = _interval(one, bounds), _interval(other, bounds)
    if first is None or second is None:
        return False
    for low, high in ((first, second), (second, first)):
        if high[0] > low[1] or (high[0] == low[1] and (high[2] or low[3])):
            return True
    return False


def _interval(clause: dict[str, Any], bounds: Bounds) -> tuple[float, float, bool, bool] | None:
    """Lowest, highest, and whether these ends are left out; widened over a parameter's values."""
    operator = _operator(clause)
    if operator not in _NUMBER_OPERATORS:
        return None
    value = clause[operator]
    if isinstance(value, dict) and list(value) == ["param"] and value["param"] in bounds:
        low, high = bounds[value["param"]]
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        low = high = float(value)
    else:
        return None
    infinite = float("inf")
    return {
        "at_least": (low, infinite, False, False),
        "more_than": (low, infinite, True, False),
        "at_most": (-infinite, high, False, False),
        "less_than": (-infinite, high, False, True),
        "equals": (low, high, False, False),
    }[operator]
