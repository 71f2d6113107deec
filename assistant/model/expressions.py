"""Expressions in rules: structured, so that every part has an address. Never a string to parse."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Annotated, ClassVar, Self, TypeAlias

from pydantic import Field, Tag

from assistant.model.base import Document, told_apart
from assistant.model.facts import FactId

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$")]


class ParameterTerm(Document):
    """The value of a parameter in force on the as-of date."""

    param: Name


class FactTerm(Document):
    """The value of a fact; `of` names the rule's loop variable or a literal index.

    bound: `low` or `high` takes that end of the fact's range instead of its central value.
    """

    fact: FactId
    of: str | None = None
    bound: Annotated[str, Field(pattern="^(low|high)$")] | None = None


class Compound(Document):
    """An expression made of others, which stand in the field that `holds` names."""

    holds: ClassVar[str]

    @property
    def inner(self) -> tuple["Expression", ...]:
        """The expressions it is made of, in order."""
        found: tuple[Expression, ...] = getattr(self, self.holds)
        return found

    def with_inner(self, inner: Sequence["Expression"]) -> Self:
        """Return the same made of other expressions."""
        return self.model_copy(update={self.holds: tuple(inner)})


class SumTerm(Compound):
    """The sum of its terms."""

    holds: ClassVar[str] = "sum"
    sum: tuple["Expression", ...]


class DifferenceTerm(Compound):
    """The first term less the second."""

    holds: ClassVar[str] = "difference"
    difference: tuple["Expression", "Expression"]


class ProductTerm(Compound):
    """The product of its terms."""

    holds: ClassVar[str] = "product"
    product: tuple["Expression", ...]


class CalculateTerm(Compound):
    """The result of a registered calculator (`assistant/calculate/registry.py`).

    take: one end (`low`, `high`) of a result that is an estimate with a range.
    """

    holds: ClassVar[str] = "given"
    calculate: Name
    given: Annotated[tuple["Expression", ...], Field(alias="from")]
    take: Annotated[str, Field(pattern="^(low|high)$")] | None = None


class LoopTerm(Document):
    """The current value of the rule's own `for_each` variable, as text."""

    loop: str


Expression: TypeAlias = Annotated[
    Annotated[bool, Tag("<bool>")]
    | Annotated[float, Tag("<number>")]
    | Annotated[str, Tag("<text>")]
    | Annotated[ParameterTerm, Tag("<param>")]
    | Annotated[FactTerm, Tag("<fact>")]
    | Annotated[SumTerm, Tag("<sum>")]
    | Annotated[DifferenceTerm, Tag("<difference>")]
    | Annotated[ProductTerm, Tag("<product>")]
    | Annotated[CalculateTerm, Tag("<calculate>")]
    | Annotated[LoopTerm, Tag("<loop>")],
    told_apart(
        "true, false, 0, 1, text, or one of {param: ...}, {fact: ...}, {sum: [...]}, "
        "{difference: [a, b]}, {product: [...]}, {calculate: ..., from: [...]}, {loop: ...}",
        *("param", "fact", "sum", "difference", "product", "calculate", "loop"),
    ),
]

for _model in (SumTerm, DifferenceTerm, ProductTerm, CalculateTerm):
    _model.model_rebuild()

# What the arithmetic terms come to, by the field that holds their numbers.
ARITHMETIC: Mapping[str, Callable[[Sequence[float]], float]] = MappingProxyType(
    {
        "sum": math.fsum,
        "difference": lambda numbers: numbers[0] - numbers[1],
        "product": math.prod,
    }
)


def parts(expression: Expression) -> Iterator[Expression]:
    """Yield an expression and everything inside it."""
    yield expression
    if isinstance(expression, Compound):
        for each in expression.inner:
            yield from parts(each)
