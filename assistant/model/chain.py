"""One spelling for one meaning, its hash, and the chain in which every line names the hash before it.

A chain makes a file tamper-evident, not tamper-proof: whoever may write it can write a whole new one.
"""

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from enum import Enum
from typing import Any, Literal, Self

# Made once, because a record has many lines. ASCII is the rule; the record keeps its text as typed.
_ASCII = json.JSONEncoder(sort_keys=True, separators=(",", ":"), allow_nan=False)
_UNICODE = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), allow_nan=False, ensure_ascii=False
)
# What the first line of a chain names as the one before it.
START = "0" * 64
_PRINTED_DIGITS = 32


def canonical_json(data: Any) -> str:
    """Return plain data as JSON: sorted keys, no spaces, ASCII; NaN and infinities are refused.

    The form follows the idea of RFC 8785 (sorted keys, no spaces, shortest numbers); it is not that
    standard to the letter, since text is kept to ASCII.
    """
    return _ASCII.encode(data)


def plain_json(data: Any) -> str:
    """Return :func:`canonical_json` with text as it was typed, not kept to ASCII."""
    return _UNICODE.encode(data)


def digest(text: str | bytes) -> str:
    """Return the SHA-256 of a text, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


def fingerprint(data: Any) -> str:
    """Return the SHA-256 of plain data, as 64 hexadecimal digits."""
    return digest(canonical_json(data))


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


@dataclasses.dataclass(frozen=True)
class Link:
    """A line's place in its chain: its number, from 1, and its hash; the default stands before it."""

    sequence: int = 0
    hash: str = START

    def __str__(self) -> str:
        return f"{self.sequence}:{self.hash[:_PRINTED_DIGITS]}"

    def fault(self, sequence: object, previous: object) -> Literal["number", "previous"] | None:
        """Tell what keeps a line from being the one after this: its number, or the hash it names."""
        if sequence != self.sequence + 1:
            return "number"
        return None if previous == self.hash else "previous"

    def next(self, hash_: str) -> Self:
        """Return the place of the line after this one."""
        return dataclasses.replace(self, sequence=self.sequence + 1, hash=hash_)
