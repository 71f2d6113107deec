"""Our own objects as bytes and back: reading them builds data of known kinds and runs nothing else.

The bytes are a pickle, read under a guard: it makes objects of the classes of the rooms that hold knowledge
and compiled rules, and a few plain containers. Whoever can write such a file can make it wrong, as with a
file of any form; they cannot make it do something.
"""

import importlib
import io
import pickle
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Protocol

ROOMS = ("assistant.model.", "assistant.engine.")
PLAIN = {("builtins", "frozenset"), ("builtins", "set"), ("datetime", "date")}
# What a damaged pickle is known to raise.
BROKEN = (
    pickle.UnpicklingError, AttributeError, EOFError, ImportError, IndexError, KeyError, MemoryError,
    TypeError, ValueError,
)  # fmt: skip


class Shelves(Protocol):
    """What stands beside the packed object and is only named in it."""

    def __call__(self, shelf: str, name: str) -> Any:
        """Return what has a name on a shelf. Raises KeyError."""


def pack(value: Any, beside: Mapping[int, tuple[str, str]] | None = None) -> bytes:
    """Return an object as bytes. beside: shelf and name of what stands elsewhere, by `id`."""
    stream = io.BytesIO()
    _Packer(stream, beside or {}).dump(value)
    return stream.getvalue()


def unpack(raw: bytes, beside: Shelves | None = None) -> Any:
    """Return the object. Raises one of BROKEN for bytes that hold anything but what `pack` packs."""
    return _Unpacker(io.BytesIO(raw), beside).load()


def read_only(content: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    """Return a mapping that cannot be changed: the type itself cannot be packed by name."""
    return MappingProxyType(content)


class _Packer(pickle.Pickler):
    def __init__(self, stream: io.BytesIO, beside: Mapping[int, tuple[str, str]]) -> None:
        super().__init__(stream, protocol=5)
        self._beside = beside

    def persistent_id(self, obj: Any) -> Any:
        return self._beside.get(id(obj))

    def reducer_override(self, obj: Any) -> Any:
        if isinstance(obj, MappingProxyType):
            return read_only, (dict(obj),)
        return NotImplemented


class _Unpacker(pickle.Unpickler):
    def __init__(self, stream: io.BytesIO, beside: Shelves | None) -> None:
        super().__init__(stream)
        self._beside = beside

    def find_class(self, module: str, name: str) -> Any:
        if (module, name) in PLAIN:
            return super().find_class(module, name)
        if (module, name) == (__name__, read_only.__name__):
            return read_only
        found = None
        if module.startswith(ROOMS) and "." not in name:
            found = getattr(importlib.import_module(module), name, None)
        if isinstance(found, type) and found.__module__ == module:
            return found
        raise pickle.UnpicklingError(f"{module}.{name} is nothing that is kept")

    def persistent_load(self, pid: Any) -> Any:
        if self._beside is None:
            raise pickle.UnpicklingError("nothing stands beside this")
        return self._beside(*pid)
