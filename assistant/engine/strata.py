"""Order of work: every rule runs after all rules that write what it reads.

Answers have level 0. A rule has one level more than the highest fact it reads; a fact has the
highest level of the rules that write it. So within a level nothing depends on anything, and a
reader always sees a fact after all conclusions about it are in.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import TypeVar

from assistant.engine.bound import BoundRule
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase

_Thing = TypeVar("_Thing")


@dataclass(frozen=True)
class Levels:
    """Level of every fact that some rule writes, by fact id, and of every rule, by rule id."""

    facts: Mapping[str, int]
    rules: Mapping[str, int]
    count: int

    def of_fact(self, fact_id: str) -> int:
        """Return the level of a fact; 0 for answers and for facts nobody writes."""
        return self.facts.get(fact_id, 0)


def order(rules: Iterable[BoundRule], kb: KnowledgeBase) -> Levels:
    """Return the levels. Raises InputProblems naming the rules of a circle."""
    reads: dict[str, set[str]] = {}
    writers: dict[str, set[str]] = {}
    for bound in rules:
        if bound.rule.id in reads:
            continue  # the facts are the same for all elements of a loop
        reads[bound.rule.id] = bound.facts_read()
        for fact_id in bound.facts_written():
            writers.setdefault(fact_id, set()).add(bound.rule.id)
    comes_after = {name: sorted(reads[name]) for name in sorted(reads)}
    comes_after |= {name: sorted(writers[name]) for name in sorted(writers)}
    levels: dict[str, int] = {}
    try:
        for name in TopologicalSorter(comes_after).static_order():
            below = max((levels[each] for each in comes_after.get(name, ())), default=0)
            levels[name] = below + 1 if name in reads else below
    except CycleError as error:
        # Each rule here writes what the next one reads; the last is the first.
        path = [name for name in reversed(error.args[1]) if name in reads]
        chain = " reads what ".join(path if path[0] == path[-1] else [*path, path[0]])
        text = f"{chain} writes; break the circle by a fact of its own"
        raise InputProblems(
            [Problem(str(kb.places.get(path[0], path[0])), "circle", text)]
        ) from None
    return Levels(
        facts={fact_id: levels[fact_id] for fact_id in writers},
        rules={rule_id: levels[rule_id] for rule_id in reads},
        count=max(levels.values(), default=0),
    )


def sort_by_level(
    things: Iterable[tuple[int, _Thing]], count: int
) -> tuple[tuple[_Thing, ...], ...]:
    """Return things that come with their level as one tuple for each level from 0 to `count`."""
    levels: list[list[_Thing]] = [[] for _ in range(count + 1)]
    for level, thing in things:
        levels[level].append(thing)
    return tuple(map(tuple, levels))
