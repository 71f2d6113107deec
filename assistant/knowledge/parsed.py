"""A parsed file: plain data, and the line on which every part of it stands."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

RawPath: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True)
class Parsed:
    """Plain data of one file. `file` is how the file is named to people; lines count from 1.

    elsewhere: the parts that another file laid over it, and that file.
    """

    file: str
    data: Any
    lines: Mapping[RawPath, int]
    elsewhere: Mapping[RawPath, str] = field(default_factory=dict)

    def line(self, path: RawPath) -> int:
        """Line of the deepest part of `path` that exists (a missing field has its parent's)."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def place(self, *path: str | int) -> str:
        """`file:line` of a part of the file."""
        parts = (path[:length] for length in range(len(path), 0, -1)) if self.elsewhere else ()
        file = next((self.elsewhere[part] for part in parts if part in self.elsewhere), self.file)
        return f"{file}:{self.line(path)}"
