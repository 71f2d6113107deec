"""Every expression with one term less: for seeing whether a test would notice."""

from collections.abc import Iterator

from assistant.model.expressions import (
    CalculateTerm,
    Compound,
    DifferenceTerm,
    Expression,
    FactTerm,
    ParameterTerm,
)


def with_less(expression: Expression) -> Iterator[tuple[str, Expression]]:
    """Yield each way to leave one term (or a `bound`, a `take`) out, with what is left out.

    Terms inside terms are tried, too. What has one term only is left as it is: without it nothing
    would remain to compare.
    """
    if isinstance(expression, FactTerm) and expression.bound is not None:
        plain = expression.model_copy(update={"bound": None})
        yield f"`bound: {expression.bound}` of {expression.fact}", plain
    if isinstance(expression, CalculateTerm) and expression.take is not None:
        plain_result = expression.model_copy(update={"take": None})
        yield f"`take: {expression.take}` of {expression.calculate}", plain_result
    if not isinstance(expression, Compound):
        return
    terms = expression.inner
    for number, term in enumerate(terms):
        before, after = terms[:number], terms[number + 1 :]
        if len(terms) > 1 and not isinstance(expression, CalculateTerm):
            rest = (*before, *after)
            is_one_left = isinstance(expression, DifferenceTerm)
            yield (
                f"the term {_named(term)}",
                rest[0] if is_one_left else expression.with_inner(rest),
            )
        for told, less in with_less(term):
            yield told, expression.with_inner((*before, less, *after))


def _named(term: Expression) -> str:
    if isinstance(term, FactTerm):
        return term.fact
    if isinstance(term, ParameterTerm):
        return term.param
    if isinstance(term, CalculateTerm):
        return term.calculate
    return str(term) if isinstance(term, bool | int | float | str) else "in brackets"
