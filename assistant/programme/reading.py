"""Reads parsed documents strictly and collects every fault with its place in the document."""

from __future__ import annotations

import dataclasses
import difflib
import types
import typing
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

T = TypeVar("T")

MARKS = ("read", "second_hand", "from_memory", "judgement", "common_practice")
GRADES = ("strong", "moderate", "low", "practice")
_SHOWN_CHARACTERS = 60
_NOTE_KEYS = frozenset({"value", "unit", "allowed", "source", "mark", "grade", "why"})


@dataclass(frozen=True)
class Fault:
    """One fault of a document: where it is (keys joined by dots) and what to do about it."""

    path: str
    message: str


class DocumentError(ValueError):
    """Raised when a document has faults; `faults` holds all of them."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{fault.path}: {fault.message}" for fault in self.faults))


@dataclass
class Faults:
    """A growing list of faults, shared by all readers of one load."""

    items: list[Fault] = field(default_factory=list)

    def add(self, path: str, message: str) -> None:
        """Notes one fault at `path`."""
        self.items.append(Fault(path, message))

    def unknown(self, path: str, what: str, name: object, allowed: Iterable[str]) -> None:
        """Notes a name that is not in `allowed`, with the nearest allowed one."""
        names = sorted(allowed)
        near = difflib.get_close_matches(str(name), names, n=1)
        hint = f"did you mean `{near[0]}`?" if near else f"allowed: {', '.join(names)}"
        self.add(path, f"{what} `{name}` is not known; {hint}")


def mapping_at(faults: Faults, value: object, path: str) -> Mapping[str, Any]:
    """Returns `value` if it is a mapping with text keys, else notes a fault and returns {}."""
    if isinstance(value, Mapping) and all(isinstance(key, str) for key in value):
        return value
    faults.add(path, f"expected named entries, found {_shown(value)}")
    return {}


def list_at(faults: Faults, value: object, path: str) -> list[Any]:
    """Returns `value` if it is a list, else notes a fault and returns []."""
    if isinstance(value, list):
        return value
    faults.add(path, f"expected a list, found {_shown(value)}")
    return []


def record_at(
    faults: Faults,
    kind: type[T],
    value: object,
    path: str,
    extra: Mapping[str, Any] | None = None,
    rename: Callable[[str], str] = lambda name: name,
) -> T | None:
    """Builds a dataclass from a mapping whose keys are the field names; None if anything fails.

    `extra` supplies fields that do not stand in the document. `rename` maps field to key.
    """
    before = len(faults.items)
    node = mapping_at(faults, value, path)
    if len(faults.items) > before:
        return None
    return _build(faults, kind, node, path, dict(extra or {}), rename)


def settings_at(
    faults: Faults, kind: type[T], value: object, path: str, sources: Iterable[str]
) -> T | None:
    """Builds a dataclass from entries that each carry value, source, mark and grade."""
    before = len(faults.items)
    node = mapping_at(faults, value, path)
    known = set(sources)
    values: dict[str, Any] = {}
    for name, entry in node.items():
        place = f"{path}.{name}"
        noted = mapping_at(faults, entry, place)
        check_note(faults, noted, place, known)
        if "value" not in noted:
            faults.add(
                place, "has no `value`; write {value: ..., source: ..., mark: ..., grade: ...}"
            )
            continue
        values[name] = noted["value"]
        _check_allowed(faults, noted, f"{place}.value")
    if len(faults.items) > before:
        return None
    return _build(faults, kind, values, path, {}, lambda name: name)


def check_note(faults: Faults, noted: Mapping[str, Any], path: str, sources: Iterable[str]) -> None:
    """Checks that an entry names a known source, an honest mark and a grade."""
    for key in noted:
        if key not in _NOTE_KEYS:
            faults.unknown(path, "key", key, _NOTE_KEYS)
    for key, allowed in (("source", tuple(sources)), ("mark", MARKS), ("grade", GRADES)):
        if key not in noted:
            faults.add(path, f"has no `{key}`; allowed: {', '.join(sorted(allowed))}")
        elif noted[key] not in allowed:
            faults.unknown(f"{path}.{key}", key, noted[key], allowed)


def _check_allowed(faults: Faults, noted: Mapping[str, Any], path: str) -> None:
    allowed, value = noted.get("allowed"), noted["value"]
    if allowed is None:
        return
    if not isinstance(value, int | float) or isinstance(value, bool):
        faults.add(path, f"`allowed` needs a number, found {_shown(value)}")
    elif not allowed[0] <= value <= allowed[1]:
        faults.add(path, f"{value} is outside the allowed {allowed[0]} to {allowed[1]}")


def _build(
    faults: Faults,
    kind: type[T],
    node: Mapping[str, Any],
    path: str,
    ready: dict[str, Any],
    rename: Callable[[str], str],
) -> T | None:
    before = len(faults.items)
    hints = typing.get_type_hints(kind)
    fields = {
        rename(item.name): item
        for item in dataclasses.fields(typing.cast("Any", kind))
        if item.name not in ready
    }
    for key in node:
        if key not in fields:
            faults.unknown(f"{path}.{key}", "key", key, fields)
    for key, item in fields.items():
        if key in node:
            ready[item.name] = _coerced(faults, hints[item.name], node[key], f"{path}.{key}")
        elif item.default is dataclasses.MISSING and item.default_factory is dataclasses.MISSING:
            faults.add(path, f"has no `{key}`")
    return kind(**ready) if len(faults.items) == before else None


def _coerced(faults: Faults, hint: Any, value: object, path: str) -> Any:
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin is tuple:
        return _coerced_tuple(faults, arguments, value, path)
    if origin is frozenset:
        items = list_at(faults, value, path)
        return frozenset(_coerced(faults, arguments[0], item, path) for item in items)
    if origin is not None and issubclass(origin, Mapping):
        return types.MappingProxyType(
            {
                key: _coerced(faults, arguments[1], item, f"{path}.{key}")
                for key, item in mapping_at(faults, value, path).items()
            }
        )
    if dataclasses.is_dataclass(hint):
        return record_at(faults, typing.cast("type[Any]", hint), value, path)
    return _coerced_scalar(faults, hint, value, path)


def _coerced_tuple(faults: Faults, arguments: tuple[Any, ...], value: object, path: str) -> Any:
    items = list_at(faults, value, path)
    if arguments[-1] is Ellipsis:
        return tuple(
            _coerced(faults, arguments[0], item, f"{path}[{index}]")
            for index, item in enumerate(items)
        )
    if len(items) != len(arguments):
        faults.add(path, f"expected {len(arguments)} entries, found {len(items)}")
        return ()
    pairs = zip(arguments, items, strict=True)
    return tuple(_coerced(faults, kind, item, path) for kind, item in pairs)


def _coerced_scalar(faults: Faults, hint: Any, value: object, path: str) -> Any:
    if hint is float and isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if isinstance(value, hint) and (hint is bool) == isinstance(value, bool):
        return value
    faults.add(path, f"expected {_TYPE_NAMES.get(hint, hint.__name__)}, found {_shown(value)}")
    return value


_TYPE_NAMES = {int: "a whole number", float: "a number", str: "a word", bool: "true or false"}


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= _SHOWN_CHARACTERS else text[: _SHOWN_CHARACTERS - 3] + "..."
