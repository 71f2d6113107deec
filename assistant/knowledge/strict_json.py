"""JSON from elsewhere, read strictly: UTF-8, no doubled names, no NaN, no bottomless nesting."""

import json
import math
from collections.abc import Iterator
from typing import Any, NoReturn

from assistant.knowledge.nearest import shown
from assistant.knowledge.strict_yaml import MAX_DEPTH
from assistant.model.errors import Refused


def strict_json(raw: bytes) -> Any:
    """Return the data of a JSON text. Raises Refused."""
    try:
        data = json.loads(
            raw.decode("utf-8-sig"), object_pairs_hook=_once_each, parse_constant=_no_constant
        )
        for _ in texts_of(data):
            pass
    except UnicodeDecodeError as error:
        raise Refused("bad-encoding", f"byte {error.start} is not UTF-8; save it so") from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, character {error.colno}"
        raise Refused("bad-json", f"no JSON: {error.msg} at {where}; mend it") from None
    except RecursionError:
        raise Refused("too-deep", f"nested deeper than {MAX_DEPTH} levels") from None
    except ValueError:
        text = "has a number with too many digits; shorten it"
        raise Refused("bad-json", text) from None
    return data


def texts_of(data: Any, depth: int = MAX_DEPTH) -> Iterator[str]:
    """Yield every text inside, names too. Raises Refused for bottomless nesting and endless numbers."""
    if depth < 0:
        raise Refused("too-deep", f"nested deeper than {MAX_DEPTH} levels")
    if isinstance(data, str):
        yield data
    elif isinstance(data, float) and not math.isfinite(data):
        raise Refused("bad-value", "has a number too large to hold; correct it")
    elif isinstance(data, dict | list):
        yield from data if isinstance(data, dict) else ()
        for value in data.values() if isinstance(data, dict) else data:
            yield from texts_of(value, depth - 1)


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise Refused("repeated-field", f"`{shown(name)}` stands twice; name it once")
        found[name] = value
    return found


def _no_constant(name: str) -> NoReturn:
    raise Refused("bad-value", f"`{name}` is no number here; remove it")
