"""One clause: its fact is declared, its operator fits the fact, its operand fits both."""

from assistant.knowledge.checks.expressions import Yield, infer, same_unit
from assistant.knowledge.checks.scope import Scope, is_number
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.walk import operand
from assistant.model.clauses import ORDER_OPERATORS, Clause
from assistant.model.facts import FactDeclaration, FactType


def check_clause(clause: Clause, scope: Scope, path: RawPath) -> None:
    """Note everything about a clause that cannot be right."""
    operator = clause.operator
    compared = operand(clause)
    value = None if compared is None else infer(compared, scope, (*path, operator))
    if clause.fact is None:
        _count(clause, scope, path, value)
        return
    declaration = scope.fact(clause.fact, (*path, "fact"))
    if declaration is None:
        return
    scope.index(declaration, clause.of, (*path, "of"))
    at = (*path, operator)
    if operator == "status":
        if (
            clause.status == "none"
            and not declaration.allows_none
            and (declaration.origin == "answer")
        ):
            scope.problem(at, "never-true", f"`{declaration.id}` can never be `none`")
    elif operator == "one_of":
        _one_of(clause.one_of or (), declaration, scope, at)
    elif operator == "not_empty":
        _needs_list(declaration, operator, scope, at)
    elif value is not None:
        _compare(declaration, operator, value, scope, at)


def _count(clause: Clause, scope: Scope, path: RawPath, value: Yield | None) -> None:
    if clause.count_items is not None:
        declaration = scope.fact(clause.count_items, (*path, "count_items"))
        if declaration is not None:
            _needs_list(declaration, "count_items", scope, (*path, "count_items"))
    for number, fact_id in enumerate(clause.count_true or ()):
        declaration = scope.fact(fact_id, (*path, "count_true", number))
        if declaration is not None and (
            declaration.type is not FactType.BOOLEAN or declaration.index is not None
        ):
            text = f"`{fact_id}` is not a single yes/no fact"
            scope.problem((*path, "count_true", number), "bad-type", text)
    if clause.count_true is not None:
        if clause.operator not in {"at_least", "more_than"}:
            text = "`count_true` goes with at_least or more_than: an unanswered one is not a no"
            scope.problem((*path, clause.operator), "bad-operator", text)
        if len(set(clause.count_true)) < len(clause.count_true) or not clause.count_true:
            scope.problem((*path, "count_true"), "bad-value", "name each fact once, at least one")
    if value is not None and not (value.type == "number" and same_unit(value.unit, "1")):
        text = f"a count is compared with a number without unit, not {value}"
        scope.problem((*path, clause.operator), "unit-mismatch", text)


def _needs_list(declaration: FactDeclaration, operator: str, scope: Scope, at: RawPath) -> None:
    if declaration.type is not FactType.CHOICES:
        text = f"`{operator}` is for lists; `{declaration.id}` is a {declaration.type.value}"
        scope.problem(at, "bad-operator", text)


def _one_of(
    wanted: tuple[str, ...], declaration: FactDeclaration, scope: Scope, at: RawPath
) -> None:
    if declaration.type is not FactType.CHOICE:
        text = f"`one_of` is for choices; `{declaration.id}` is a {declaration.type.value}"
        scope.problem(at, "bad-operator", text)
        return
    check_ids(wanted, declaration, scope, at)


def check_ids(
    wanted: tuple[str, ...], declaration: FactDeclaration, scope: Scope, at: RawPath
) -> None:
    """Note every id that is not one of the fact's choices."""
    choices = scope.choices(declaration)
    for each in wanted:
        if each not in choices:
            hint = did_you_mean(each, choices, f"; choices: {', '.join(choices)}")
            text = f"`{each}` is not a choice of `{declaration.id}`{hint}"
            scope.problem(at, "unknown-choice", text)


def _compare(
    declaration: FactDeclaration, operator: str, value: Yield, scope: Scope, at: RawPath
) -> None:
    if operator in ORDER_OPERATORS:
        if not (is_number(declaration) or declaration.type is FactType.CHOICE):
            kind = declaration.type.value
            text = (
                f"`{operator}` is for numbers and ordered choices; `{declaration.id}` is a {kind}"
            )
            scope.problem(at, "bad-operator", text)
            return
    elif operator in {"has", "lacks"}:
        _needs_list(declaration, operator, scope, at)
        if declaration.type is FactType.CHOICES:
            if value.type != "id":
                scope.problem(at, "bad-type", f"`{operator}` takes one id, not {value}")
            else:
                check_ids(value.ids or (), declaration, scope, at)
        return
    elif declaration.type is FactType.CHOICES:
        text = f"`{operator}` is for single values; use has, lacks or not_empty for a list"
        scope.problem(at, "bad-operator", text)
        return
    check_value(declaration, value, scope, at)


def check_value(declaration: FactDeclaration, value: Yield, scope: Scope, at: RawPath) -> None:
    """Note a value that a fact of this type and unit cannot have."""
    if is_number(declaration):
        if value.type != "number":
            text = f"`{declaration.id}` is a number in {declaration.unit}, not {value}"
            scope.problem(at, "bad-type", text)
        elif not same_unit(declaration.unit, value.unit):
            text = f"`{declaration.id}` is in {declaration.unit}, the value in {value.unit}"
            scope.problem(at, "unit-mismatch", text)
        return
    fitting = {
        FactType.BOOLEAN: ("boolean",),
        FactType.CHOICE: ("id", "text"),
        FactType.CHOICES: ("ids",),
        FactType.DATE: ("date",),
        FactType.TEXT: ("id", "text"),
    }[declaration.type]
    if value.type not in fitting:
        text = f"`{declaration.id}` is a {declaration.type.value}, the value is {value}"
        scope.problem(at, "bad-type", text)
    elif declaration.type in {FactType.CHOICE, FactType.CHOICES} and value.ids is not None:
        check_ids(value.ids, declaration, scope, at)
