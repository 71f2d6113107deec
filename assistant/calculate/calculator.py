"""The shape in which a calculation is offered to the rules: typed inputs, unit, source, mark."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from assistant.calculate.estimate import Estimate

# How far the source itself was checked. A plain definition (weight over height squared) carries
# "read": it claims nothing about people that could be wrong.
Mark = Literal["read", "second_hand", "from_memory", "judgement"]
READ: Mark = "read"
SECOND_HAND: Mark = "second_hand"
FROM_MEMORY: Mark = "from_memory"
JUDGEMENT: Mark = "judgement"

DEFINITION = "definition"


@dataclass(frozen=True, slots=True)
class CalculatorInput:
    """One positional argument: its name and its unit ("text" and "date" are units too)."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Calculator:
    """A function a rule may name, with all a loader needs to check the call.

    ``function`` takes the inputs in order as floats (``str`` for "text", ``datetime.date`` for
    "date") and returns a float or an ``Estimate`` in ``unit``, or a date; it raises ``ValueError`` with one
    line for an input it refuses.
    """

    name: str
    function: Callable[..., Estimate | float | date]
    inputs: tuple[CalculatorInput, ...]
    unit: str
    source: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a formula comes from, in one short citation, and how far that was checked."""

    source: str
    mark: Mark


BY_DEFINITION = Origin(DEFINITION, READ)
COMMON_PRACTICE = Origin("common practice, no source", JUDGEMENT)


def calculator(
    name: str,
    function: Callable[..., Estimate | float | date],
    unit: str,
    origin: Origin,
    **input_units: str,
) -> Calculator:
    """Return a calculator; keyword arguments give the unit of each input, in order."""
    inputs = tuple(CalculatorInput(field, of) for field, of in input_units.items())
    return Calculator(name, function, inputs, unit, origin.source, origin.mark)
