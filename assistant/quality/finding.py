"""A finding of the checks: where, what, and how to mend it; an error of the load is one, too."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from assistant.model.errors import Problem

Level = Literal["error", "warning", "note"]

# What to do where the message itself does not say it; one remedy serves many messages of the loader.
_USUAL = "correct it as the message says, then run the check again"

_REMEDIES = {
    "bad-declaration": "correct the declaration of the fact",
    "bad-index": "name one id of the domain, or the rule's loop variable",
    "bad-override": "remove the rule from `overrides`",
    "bad-placeholder": "name a fact this rule reads or concludes, `value`, or `param:<id>`",
    "bad-test": "correct the test of the rule",
    "bad-type": "use a value of the type the fact declares",
    "circle": "let one of the rules read something concluded earlier",
    "conflict": "add a clause that excludes one of the two, or say `overrides`",
    "missing-stop": "put the flag's document back; no book may do without it",
    "silence-lets-through": "give the tier back, or let its flag withhold this again",
    "weakened-stop": "make it a stop again, raised by this answer and withholding EVERYTHING",
    "later-stage": "move the rule to the later stage, or read an earlier fact",
    "missing-field": "add the field",
    "missing-grade": "write what the grade means in grades.yaml",
    "missing-test": "add an example with `given` and `expect`",
    "never-concluded": "add a rule that concludes it, or read another fact",
    "never-true": "remove the clause, or test for a status the fact can have",
    "not-derived": "set a fact that is declared `origin: derived`",
    "out-of-range": "write a value inside the range",
    "reads-own-conclusion": "read a fact that an earlier rule concludes",
    "repeated-id": "rename or remove one of the two",
    "unasked-fact": "add a question for it, or remove the fact",
    "unit-mismatch": "use a value in the unit the fact declares",
    "unlabelled-choice": "add the labels to the question",
    "unread-fact": "remove the fact and its question, or name its reader in check.yaml",
    "unused-parameter": "remove the parameter, or name its reader in check.yaml",
    "unused-source": "remove the source, or cite it",
}


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


def remedy(code: str) -> str:
    """Return the usual remedy for a code, in a few words."""
    if code.startswith("unknown-"):
        return "correct the name, or declare it first"
    return _REMEDIES.get(code, _USUAL)
