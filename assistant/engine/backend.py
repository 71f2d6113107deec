"""What the host asks of a rule engine: hold attribute facts, and say which rules match them.

Below: values as both engines read them.
"""

import math
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from typing import Protocol, TypeAlias

from assistant.engine.program import Plain, Program
from assistant.model.errors import EngineFault


@dataclass(frozen=True, slots=True)
class Firing:
    """A compiled rule fired; `matched` are the host's numbers of the facts, one for each test."""

    rule: int
    matched: tuple[int, ...]


AttributeFact: TypeAlias = tuple[int, int, Plain]
"""The host's number of a fact, its attribute, and its value."""


class CaseMemory(Protocol):
    """The working memory of one case."""

    def advance(
        self, level: int, facts: Sequence[AttributeFact], absent: Sequence[int]
    ) -> list[Firing]:
        """Add the facts closed before a level and return what fires on them.

        absent: numbers of the absences that the host found to hold at this level. An engine
        with a negation of its own may ignore them and check for itself.
        Raises EngineFault if the engine reports anything out of the ordinary.
        """
        ...


class Backend(Protocol):
    """A compiled rule engine. Not safe for use from several threads at once."""

    @property
    def name(self) -> str:
        """Engine and version, as printed in plans."""
        ...

    def case(self) -> AbstractContextManager[CaseMemory]:
        """Open an empty working memory; leaving the context clears it, whatever happened."""
        ...

    def close(self) -> None:
        """Free the engine's memory. The backend cannot be used afterwards."""
        ...


class BackendMaker(Protocol):
    """Builds an engine for a program."""

    def __call__(self, program: Program) -> Backend:
        """Return the engine; raises ImportError where it is not installed."""
        ...


@cache
def installed_version(package: str) -> str:
    """Return the version of an installed package; finding it out reads files."""
    return version(package)


def number_text(value: float) -> str:
    """Return the shortest decimal text that reads back as the same number.

    There is always a point before an exponent: durable_rules refuses `1e-05`.
    """
    if not math.isfinite(value):
        raise EngineFault(f"{value} cannot be given to a rule engine")
    text = repr(float(value) + 0.0)
    mantissa, exponent_mark, exponent = text.partition("e")
    if exponent_mark and "." not in mantissa:
        text = f"{mantissa}.0e{exponent}"
    return text


def clips_text(value: str) -> str:
    """Return a text as a CLIPS string literal."""
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
