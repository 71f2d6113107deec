"""Order of work: every rule runs after all rules that write what it reads.

Answers have level 0. A rule has one level more than the highest fact it reads; a fact has the
highest level of the rules that write it. So within a level nothing depends on anything, and a
reader always sees a fact after all conclusions about it are in.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from assistant.engine.bound import BoundRule
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase


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
        reads.setdefault(bound.rule.id, set()).update(bound.facts_read())
        for fact_id in bound.facts_written():
            writers.setdefault(fact_id, set()).add(bound.rule.id)
    sorter = TopologicalSorter(
        {
            rule_id: sorted({writer for fact in facts for writer in writers.get(fact, ())})
            for rule_id, facts in sorted(reads.items())
        }
    )
    try:
        sorter.prepare()
    except CycleError as error:
        # Each rule here writes what the next one reads; the last is the first.
        path = list(reversed(error.args[1]))
        chain = " reads what ".join(path)
        text = f"{chain} writes; break the circle by a fact of its own"
        raise InputProblems(
            [Problem(str(kb.places.get(path[0], path[0])), "circle", text)]
        ) from None
    levels: dict[str, int] = {}
    count = 0
    while sorter.is_active():
        ready = sorter.get_ready()
        count += 1
        levels.update(dict.fromkeys(ready, count))
        sorter.done(*ready)
    facts = {fact: max(levels[writer] for writer in ids) for fact, ids in writers.items()}
    return Levels(facts, levels, count)
