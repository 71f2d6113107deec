"""Errors that a person reads: one line each, naming place, code, problem and remedy."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    place: `file:line`, `file`, or a field such as `answers.client.age_years`.
    code: a short stable word, e.g. `unknown-fact`. text: what is wrong and what to do.
    """

    place: str
    code: str
    text: str

    def __str__(self) -> str:
        return f"{self.place}: {self.code}: {self.text}"


class Refused(Exception):
    """A value, text or file that is refused where its place is not known: a code, and what is wrong."""

    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code = code
        self.text = text

    def at(self, place: str) -> Problem:
        """Return the problem, at its place."""
        return Problem(place, self.code, self.text)


class InputProblems(Exception):
    """Bad input: all problems found, in order of place. The command line exits with code 2."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


class EngineFault(Exception):
    """The engines disagree, or one failed: no plan may be issued."""


def unknown(asked: str, known: Iterable[str], code: str, told: str) -> InputProblems:
    """Return that there is nothing of that name, with the nearest names."""
    near = difflib.get_close_matches(asked, list(known), n=3, cutoff=0.4)
    hint = f"; nearest: {', '.join(near)}" if near else ""
    return InputProblems([Problem(asked, code, f"{told}{hint}")])
