"""What an expression yields: its type and unit, or None once a problem has been noted."""

from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

from assistant.knowledge.checks.scope import Scope, is_number
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.units import product, spelled
from assistant.model.expressions import (
    CalculateTerm,
    DifferenceTerm,
    Expression,
    FactTerm,
    LoopTerm,
    ParameterTerm,
    ProductTerm,
    SumTerm,
)

TypeName: TypeAlias = Literal["number", "boolean", "id", "ids", "text", "date"]
FREE_NUMBERS = (0, 1)


@dataclass(frozen=True)
class Yield:
    """Type of an expression's value.

    unit: of a number; None for the literals 0 and 1, which fit any unit. ids: which ids an `id`
    can be (None: some text that no declaration limits).
    """

    type: TypeName
    unit: str | None = None
    ids: tuple[str, ...] | None = None

    def __str__(self) -> str:
        if self.type == "number":
            return "a number" if self.unit in {None, "1"} else f"a number in {self.unit}"
        return {"boolean": "yes or no", "id": "an id", "ids": "a list of ids"}.get(
            self.type, f"a {self.type}"
        )


def same_unit(one: str | None, other: str | None) -> bool:
    """Whether two units are equal; a literal 0 or 1 fits any."""
    return one is None or other is None or product([one]) == product([other])


def infer(  # noqa: PLR0911 - one return for each kind of expression
    expression: Expression, scope: Scope, path: RawPath
) -> Yield | None:
    """Return what an expression yields; None after noting a problem at `path`."""
    if isinstance(expression, bool):
        return Yield("boolean")
    if isinstance(expression, (int, float)):
        if expression not in FREE_NUMBERS:
            text = f"the number {expression:g}: declare it as a parameter and use {{param: ...}}"
            scope.problem(path, "bare-number", text)
            return None
        return Yield("number")
    if isinstance(expression, str):
        return Yield("id", ids=(expression,))
    if isinstance(expression, ParameterTerm):
        return _parameter(expression, scope, path)
    if isinstance(expression, FactTerm):
        return _fact(expression, scope, path)
    if isinstance(expression, LoopTerm):
        return _loop(expression, scope, path)
    if isinstance(expression, CalculateTerm):
        return _calculate(expression, scope, path)
    return _arithmetic(expression, scope, path)


def _parameter(term: ParameterTerm, scope: Scope, path: RawPath) -> Yield | None:
    parameter = scope.draft.parameters.get(term.param)
    if parameter is None:
        hint = did_you_mean(term.param, scope.draft.parameters)
        scope.problem(path, "unknown-parameter", f"`{term.param}` is not a parameter{hint}")
        return None
    return Yield("number", parameter.unit)


def _fact(term: FactTerm, scope: Scope, path: RawPath) -> Yield | None:
    declaration = scope.fact(term.fact, path)
    if declaration is None:
        return None
    scope.index(declaration, term.of, path)
    if term.bound is not None and not declaration.has_range:
        text = f"`{term.fact}` has no range, so it has no `{term.bound}` end"
        scope.problem(path, "no-range", text)
        return None
    if is_number(declaration):
        return Yield("number", declaration.unit)
    kind: TypeName = {
        "boolean": "boolean", "choice": "id", "choices": "ids", "date": "date", "text": "text"
    }[declaration.type.value]  # type: ignore[assignment]  # fmt: skip
    ids = scope.choices(declaration) if kind in {"id", "ids"} else None
    return Yield(kind, ids=ids)


def _loop(term: LoopTerm, scope: Scope, path: RawPath) -> Yield | None:
    if scope.loop is None or term.loop != scope.loop.variable:
        known = scope.loop.variable if scope.loop else "none here"
        text = f"`{term.loop}` is not the rule's `for_each` variable ({known})"
        scope.problem(path, "unknown-loop", text)
        return None
    return Yield("id", ids=scope.loop.ids)


def _arithmetic(
    term: SumTerm | DifferenceTerm | ProductTerm, scope: Scope, path: RawPath
) -> Yield | None:
    name, terms = term.holds, term.inner
    yields = [infer(each, scope, (*path, name, n)) for n, each in enumerate(terms)]
    numbers = [each for each in yields if each is not None]
    if len(numbers) < len(terms) or not terms:
        if not terms:
            scope.problem(path, "bad-value", f"`{name}` has nothing in it")
        return None
    for number, each in enumerate(numbers):
        if each.type != "number":
            scope.problem((*path, name, number), "bad-type", f"`{name}` takes numbers, not {each}")
            return None
    units = [each.unit for each in numbers if each.unit is not None]
    if isinstance(term, ProductTerm):
        return Yield("number", spelled(product(units)) if units else None)
    for unit in units[1:]:
        if not same_unit(units[0], unit):
            text = f"`{name}` mixes {units[0]} and {unit}"
            scope.problem((*path, name), "unit-mismatch", text)
            return None
    return Yield("number", units[0] if units else None)


def _calculate(term: CalculateTerm, scope: Scope, path: RawPath) -> Yield | None:
    given = [infer(each, scope, (*path, "from", n)) for n, each in enumerate(term.given)]
    if scope.calculators is None:
        return None
    calculator = scope.calculators.get(term.calculate)
    if calculator is None:
        hint = did_you_mean(term.calculate, scope.calculators)
        text = f"`{term.calculate}` is not a calculator{hint}"
        scope.problem((*path, "calculate"), "unknown-calculator", text)
        return None
    if len(given) != len(calculator.inputs):
        wanted = ", ".join(each.name for each in calculator.inputs)
        text = (
            f"`{term.calculate}` takes {len(calculator.inputs)} values ({wanted}), not {len(given)}"
        )
        scope.problem(path, "bad-calculation", text)
        return None
    for number, (each, wanted) in enumerate(zip(given, calculator.inputs, strict=True)):
        if each is not None and not _fits_input(each, wanted):
            text = f"`{term.calculate}` wants {wanted.name} in {wanted.unit}, not {each}"
            scope.problem((*path, "from", number), "unit-mismatch", text)
    if calculator.unit in {"text", "date"}:
        return Yield(calculator.unit)
    return Yield("number", calculator.unit)


def _fits_input(given: Yield, wanted: Any) -> bool:
    if wanted.unit == "text":
        return given.type in {"id", "text"}
    if wanted.unit == "date":
        return given.type == "date"
    return given.type == "number" and same_unit(given.unit, wanted.unit)
