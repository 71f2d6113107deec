"""Raw data to models: every mismatch becomes one line that names place, value and what is allowed."""

import json
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed, RawPath
from assistant.model.base import Document
from assistant.model.errors import Problem

Model = TypeVar("Model", bound=Document)
# What pydantic calls a place where one of several plain values may stand, such as a name or yes/no.
_BRANCHES = {"bool", "float", "str", "constrained-str"}


def shape(model: type[Model], raw: Any, parsed: Parsed, at: RawPath) -> Model | list[Problem]:
    """Return the model of `raw`, or what is wrong with it.

    parsed, at: the file and the path inside it where `raw` stands, for line numbers.
    """
    try:
        return model.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        found: dict[tuple[RawPath, str], Problem] = {}
        for each in error.errors(include_url=False):
            path = _path(each["loc"], raw)
            if each["type"] == "too_short" and _part(raw, path):
                continue  # its entries are there, but wrong; they are told by themselves
            problem = _one(each, path, raw, parsed.place(*at, *path), model)
            found.setdefault((path, problem.text), problem)
        return list(found.values())


def _path(loc: tuple[int | str, ...], raw: Any) -> RawPath:
    """The path to the part of the data that an error is about, without the tags of shapes."""
    path = tuple(step for step in loc if not (isinstance(step, str) and step.startswith("<")))
    return path[:-1] if path and path[-1] in _BRANCHES and _part(raw, path) is None else path


def _part(raw: Any, path: RawPath) -> Any:
    for step in path:
        try:
            raw = raw[step]
        except (KeyError, IndexError, TypeError):
            return None
    return raw


def _one(
    error: ErrorDetails, path: RawPath, raw: Any, place: str, model: type[Document]
) -> Problem:
    field = ".".join(str(step) for step in path) or "the document"
    kind, context = error["type"], error.get("ctx", {})
    if kind == "extra_forbidden":
        known = _fields(model, path, raw)
        hint = did_you_mean(str(path[-1]), known, f"; known fields: {', '.join(sorted(known))}")
        return Problem(place, "unknown-field", f"`{field}` is not a field{hint}")
    if kind == "missing":
        return Problem(place, "missing-field", f"`{field}` is needed")
    if kind == "value_error":
        reason = str(context.get("error", error["msg"]))
        prefix = f"`{field}`: " if path else ""
        return Problem(place, "bad-value", f"{prefix}{reason}")
    value = shown(_part(raw, path))
    allowed = _allowed(error["msg"], kind, context)
    return Problem(place, "bad-value", f"`{field}` is `{value}`; allowed: {allowed}")


def _allowed(message: str, kind: str, context: Mapping[str, Any]) -> str:
    if kind == "string_pattern_mismatch":
        return f"text of the form {context['pattern']}"
    simple = {
        "bool_type": "true or false",
        "float_type": "a number",
        "int_type": "a whole number",
        "string_type": "text (put quotes around it)",
        "tuple_type": "a list",
        "dict_type": "a mapping",
        "model_type": "a mapping of fields",
        "model_attributes_type": "a mapping of fields",
        "date_type": 'a date such as "2026-01-01"',
        "date_parsing": 'a date such as "2026-01-01"',
        "date_from_datetime_parsing": 'a date such as "2026-01-01"',
        "date_from_datetime_inexact": 'a date such as "2026-01-01"',
        "string_too_short": "text that says something",
        "too_short": f"at least {context.get('min_length')} entry",
    }
    if kind in simple:
        return simple[kind]
    message = message.removeprefix("Input should be ").removeprefix("Input should ")
    return " ".join(message.split())


def _fields(model: type[Document], path: RawPath, raw: Any) -> set[str]:
    """Names of the fields that may stand where the unknown one does, by the model's own schema.

    Where one of several shapes may stand, the one that shares most fields with what is there.
    """
    schema = TypeAdapter(model).json_schema()
    definitions = schema.get("$defs", {})
    here: Any = schema
    for step in path[:-1]:
        here = _resolve(here, definitions, raw)
        raw = _part(raw, (step,))
        if isinstance(step, int):
            items = here.get("prefixItems")
            here = items[step] if items and step < len(items) else here.get("items", {})
        else:
            here = here.get("properties", {}).get(step) or here.get("additionalProperties") or {}
    here = _resolve(here, definitions, raw)
    return set(here.get("properties", {})) if isinstance(here, dict) else set()


def _resolve(schema: Any, definitions: Mapping[str, Any], raw: Any) -> Any:
    keys = raw.keys() if isinstance(raw, dict) else set()
    while isinstance(schema, dict):
        if "$ref" in schema:
            schema = definitions[schema["$ref"].rsplit("/", 1)[1]]
        elif "anyOf" in schema or "oneOf" in schema:
            several = schema.get("anyOf") or schema["oneOf"]
            branches = [_resolve(each, definitions, raw) for each in several]
            inner = [b for b in branches if "properties" in b or "items" in b]
            shared = [len(keys & b.get("properties", {}).keys()) for b in inner]
            schema = inner[shared.index(max(shared))] if inner else branches[0]
        else:
            return schema
    return {}
