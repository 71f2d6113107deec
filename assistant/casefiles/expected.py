"""What a case file expects of its plan, held against what the plan says."""

from collections.abc import Callable, Mapping
from typing import Any

_TESTS: Mapping[str, Callable[[Any, Any], bool]] = {
    "between": lambda value, ends: ends[0] <= value <= ends[1],
    "at_least": lambda value, least: value >= least,
    "at_most": lambda value, most: value <= most,
    "has": lambda value, items: all(item in value for item in items),
    "lacks": lambda value, items: not any(item in value for item in items),
}
_ABSENT = "absent"


def unmet(expect: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, str]:
    """Return what does not come out as expected, in words, by fact key. told: plain values by fact key."""
    return {
        key: f"{key} is {told.get(key, _ABSENT)}, expected {wanted}"
        for key, wanted in expect.items()
        if not _meets(told.get(key), wanted)
    }


def _meets(value: Any, wanted: Any) -> bool:
    if wanted == _ABSENT or value is None:
        return bool(wanted == _ABSENT) and value is None
    if isinstance(wanted, dict):
        return all(_TESTS[name](value, operand) for name, operand in wanted.items())
    return bool(value == wanted)
