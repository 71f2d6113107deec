"""One way to write a value down, so that equal values have equal hashes on every machine."""

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from enum import Enum
from typing import Any


def canonical_json(data: Any) -> str:
    """Return plain data as JSON: sorted keys, no spaces, ASCII; NaN and infinities are refused.

    The form follows the idea of RFC 8785 (sorted keys, no spaces, shortest numbers); it is not that
    standard to the letter, since text is kept to ASCII.
    """
    return json.dumps(
        data, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    )


def fingerprint(data: Any) -> str:
    """Return the SHA-256 of plain data, as 64 hexadecimal digits."""
    return hashlib.sha256(canonical_json(data).encode("ascii")).hexdigest()


def plain(value: object) -> Any:
    """Return a value as plain JSON data; numbers keep nine significant digits.

    Nine digits are what a printed plan keeps, so that a last bit that differs between machines
    changes no hash.
    """
    if isinstance(value, Enum):
        value = value.value
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        short = float(f"{value:.9g}")
        return int(short) if short.is_integer() else short
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        value = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    return str(value)
