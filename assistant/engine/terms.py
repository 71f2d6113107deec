"""Expressions with their parameters and loop elements filled in, and how they are worked out.

A `Term` reads facts only through `FactRef`, which also says what it means that nothing is known
about a fact: an answer nobody gave is unknown, a yes/no that no rule concluded is no, and any
other conclusion nobody drew is absent.
"""

import datetime as dt
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from typing import Any, Protocol, TypeAlias

from assistant.model.derivation import Quantity
from assistant.model.errors import EngineFault
from assistant.model.expressions import ARITHMETIC
from assistant.model.facts import FactType
from assistant.model.values import FactKey, Status, Value

# Decimal parameters such as 0.1 have no exact binary form. Rounding every computed number keeps
# sums of decimals on the decimal line, and hides last-digit differences between machines.
DECIMALS_KEPT = 9


class Calculator(Protocol):
    """What the engine needs of a registered calculator."""

    @property
    def function(self) -> Callable[..., Any]:
        """Takes plain numbers, texts and dates; returns one, or an estimate with low and high."""
        ...


class Known(Enum):
    """What is known about a fact at the moment a rule reads it."""

    VALUE = auto()
    NO_VALUE = auto()  # answered: there is none, or it does not apply
    UNANSWERED = auto()  # an answer that is unknown or declined
    ABSENT = auto()  # a conclusion that nobody drew


@dataclass(frozen=True, slots=True)
class FactRef:
    """A fact as a rule reads it. `missing` is the value where nothing is stored for the key."""

    key: FactKey
    fact_id: str
    type: FactType
    is_answer: bool
    missing: Value | None
    order: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Literal:
    """A fixed value: a parameter in force, a loop element, or a value written in the rule."""

    value: bool | float | str


@dataclass(frozen=True, slots=True)
class Read:
    """The value of a fact, or one end of its range."""

    ref: FactRef
    bound: str | None = None


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """`sum`, `difference` or `product` of central values."""

    operation: str
    parts: tuple["Term", ...]


@dataclass(frozen=True, slots=True)
class Calculation:
    """A registered calculator applied to central values; `take` picks one end of an estimate."""

    name: str
    parts: tuple["Term", ...]
    take: str | None = None


Term: TypeAlias = Literal | Read | Arithmetic | Calculation


@dataclass(frozen=True, slots=True)
class CaseFacts:
    """What is known of one case so far: values by key, and ranges of those that have one."""

    values: dict[FactKey, Value]
    ranges: dict[FactKey, tuple[float | None, float | None]]
    calculators: Mapping[str, Calculator]

    def read(self, ref: FactRef) -> Value | None:
        """Return the stored value or status; None for a conclusion that nobody drew."""
        return self.values.get(ref.key, ref.missing)

    def look(self, ref: FactRef) -> tuple[Value | None, Known]:
        """Return the stored value or status together with what it says is known."""
        value = self.values.get(ref.key, ref.missing)
        if value is None:
            return None, Known.ABSENT
        if not isinstance(value, Status):
            return value, Known.VALUE
        if value.is_answered:
            return value, Known.NO_VALUE
        return value, Known.UNANSWERED if ref.is_answer else Known.ABSENT


def reads(term: Term) -> Iterator[FactRef]:
    """Yield every fact a term reads."""
    if isinstance(term, Read):
        yield term.ref
    elif isinstance(term, Arithmetic | Calculation):
        for part in term.parts:
            yield from reads(part)


def evaluate(term: Term, facts: CaseFacts) -> Quantity:
    """Work out a term. All facts it reads must have a value.

    Raises EngineFault if a calculator refuses its inputs or a number is not finite.
    """
    if isinstance(term, Literal):
        return Quantity(term.value)
    if isinstance(term, Read) and term.bound is None:
        value = facts.read(term.ref)
        assert value is not None  # the caller asked `known` first
        low, high = facts.ranges.get(term.ref.key, (None, None))
        return Quantity(value, low, high)
    if isinstance(term, Calculation):
        return _estimate(term, facts)
    return Quantity(_plain(_raw(term, facts), term))


def number(value: Value | None) -> float:
    """Return a value as a number. Raises EngineFault if it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise EngineFault(f"expected a number, found {value!r}")
    return float(value)


def _estimate(term: Calculation, facts: CaseFacts) -> Quantity:
    """Apply a calculator; a result with a range keeps it unless `take` asks for one end."""
    result = _apply(term, facts)
    if hasattr(result, "low") and hasattr(result, "high"):
        low, high = _plain(result.low, term), _plain(result.high, term)
        if term.take is not None:
            return Quantity(low if term.take == "low" else high)
        return Quantity(_plain(result.value, term), number(low), number(high))
    return Quantity(_plain(result, term))


def _apply(term: Calculation, facts: CaseFacts) -> Any:
    """Call a calculator with raw values (dates as dates)."""
    calculator = facts.calculators.get(term.name)
    if calculator is None:
        raise EngineFault(f"calculator `{term.name}` is not registered")
    arguments = [_raw(part, facts) for part in term.parts]
    try:
        return calculator.function(*arguments)
    except (ValueError, ArithmeticError) as error:
        raise EngineFault(f"calculator `{term.name}` refused {arguments}: {error}") from error


def _raw(term: Term, facts: CaseFacts) -> Any:
    """Return the central value a term has inside arithmetic: dates as dates, the rest plain."""
    if isinstance(term, Literal):
        return term.value
    if isinstance(term, Read):
        return _raw_fact(term, facts)
    if isinstance(term, Calculation):
        result = _apply(term, facts)
        if hasattr(result, "low") and hasattr(result, "high"):
            result = getattr(result, term.take or "value")
        return result if isinstance(result, dt.date) else _plain(result, term)
    numbers = [number(_raw(part, facts)) for part in term.parts]
    return ARITHMETIC[term.operation](numbers)


def _raw_fact(term: Read, facts: CaseFacts) -> Any:
    """Return a fact's value, or the asked end of its range where it has one."""
    value = facts.read(term.ref)
    if term.bound is not None:
        low, high = facts.ranges.get(term.ref.key, (None, None))
        end = low if term.bound == "low" else high
        return value if end is None else end
    return dt.date.fromisoformat(str(value)) if term.ref.type is FactType.DATE else value


def _plain(value: Any, term: Term) -> Value:
    """Return a result as a value of the model: rounded finite numbers, ISO text for dates."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, bool | str | tuple):
        return value
    result = float(value)
    if not math.isfinite(result):
        name = term.name if isinstance(term, Calculation) else "an expression"
        raise EngineFault(f"`{name}` gave {result}, which is not a finite number")
    return round(result, DECIMALS_KEPT) + 0.0  # adding 0.0 turns -0.0 into 0.0
