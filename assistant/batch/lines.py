"""The lines of a file of cases, some in a row at a time, so that its size does not matter."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from pathlib import Path

from assistant.model.chain import digest, fingerprint
from assistant.model.errors import InputProblems, Problem

LONGEST_LINE_BYTES = 1_000_001
_DIGITS = 32


@dataclass(frozen=True)
class CaseLine:
    """One case as written: its line in the file, from 1, and its bytes without the newline.

    A line longer than a case may be is cut there; reading it then says so.
    """

    number: int
    raw: bytes

    @property
    def digest(self) -> str:
        """A fingerprint of the line."""
        return digest(self.raw)[:_DIGITS]


@dataclass(frozen=True)
class Partition:
    """Lines in a row, of which one part is made. first, last: the range of numbers its name tells."""

    first: int
    last: int
    lines: tuple[CaseLine, ...]

    @property
    def name(self) -> str:
        """How the file of its plans is called."""
        return f"{self.first:08d}-{self.last:08d}.parquet"

    @cached_property
    def digest(self) -> str:
        """A fingerprint of the lines and their places."""
        return fingerprint([[line.number, line.digest] for line in self.lines])

    def pieces(self, at: int | None) -> "list[Partition]":
        """Return the line of a number by itself and what stands about it; else two halves."""
        numbers = [line.number for line in self.lines]
        here = numbers.index(at) if at in numbers else None
        middle = len(self.lines) // 2
        cuts = (0, middle, len(numbers)) if here is None else (0, here, here + 1, len(numbers))
        cut = (self.lines[a:b] for a, b in pairwise(cuts) if a < b)
        return [Partition(lines[0].number, lines[-1].number, lines) for lines in cut]


def partitions(path: Path, size: int) -> Iterator[Partition]:
    """Yield the cases by ranges of `size` lines. Raises InputProblems if the file cannot be read."""
    for place, lines in groupby(case_lines(path), key=lambda line: (line.number - 1) // size):
        yield Partition(place * size + 1, (place + 1) * size, tuple(lines))


def case_lines(path: Path) -> Iterator[CaseLine]:
    """Yield the lines that are not blank. Raises InputProblems if the file cannot be read."""
    try:
        with path.open("rb") as stream:
            number = 0
            while raw := stream.readline(LONGEST_LINE_BYTES):
                number += 1
                rest = raw
                while len(rest) == LONGEST_LINE_BYTES and not rest.endswith(b"\n"):
                    rest = stream.readline(LONGEST_LINE_BYTES)
                raw = raw.removesuffix(b"\n").removesuffix(b"\r")
                if number == 1:
                    raw = raw.removeprefix(b"\xef\xbb\xbf")
                if raw.strip():
                    yield CaseLine(number, raw)
    except OSError as error:
        text = f"the cases cannot be read ({error.strerror}); give a file with one case a line"
        raise InputProblems([Problem(str(path), "unreadable-file", text)]) from error
