"""The lines of a file of cases, one at a time, so that its size does not matter."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.model.chain import digest
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


def count_lines(path: Path) -> int:
    """Return how many cases a file holds."""
    return sum(1 for _ in case_lines(path))
