"""JSON from elsewhere, read strictly: UTF-8, no doubled keys, no NaN, no bottomless nesting."""

import json
import math
from typing import Any, NoReturn

from assistant.knowledge.nearest import shown
from assistant.model.errors import InputProblems, Problem

_MAX_DEPTH = 60


def read_json(content: bytes, place: str) -> Any:
    """Return the data of a JSON file. Raises InputProblems with one line."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        wrong = f"byte {error.start} is not UTF-8; save it as UTF-8"
        raise _refused(place, "bad-encoding", wrong) from None
    try:
        data = json.loads(text, object_pairs_hook=_no_doubles, parse_constant=_no_constant)
        _check_depth(data, 0)
    except json.JSONDecodeError as error:
        line = f"{place}:{error.lineno}"
        raise _refused(line, "bad-json", f"{error.msg} at column {error.colno}; mend it") from None
    except (_Wrong, RecursionError) as error:
        raise _refused(place, "bad-json", str(error) or "is nested too deeply") from None
    except ValueError:
        raise _refused(place, "bad-json", "has a number with too many digits; shorten it") from None
    return data


class _Wrong(Exception):
    pass


def _refused(place: str, code: str, text: str) -> InputProblems:
    return InputProblems([Problem(place, code, text)])


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _Wrong(f"has `{shown(key)}` twice in one object; keep one")
        found[key] = value
    return found


def _no_constant(word: str) -> NoReturn:
    raise _Wrong(f"has `{word}`, which is no number in JSON; remove it")


def _check_depth(data: Any, depth: int) -> None:
    if depth > _MAX_DEPTH:
        raise _Wrong(f"is nested more than {_MAX_DEPTH} deep; is this the right file?")
    if isinstance(data, float) and not math.isfinite(data):
        raise _Wrong("has a number too large to hold; correct it")
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    for item in inner:
        _check_depth(item, depth + 1)
