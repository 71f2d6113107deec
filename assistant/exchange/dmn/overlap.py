"""Whether two rows of a table can hold at once: read from their conditions alone, on the safe side."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

from assistant.exchange.dmn.feel import Cell, Feel
from assistant.model.clauses import ORDER_OPERATORS, Clause
from assistant.model.expressions import LoopTerm, ParameterTerm
from assistant.model.facts import FactType

# A condition as a test of one value; None is no value. Values that matter are tried one by one.
Test: TypeAlias = Callable[[Hashable], bool]
_ORDERED: Mapping[str, Callable[[float], bool]] = {
    "at_least": lambda margin: margin >= 0,
    "at_most": lambda margin: margin <= 0,
    "more_than": lambda margin: margin > 0,
    "less_than": lambda margin: margin < 0,
}


def overlapping(rows: Sequence[Iterable[Cell]], feel: Feel) -> list[tuple[int, int]]:
    """Return the pairs of rows for which nothing proves that both cannot hold."""
    tests: list[dict[Hashable, list[Test]]] = []
    points: dict[Hashable, set[Hashable]] = {}
    for row in rows:
        mine: dict[Hashable, list[Test]] = {}
        for cell in row:
            if len(cell.clauses) == 1:
                key, test, values = _tested(cell, cell.clauses[0], feel)
                mine.setdefault(key, []).append(test)
                points.setdefault(key, set()).update(values)
        tests.append(mine)
    tried = {key: _between(values) for key, values in points.items()}

    def disjoint(first: int, second: int) -> bool:
        shared = tests[first].keys() & tests[second].keys()
        both = {key: [*tests[first][key], *tests[second][key]] for key in shared}
        return any(
            not any(all(test(value) for test in both[key]) for value in tried[key])
            for key in shared
        )

    numbers = range(len(tests))
    return [(a, b) for a in numbers for b in numbers if a < b and not disjoint(a, b)]


def _tested(cell: Cell, clause: Clause, feel: Feel) -> tuple[Hashable, Test, Sequence[Hashable]]:
    """Return what a cell tests, how, and the values at which that changes."""
    key, holds, values = _held(cell, clause, feel)
    return (key, lambda value: not holds(value), values) if cell.is_brake else (key, holds, values)


def _held(cell: Cell, clause: Clause, feel: Feel) -> tuple[Hashable, Test, Sequence[Hashable]]:
    operator = clause.operator
    if operator in {"equals", "one_of"}:
        fact = feel.kb.facts.get(clause.fact or "")
        wanted = clause.one_of or (clause.equals,)
        choices = feel.kb.book.choices_of(fact) if fact else ()
        known = (True, False) if fact and fact.type is FactType.BOOLEAN else choices
        if all(isinstance(each, str | bool) for each in wanted):
            return cell.about, lambda value: value in wanted, [*known, *wanted, None]
    wants = getattr(clause, operator)
    if operator == "status":
        return feel.subject(clause), lambda value: (value is None) is (wants != "known"), [None]
    if isinstance(wants, ParameterTerm):
        wants = feel.kb.parameter_value(wants.param, feel.on).value
    if operator in ORDER_OPERATORS:
        compare = _ORDERED[operator]
        number = isinstance(wants, float | int)
        line, away = (float(wants), 0.0) if number else (0.0, 1.0)
        key = cell.about if number else (cell.about, repr(wants))

        def far(have: Hashable) -> bool:
            return isinstance(have, float) and compare(have - line)

        return key, far, [line - away, line, line + away, None]
    # Of a list, one item or whether there is any; of the rest, the very same test.
    item = wants.loop if isinstance(wants, LoopTerm) else str(wants)
    same = "has" if operator in {"has", "lacks"} else operator
    return (cell.about, same, item), lambda value: value is (operator != "lacks"), [True, False]


def _between(values: set[Hashable]) -> list[Hashable]:
    """Return the values, with one between each two numbers and one beyond each end."""
    numbers = sorted(v for v in values if isinstance(v, float))
    beyond = [numbers[0] - 1, numbers[-1] + 1] if numbers else []
    return [*values, *beyond, *((low + high) / 2 for low, high in pairwise(numbers))]
