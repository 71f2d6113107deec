"""Ways through a rule: its clauses, expressions, the facts and parameters it reads and writes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.knowledge.parsed import RawPath
from assistant.model.clauses import AnyOf, Clause, Condition
from assistant.model.expressions import Expression, FactTerm, ParameterTerm, parts
from assistant.model.rules import Conclusion, Rule

WITHHELD = "screen.withheld"
LEFT_OUT = "plan.left_out"


@dataclass(frozen=True)
class AddressedClause:
    """A clause with its role (`when`, `unless`, `excused_by`) and its path inside the rule."""

    role: str
    path: RawPath
    clause: Clause

    @property
    def address(self) -> str:
        """E.g. `when.1.any_of.0`."""
        return ".".join(str(step) for step in self.path)


def path_of(address: str) -> RawPath:
    """Return the path of an address inside its rule; the whole rule for an empty one."""
    return tuple(int(s) if s.isdecimal() else s for s in address.split(".")) if address else ()


def addressed(conditions: Iterable[Condition], field: str) -> Iterator[tuple[RawPath, Clause]]:
    """Every clause of a list of conditions with its place, the alternatives of an `any_of` one by one."""
    for number, condition in enumerate(conditions):
        if isinstance(condition, AnyOf):
            for other, clause in enumerate(condition.any_of):
                yield (field, number, "any_of", other), clause
        else:
            yield (field, number), condition


def clauses(rule: Rule) -> Iterator[AddressedClause]:
    """Every clause of a rule, the alternatives of an `any_of` one by one."""
    for path, clause in addressed(rule.when, "when"):
        yield AddressedClause("when", path, clause)
    for role in ("unless", "excused_by"):
        for number, clause in enumerate(getattr(rule, role)):
            yield AddressedClause(role, (role, number), clause)


def operand(clause: Clause) -> Expression | None:
    """The expression a clause compares with, if its operator takes one."""
    if clause.operator in {"one_of", "not_empty", "status"}:
        return None
    value = clause.operand
    assert not isinstance(value, tuple)
    return value


def conclusion_expressions(conclusion: Conclusion) -> Iterator[tuple[str, Expression]]:
    """The expressions of a conclusion with the field each stands in."""
    for name in ("to", "item", "low", "high"):
        expression = getattr(conclusion, name)
        if expression is not None:
            yield name, expression


def expressions(rule: Rule) -> Iterator[Expression]:
    """Every expression of a rule, with everything inside it."""
    for addressed in clauses(rule):
        compared = operand(addressed.clause)
        if compared is not None:
            yield from parts(compared)
    for conclusion in rule.then:
        for _, expression in conclusion_expressions(conclusion):
            yield from parts(expression)


def clause_facts(clause: Clause) -> Iterator[str]:
    """The facts a clause tests (not those it compares with)."""
    if clause.fact is not None:
        yield clause.fact
    if clause.count_items is not None:
        yield clause.count_items
    yield from clause.count_true or ()


def facts_read(rule: Rule) -> set[str]:
    """Ids of all facts a rule reads, the list it loops over included."""
    read = {fact for each in clauses(rule) for fact in clause_facts(each.clause)}
    read |= {e.fact for e in expressions(rule) if isinstance(e, FactTerm)}
    read |= {source for source in (rule.for_each or {}).values() if "." in source}
    return read


def facts_written(rule: Rule) -> set[str]:
    """Ids of the facts a rule concludes."""
    return {conclusion.fact for conclusion in rule.then}


def parameters_read(rule: Rule) -> set[str]:
    """Ids of the parameters a rule reads."""
    return {e.param for e in expressions(rule) if isinstance(e, ParameterTerm)}
