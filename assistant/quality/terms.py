"""Every expression with one term less: for seeing whether a test would notice."""

from collections.abc import Iterator

from assistant.model.expressions import (
    CalculateTerm,
    DifferenceTerm,
    Expression,
    FactTerm,
    ParameterTerm,
    ProductTerm,
    SumTerm,
)


def with_less(expression: Expression) -> Iterator[tuple[str, Expression]]:
    """Yield each way to leave one term (or a `bound`, a `take`) out, with what is left out.

    Terms inside terms are tried, too. What has one term only is left as it is: without it nothing
    would remain to compare.
    """
    if isinstance(expression, SumTerm):
        for told, terms in _one_less(expression.sum):
            yield told, SumTerm(sum=terms)
    elif isinstance(expression, ProductTerm):
        for told, terms in _one_less(expression.product):
            yield told, ProductTerm(product=terms)
    elif isinstance(expression, DifferenceTerm):
        yield from _difference(*expression.difference)
    elif isinstance(expression, CalculateTerm):
        yield from _calculation(expression)
    elif isinstance(expression, FactTerm) and expression.bound is not None:
        plain = expression.model_copy(update={"bound": None})
        yield f"`bound: {expression.bound}` of {expression.fact}", plain


def _one_less(terms: tuple[Expression, ...]) -> Iterator[tuple[str, tuple[Expression, ...]]]:
    for number, term in enumerate(terms):
        before, after = terms[:number], terms[number + 1 :]
        if len(terms) > 1:
            yield f"the term {_named(term)}", (*before, *after)
        for told, less in with_less(term):
            yield told, (*before, less, *after)


def _difference(first: Expression, second: Expression) -> Iterator[tuple[str, Expression]]:
    yield f"the term {_named(second)}", first
    yield f"the term {_named(first)}", second
    for told, less in with_less(first):
        yield told, DifferenceTerm(difference=(less, second))
    for told, less in with_less(second):
        yield told, DifferenceTerm(difference=(first, less))


def _calculation(term: CalculateTerm) -> Iterator[tuple[str, Expression]]:
    if term.take is not None:
        yield f"`take: {term.take}` of {term.calculate}", term.model_copy(update={"take": None})
    for number, given in enumerate(term.given):
        for told, less in with_less(given):
            changed = (*term.given[:number], less, *term.given[number + 1 :])
            yield told, term.model_copy(update={"given": changed})


def _named(term: Expression) -> str:
    if isinstance(term, FactTerm):
        return term.fact
    if isinstance(term, ParameterTerm):
        return term.param
    if isinstance(term, CalculateTerm):
        return term.calculate
    return str(term) if isinstance(term, bool | int | float | str) else "in brackets"
