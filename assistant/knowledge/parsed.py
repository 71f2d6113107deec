"""A parsed file: plain data, and the line on which every part of it stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

RawPath: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True)
class Parsed:
    """Plain data of one file. `file` is how the file is named to people; lines count from 1."""

    file: str
    data: Any
    lines: Mapping[RawPath, int]

    def line(self, path: RawPath) -> int:
        """Line of the deepest part of `path` that exists (a missing field has its parent's)."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def place(self, *path: str | int) -> str:
        """`file:line` of a part of the file."""
        return f"{self.file}:{self.line(path)}"
