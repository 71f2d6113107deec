"""Raw data to models: every mismatch becomes one line that names place, value and what is allowed.

Pydantic reports a union once per branch. Here only the branch that the author meant is kept: the
one whose telling field (`param`, `fact`, `sum`, ...) stands in the file.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed, RawPath
from assistant.model.base import Document
from assistant.model.clauses import Clause
from assistant.model.errors import Problem

Model = TypeVar("Model", bound=Document)

_TELLING_FIELD = {
    "ParameterTerm": "param",
    "FactTerm": "fact",
    "SumTerm": "sum",
    "DifferenceTerm": "difference",
    "ProductTerm": "product",
    "CalculateTerm": "calculate",
    "LoopTerm": "loop",
    "AnyOf": "any_of",
    "LinePart": "line",
    "NotesPart": "notes",
    "ReasonsPart": "reasons",
    "GapsPart": "gaps",
    "SpecialPart": "special",
}
_SCALAR_BRANCHES = {"bool", "float", "str", "int"}
_EXPRESSION_HELP = (
    "true, false, 0, 1, text, or one of {param: ...}, {fact: ...}, {sum: [...]}, "
    "{difference: [a, b]}, {product: [...]}, {calculate: ..., from: [...]}, {loop: ...}"
)


@dataclass
class _Union:
    """Where one of several shapes may stand: the branches that were tried, and whether one was meant."""

    branches: dict[str, None] = field(default_factory=dict)
    has_meant_branch: bool = False

    def allowed(self) -> str:
        """What may stand there."""
        if self.branches.keys() & _SCALAR_BRANCHES:
            return _EXPRESSION_HELP
        telling = [_TELLING_FIELD[each] for each in self.branches if each in _TELLING_FIELD]
        return "one of " + ", ".join(f"{{{each}: ...}}" for each in telling)


def shape(model: type[Model], raw: Any, parsed: Parsed, at: RawPath) -> Model | list[Problem]:
    """Return the model of `raw`, or what is wrong with it.

    parsed, at: the file and the path inside it where `raw` stands, for line numbers.
    """
    return reshape(model, raw, lambda path: parsed.place(*at, *path))


def reshape(model: type[Model], raw: Any, place_of: Any) -> Model | list[Problem]:
    """Like shape, with `place_of(path)` giving the place of a part of `raw`."""
    try:
        return model.model_validate_json(json.dumps(raw))
    except ValidationError as error:
        return _problems(error.errors(include_url=False), raw, place_of, model)


def _problems(
    errors: Iterable[ErrorDetails], raw: Any, place_of: Any, model: type[Document]
) -> list[Problem]:
    found: dict[tuple[RawPath, str], Problem] = {}
    unions: dict[RawPath, _Union] = {}
    for error in errors:
        path, is_meant = _follow(error["loc"], raw, unions)
        if is_meant:
            problem = _one(error, path, raw, place_of(path), model)
            found.setdefault((path, problem.text), problem)
    for path, union in unions.items():
        if not union.has_meant_branch:
            text = f"`{shown(_part(raw, path))}` does not fit; allowed: {union.allowed()}"
            if "when" in path and isinstance(path[-1], int):
                text = "expected a clause {fact: ..., <operator>: ...} or {any_of: [...]}"
            found[path, text] = Problem(place_of(path), "bad-value", text)
    return list(found.values())


def _follow(
    loc: tuple[int | str, ...], raw: Any, unions: "dict[RawPath, _Union]"
) -> tuple[RawPath, bool]:
    """Strip the union branches from an error's path; tell whether it lies in the meant branch."""
    path: list[str | int] = []
    here = raw
    for step in loc:
        branch = _branch(step) if not (isinstance(here, dict) and step in here) else None
        if branch is None:
            path.append(step)
            here = _part(here, (step,))
            continue
        union = unions.setdefault(tuple(path), _Union())
        union.branches[branch] = None
        if not _is_meant(branch, here):
            return tuple(path), False
        union.has_meant_branch = True
    return tuple(path), True


def _branch(step: int | str) -> str | None:
    if not isinstance(step, str):
        return None
    if step in _SCALAR_BRANCHES or step in _TELLING_FIELD or step.startswith("tuple["):
        return step
    return "Clause" if step.endswith("Clause]") or step == "Clause" else None


def _is_meant(branch: str, raw: Any) -> bool:
    if branch == "Clause":
        return isinstance(raw, dict) and "any_of" not in raw
    telling = _TELLING_FIELD.get(branch)
    return telling is not None and isinstance(raw, dict) and telling in raw


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
    """Names of the fields that may stand where the unknown one does."""
    if len(path) == 1:
        return {f.alias or name for name, f in model.model_fields.items()}
    parent = _part(raw, path[:-1])
    if isinstance(parent, dict) and path[0] in {"when", "unless", "excused_by", "ask_if"}:
        return set(Clause.model_fields)
    return _nested_fields(model, path, raw)


def _nested_fields(model: type[Document], path: RawPath, raw: Any) -> set[str]:
    """Field names from the model's own schema, following the path through lists and references.

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
        elif "anyOf" in schema:
            branches = [_resolve(b, definitions, raw) for b in schema["anyOf"]]
            inner = [b for b in branches if "properties" in b or "items" in b]
            shared = [len(keys & b.get("properties", {}).keys()) for b in inner]
            schema = inner[shared.index(max(shared))] if inner else branches[0]
        else:
            return schema
    return {}
