"""Cases as JSON lines: one case a line, with the fields of a case file."""

import json
from typing import Any, NoReturn

from assistant.knowledge.cases import case_of
from assistant.knowledge.nearest import shown
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.strict_yaml import MAX_BYTES, MAX_DEPTH, invisible_character
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase


def read_case_line(raw: bytes, shown_as: str, number: int, kb: KnowledgeBase) -> Case:
    """Read and check one line; `shown_as` names the file, `number` is the line, from 1.

    As strict as a case file: fields named twice, NaN, invisible characters and the like are refused.
    Raises InputProblems with everything that is wrong.
    """
    place = f"{shown_as}:{number}"
    try:
        data = _parsed(raw)
    except _Refused as refused:
        raise InputProblems([Problem(place, refused.code, refused.text)]) from None
    return case_of(Parsed(shown_as, data, {(): number}), kb)


class _Refused(Exception):
    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code = code
        self.text = text


def _parsed(raw: bytes) -> Any:
    if len(raw) > MAX_BYTES:
        raise _Refused("too-big", f"the line is longer than {MAX_BYTES} bytes")
    try:
        data = json.loads(
            raw.decode("utf-8"), object_pairs_hook=_once_each, parse_constant=_no_constant
        )
    except UnicodeDecodeError:
        raise _Refused("bad-encoding", "save the file as UTF-8 text") from None
    except json.JSONDecodeError as error:
        text = f"the line is no JSON: {error.msg} at character {error.colno}; one case a line"
        raise _Refused("bad-json", text) from None
    except RecursionError:
        raise _Refused("too-deep", f"nested deeper than {MAX_DEPTH} levels") from None
    _check_texts(data, MAX_DEPTH)
    return data


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise _Refused("repeated-field", f"`{shown(name)}` stands twice; name it once")
        found[name] = value
    return found


def _no_constant(name: str) -> NoReturn:
    raise _Refused("bad-value", f"`{name}` is no number here")


def _check_texts(data: Any, depth: int) -> None:
    if depth < 0:
        raise _Refused("too-deep", f"nested deeper than {MAX_DEPTH} levels")
    if isinstance(data, str):
        found = invisible_character(data)
        if found is not None:
            raise _Refused("bad-character", f"the text contains {found}; delete it")
    elif isinstance(data, dict):
        for name, value in data.items():
            _check_texts(name, depth - 1)
            _check_texts(value, depth - 1)
    elif isinstance(data, list):
        for value in data:
            _check_texts(value, depth - 1)
