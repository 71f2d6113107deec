"""A finding of the checks: where, what, and how to mend it; an error of the load is one, too."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from assistant.model.errors import Problem
from assistant.quality.remedies import remedy

Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, order=True)
class Finding:
    """One thing to mend, at a line of a file of the rule book.

    file: as shown to people, from the parent of the rules folder. line: counts from 1.
    code: a short stable word. what, fix: one sentence each. check: which check found it.
    level: a `note` says something without asking for a change.
    """

    file: str
    line: int
    code: str
    what: str
    fix: str
    check: str = ""
    level: Level = "error"

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.code}: {self.what}; {self.fix}"


def from_problem(problem: Problem, check: str, level: Level = "error") -> Finding:
    """Return a problem as a finding; the part after the last semicolon is its remedy.

    A problem that names no line stands on line 1 of its file; one that names no remedy gets the
    usual one for its code.
    """
    file, line = split_place(problem.place)
    what, semicolon, fix = problem.text.rpartition("; ")
    if not semicolon or not fix:
        what, fix = problem.text, remedy(problem.code)
    return Finding(file, line, problem.code, what, fix, check, level)


def from_problems(
    problems: Iterable[Problem], check: str, level: Level = "error"
) -> tuple[Finding, ...]:
    """Return problems as findings, in order of place."""
    return tuple(sorted(from_problem(problem, check, level) for problem in problems))


def split_place(place: str) -> tuple[str, int]:
    """Return file and line of a `file:line` or a plain file (line 1)."""
    file, colon, line = place.rpartition(":")
    return (file, int(line)) if colon and line.isdecimal() else (place, 1)
