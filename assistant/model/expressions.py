"""Expressions in rules: structured, so that every part has an address. Never a string to parse."""

from typing import Annotated, TypeAlias

from pydantic import Field

from assistant.model.base import Document
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


class SumTerm(Document):
    """The sum of its terms."""

    sum: tuple["Expression", ...]


class DifferenceTerm(Document):
    """The first term less the second."""

    difference: tuple["Expression", "Expression"]


class ProductTerm(Document):
    """The product of its terms."""

    product: tuple["Expression", ...]


class CalculateTerm(Document):
    """The result of a registered calculator (`assistant/calculate/registry.py`).

    take: one end (`low`, `high`) of a result that is an estimate with a range.
    """

    calculate: Name
    given: Annotated[tuple["Expression", ...], Field(alias="from")]
    take: Annotated[str, Field(pattern="^(low|high)$")] | None = None


class LoopTerm(Document):
    """The current value of the rule's own `for_each` variable, as text."""

    loop: str


Expression: TypeAlias = (
    bool
    | float
    | str
    | ParameterTerm
    | FactTerm
    | SumTerm
    | DifferenceTerm
    | ProductTerm
    | CalculateTerm
    | LoopTerm
)

for _model in (SumTerm, DifferenceTerm, ProductTerm, CalculateTerm):
    _model.model_rebuild()
