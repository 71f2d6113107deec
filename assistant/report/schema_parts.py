"""Small pieces of JSON Schema."""

from collections.abc import Iterable, Mapping
from typing import Any

TEXT: dict[str, Any] = {"type": "string"}
NUMBER: dict[str, Any] = {"type": "number"}
BOOLEAN: dict[str, Any] = {"type": "boolean"}


def record(
    required: Mapping[str, Any], optional: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """Return an object with these fields and no others."""
    return {
        "type": "object",
        "properties": {**required, **(optional or {})},
        "required": list(required),
        "additionalProperties": False,
    }


def list_of(item: dict[str, Any]) -> dict[str, Any]:
    """Return a list of any length."""
    return {"type": "array", "items": item}


def choice(options: Iterable[str]) -> dict[str, Any]:
    """Return one of these words."""
    return {"enum": [str(option) for option in options]}


def matching(pattern: str) -> dict[str, Any]:
    """Return a text of this form."""
    return {"type": "string", "pattern": pattern}


def count(least: int = 0) -> dict[str, Any]:
    """Return a whole number of at least so many."""
    return {"type": "integer", "minimum": least}


def amount(least: float = 0) -> dict[str, Any]:
    """Return a number of at least so much."""
    return {"type": "number", "minimum": least}
