"""Numbers as spreadsheets write them: decimal commas, thousands marks. Nothing is guessed.

`1,234` is 1234 to some and 1.234 to others. The file as a whole tells (one `63,4` settles it), or
the allowed range leaves one reading; otherwise the line is explained.
"""

import re
from collections.abc import Iterable
from typing import Literal

from assistant.model.errors import Refused

Mark = Literal["comma", "point"]
_PLAIN = re.compile(r"[+-]?[0-9]+")
_GROUPED = {
    "point": re.compile(r"[+-]?[0-9]{1,3}(?:[,' \u00a0\u202f][0-9]{3})+(?:\.[0-9]+)?"),
    "comma": re.compile(r"[+-]?[0-9]{1,3}(?:[.' \u00a0\u202f][0-9]{3})+(?:,[0-9]+)?"),
}
_DECIMAL = {
    "point": re.compile(r"[+-]?[0-9]*\.[0-9]+"),
    "comma": re.compile(r"[+-]?[0-9]*,[0-9]+"),
}
MARKS: tuple[Mark, ...] = ("point", "comma")


def readings_of(text: str) -> dict[Mark, float]:
    """Return what a number can mean under each decimal mark."""
    plain = text.strip().replace("\N{MINUS SIGN}", "-")
    if _PLAIN.fullmatch(plain):
        return {"point": float(plain), "comma": float(plain)}
    found: dict[Mark, float] = {}
    for mark in MARKS:
        sign = "." if mark == "point" else ","
        if _GROUPED[mark].fullmatch(plain):
            bare = re.sub(rf"[^0-9+{re.escape(sign)}-]", "", plain)
            found[mark] = float(bare.replace(",", "."))
        elif _DECIMAL[mark].fullmatch(plain):
            found[mark] = float(plain.replace(",", "."))
    return found


def mark_of(cells: Iterable[str]) -> Mark | None:
    """Return the decimal mark that the cells show, or None if they show none or both."""
    shown: set[Mark] = set()
    for cell in cells:
        found = readings_of(cell)
        if len(found) == 1:
            shown |= set(found)
    return shown.pop() if len(shown) == 1 else None


def read_cell(text: str, mark: Mark | None, low: float, high: float) -> float:
    """Return the number of a cell in the unit of its column. Raises Refused.

    low, high: the allowed range in that unit; used only to tell two readings apart.
    """
    found = readings_of(text)
    if not found:
        told = f"`{text.strip()}` is not a number; write digits, for example 63.5"
        raise Refused("bad-number", told)
    values = {found[mark]} if mark in found else set(found.values())
    allowed = {value for value in values if low <= value <= high} if len(values) > 1 else values
    if len(allowed) != 1:
        first, second = sorted(values)
        told = f"`{text.strip()}` can mean {first:g} or {second:g}; write it without that mark"
        raise Refused("two-numbers", told)
    return allowed.pop()
