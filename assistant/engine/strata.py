"""Order of work: every rule runs after all rules that write what it reads.

Answers have level 0. A rule has one level more than the highest fact it reads; a fact has the
highest level of the rules that write it. So within a level nothing depends on anything, and a
reader always sees a fact after all conclusions about it are in.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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
    """Return the levels. Raises InputProblems naming the facts and rules of a circle."""
    reads: dict[str, set[str]] = {}
    writers: dict[str, set[str]] = {}
    for bound in rules:
        reads.setdefault(bound.rule.id, set()).update(bound.facts_read())
        for fact_id in bound.facts_written():
            writers.setdefault(fact_id, set()).add(bound.rule.id)
    fact_levels: dict[str, int] = {}
    rule_levels: dict[str, int] = {}
    waiting = {rule_id: set(facts) for rule_id, facts in reads.items()}
    open_writers = {fact_id: set(ids) for fact_id, ids in writers.items()}
    level = 1
    while waiting:
        ready = sorted(
            rule_id
            for rule_id, facts in waiting.items()
            if not any(fact_id in open_writers for fact_id in facts)
        )
        if not ready:
            raise InputProblems(_circles(waiting, writers, kb))
        for rule_id in ready:
            del waiting[rule_id]
            rule_levels[rule_id] = level
        for fact_id in list(open_writers):
            open_writers[fact_id] -= set(ready)
            if not open_writers[fact_id]:
                del open_writers[fact_id]
                fact_levels[fact_id] = level
        level += 1
    return Levels(fact_levels, rule_levels, level - 1)


def _circles(
    waiting: Mapping[str, set[str]], writers: Mapping[str, set[str]], kb: KnowledgeBase
) -> list[Problem]:
    """Name one shortest circle of rules among those that wait for each other."""
    feeds = {
        rule_id: {
            writer for fact_id in facts for writer in writers.get(fact_id, ()) if writer in waiting
        }
        for rule_id, facts in waiting.items()
    }
    path = min((found for start in sorted(waiting) if (found := _walk(start, feeds))), key=len)
    place = kb.places.get(path[0], path[0])
    chain = " reads what ".join([*path, path[0]])
    return [Problem(str(place), "circle", f"{chain} writes; break the circle by a fact of its own")]


def _walk(start: str, feeds: Mapping[str, set[str]]) -> list[str]:
    """Return the shortest way from a rule back to itself, or an empty list."""
    came_from: dict[str, str] = {}
    frontier = [start]
    while frontier:
        following: list[str] = []
        for rule_id in frontier:
            for writer in sorted(feeds[rule_id]):
                if writer == start:
                    path = [rule_id]
                    while path[-1] != start:
                        path.append(came_from[path[-1]])
                    return path[::-1]
                if writer not in came_from:
                    came_from[writer] = rule_id
                    following.append(writer)
        frontier = following
    return []
