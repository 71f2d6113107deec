"""Which answers a client can change, and to what: the declared steps, each with its effort."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from assistant.model.facts import FactDeclaration, FactType, Lever
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value

_DECIMALS_KEPT = 9
_EPSILON = 1e-9


@dataclass(frozen=True)
class Step:
    """Another value of one answer, and the effort of getting there."""

    value: Value
    cost: float


def levers_of(kb: KnowledgeBase) -> Mapping[FactKey, Lever]:
    """Return the declared levers by fact, in the order of facts."""
    return {fact.id: fact.lever for fact in kb.facts.values() if fact.lever is not None}


def steps(fact: FactDeclaration, lever: Lever, now: Value, kb: KnowledgeBase) -> list[Step]:
    """Return every value the client may be asked for, the smallest effort first.

    now: the present answer. An open answer costs one step, whatever it turns out to be; an answer
    that does not apply cannot be changed.
    """
    if now == Status.NOT_APPLICABLE:
        return []
    makers = {
        FactType.NUMBER: _numbers,
        FactType.INTEGER: _numbers,
        FactType.CHOICES: _lists,
        FactType.CHOICE: _choices,
        FactType.BOOLEAN: _booleans,
    }
    found = list(makers[fact.type](fact, lever, now, kb))
    order = {id(each): number for number, each in enumerate(found)}
    return sorted(found, key=lambda each: (each.cost, order[id(each)]))


def _numbers(fact: FactDeclaration, lever: Lever, now: Value, _: KnowledgeBase) -> Iterator[Step]:
    low, high = lever.reach or fact.range or (0.0, 0.0)
    assert lever.step is not None  # the model saw to it
    if isinstance(now, Status):
        for number in range(int((high - low) / lever.step + _EPSILON) + 1):
            yield Step(_tidy(low + number * lever.step), lever.cost)
        return
    here = float(now)  # type: ignore[arg-type]
    for sign in (1, -1):
        if (sign > 0 and lever.direction == "down") or (sign < 0 and lever.direction == "up"):
            continue
        # Who stands outside the reach steps into it: two hours of sleep may become six.
        far = high - here if sign > 0 else here - low
        for number in range(1, int(far / lever.step + _EPSILON) + 1):
            value = _tidy(here + sign * number * lever.step)
            if low - _EPSILON <= value <= high + _EPSILON:
                yield Step(value, _tidy(number * lever.cost))


def _lists(fact: FactDeclaration, lever: Lever, now: Value, kb: KnowledgeBase) -> Iterator[Step]:
    held = frozenset(now) if isinstance(now, tuple) else frozenset()
    choices = kb.book.choices_of(fact)
    for size in range(lever.least, len(choices) + 1):
        for items in combinations(choices, size):
            added, taken = set(items) - held, held - set(items)
            if (added and lever.direction == "down") or (taken and lever.direction == "up"):
                continue
            if isinstance(now, Status):
                yield Step(tuple(sorted(items)), lever.cost)
            elif added or taken:
                yield Step(tuple(sorted(items)), _tidy((len(added) + len(taken)) * lever.cost))


def _choices(fact: FactDeclaration, lever: Lever, now: Value, kb: KnowledgeBase) -> Iterator[Step]:
    order = kb.book.choices_of(fact)
    here = order.index(str(now)) if now in order else None
    for rank, choice in enumerate(order):
        if rank == here:
            continue
        if here is None or not lever.ordered:
            yield Step(choice, lever.cost)
        elif not (lever.direction == "up" and rank < here) and not (
            lever.direction == "down" and rank > here
        ):
            yield Step(choice, _tidy(abs(rank - here) * lever.cost))


def _booleans(_: FactDeclaration, lever: Lever, now: Value, __: KnowledgeBase) -> Iterator[Step]:
    for value in (False, True):
        if value != now:
            yield Step(value, lever.cost)


def _tidy(value: float) -> float:
    return round(value, _DECIMALS_KEPT) + 0.0
