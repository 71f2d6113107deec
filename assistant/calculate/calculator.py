"""How a function is offered to the rules: its name there, the units of inputs and result, its source."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Annotated, Any, Literal, TypeVar, get_type_hints

from assistant.calculate.estimate import Estimate

# How far the source itself was checked. A plain definition (weight over height squared) carries
# "read": it claims nothing about people that could be wrong.
Mark = Literal["read", "second_hand", "from_memory", "judgement"]
READ: Mark = "read"
SECOND_HAND: Mark = "second_hand"
FROM_MEMORY: Mark = "from_memory"
JUDGEMENT: Mark = "judgement"

DEFINITION = "definition"
COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a number, spelled as in the rules."""

    symbol: str


Cm = Annotated[float, Unit("cm")]
CmPerKg = Annotated[float, Unit("cm/kg")]
Grams = Annotated[float, Unit("g")]
GramsPerDay = Annotated[float, Unit("g/d")]
GramsPerKg = Annotated[float, Unit("g/kg")]
GramsPerKgDay = Annotated[float, Unit("g/kg/d")]
GramsPerLbDay = Annotated[float, Unit("g/[lb_av]/d")]
GramsPerMcal = Annotated[float, Unit("g/Mcal")]
KcalPerDay = Annotated[float, Unit("kcal/d")]
KcalPerKgDay = Annotated[float, Unit("kcal/kg/d")]
Kg = Annotated[float, Unit("kg")]
KgPerM2 = Annotated[float, Unit("kg/m2")]
KgPerWeek = Annotated[float, Unit("kg/wk")]
MealsPerDay = Annotated[float, Unit("{meals}/d")]
Minutes = Annotated[float, Unit("min")]
Percent = Annotated[float, Unit("%")]
PercentPerWeek = Annotated[float, Unit("%/wk")]
Ratio = Annotated[float, Unit("1")]
SessionsPerWeek = Annotated[float, Unit("{sessions}/wk")]
Sets = Annotated[float, Unit("{sets}")]
SetsPerWeek = Annotated[float, Unit("{sets}/wk")]
Weeks = Annotated[float, Unit("wk")]
Years = Annotated[float, Unit("a")]
Days = Annotated[float, Unit("d")]

# Texts and dates are passed as they are; rules name them like units.
_PLAIN = {str: "text", date: "date"}


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
    line for an input it refuses. ``source`` and ``mark``: where the formula comes from, and how far
    that was checked.
    """

    name: str
    function: Callable[..., Estimate | float | date]
    inputs: tuple[CalculatorInput, ...]
    unit: str
    source: str
    mark: Mark


_Function = TypeVar("_Function", bound=Callable[..., Estimate | float | date])
_OFFERED: dict[str, Calculator] = {}


def calculator(
    name: str, unit: str, source: str = DEFINITION, mark: Mark | None = None
) -> Callable[[_Function], _Function]:
    """Offer the function below to the rules under ``name``, with a result in ``unit``.

    Its arguments are annotated with the units above. Without a ``mark`` a definition counts as
    read and common practice as judgement. Raises ``ValueError`` for a name given twice, ``TypeError``
    for an argument without a unit.
    """

    def offer(function: _Function) -> _Function:
        if name in _OFFERED:
            raise ValueError(f"calculator `{name}` is offered twice")
        hints = get_type_hints(function, include_extras=True)
        inputs = tuple(
            CalculatorInput(field, _unit(name, field, hints[field]))
            for field in inspect.signature(function).parameters
        )
        default = READ if source == DEFINITION else JUDGEMENT
        _OFFERED[name] = Calculator(name, function, inputs, unit, source, mark or default)
        return function

    return offer


def _unit(name: str, field: str, hint: Any) -> str:
    for note in getattr(hint, "__metadata__", ()):
        if isinstance(note, Unit):
            return note.symbol
    if hint not in _PLAIN:
        raise TypeError(f"calculator `{name}`: `{field}` states no unit")
    return _PLAIN[hint]


def offered() -> Mapping[str, Calculator]:
    """Return every function offered so far, by name."""
    return MappingProxyType(dict(_OFFERED))
