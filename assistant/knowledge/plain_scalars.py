"""Unquoted text in YAML: JSON's own words and numbers, else the text itself, and never a guess.

A number is what JSON and YAML 1.1 both call one. They part over exponents: YAML 1.1 asks for a point before and a
sign after the `e`, so `1e5`, `0E0` and `1.5e3` are numbers to one and text to the other; they are refused.
"""

import re
from collections.abc import Iterator
from typing import TypeAlias

import yaml

from assistant.knowledge.nearest import shown
from assistant.model.errors import Refused

MAX_DIGITS = 40
# Beyond this a float cannot hold every whole number: the value read would not be the one written.
MAX_WHOLE_NUMBER = 2**53
INFINITE = float("inf")

Plain: TypeAlias = bool | int | float | str | None

_JSON_WORDS = {"true": True, "false": False, "null": None}
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+([eE][+-][0-9]+)?)?")
_JSON_ONLY_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?[eE][+-]?[0-9]+")
_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WORDS_FOR_YES_NO = re.compile(r"y|n|true|false", re.IGNORECASE)
_WORDS_FOR_NUMBERS = re.compile(r"0o[0-7_]+|[-+]?(inf|infinity|nan)", re.IGNORECASE)
_RESOLVERS: dict[str | None, list[tuple[str, re.Pattern[str]]]] = (
    yaml.SafeLoader.yaml_implicit_resolvers
)
_HINT_BY_KIND = {
    "bool": "write true or false, or put quotes around text",
    "int": "write a plain decimal number, or put quotes around text",
    "float": "write a plain decimal number, or put quotes around text",
    "timestamp": 'put quotes around a date, e.g. "2026-01-01"',
    "null": "write null, or leave the field out",
    "merge": "merge keys are not used here; write the fields out",
}


def plain_value(text: str, *, dates_are_text: bool = False) -> Plain:
    """Return the value of unquoted text. Raises Refused where YAML would guess."""
    if text in _JSON_WORDS:
        return _JSON_WORDS[text]
    if text == "":
        raise Refused("empty-value", "nothing stands here; give a value or remove it")
    if _NUMBER.fullmatch(text):
        return _number(text)
    if dates_are_text and _ISO_DATE.fullmatch(text):
        return text
    for kind in _guesses(text):
        hint = _HINT_BY_KIND.get(kind, "put quotes around it")
        raise Refused("ambiguous-value", f"`{shown(text)}` can be read in two ways; {hint}")
    return text


def _number(text: str) -> int | float:
    if len(text) > MAX_DIGITS:
        raise Refused("bad-number", f"`{shown(text)}` has too many digits")
    is_whole = not any(character in text for character in ".eE")
    number = int(text) if is_whole else float(text)
    if abs(number) == INFINITE or (is_whole and abs(number) > MAX_WHOLE_NUMBER):
        raise Refused("bad-number", f"`{text}` is too large")
    return number


def _guesses(text: str) -> Iterator[str]:
    """What YAML 1.1 or 1.2 would take this unquoted text for, other than text."""
    for tag, pattern in [*_RESOLVERS.get(text[0], []), *_RESOLVERS.get(None, [])]:
        if pattern.match(text):
            yield tag.rpartition(":")[2]
    if _WORDS_FOR_YES_NO.fullmatch(text):
        yield "bool"
    if _WORDS_FOR_NUMBERS.fullmatch(text) or _JSON_ONLY_NUMBER.fullmatch(text):
        yield "float"
