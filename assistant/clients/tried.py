"""Other rules beside the book, in silence: whose plans would move, how, and which cases would break."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from assistant.casefiles.expected import unmet
from assistant.clients.compare import Moves, moved_by
from assistant.clients.person import Person
from assistant.model.chain import plain
from assistant.model.errors import EngineFault, InputProblems
from assistant.plan import Planner


@dataclass(frozen=True)
class Tried:
    """What came of one group of people. broken: what a case expects and no longer gets, by case."""

    count: int
    moved: tuple[Moves, ...]
    broken: tuple[tuple[str, str], ...]


def tried(
    people: Iterable[tuple[str, Person | InputProblems]], then: Callable[[Planner], Planner]
) -> Tried:
    """Put each person to both books. then: the planner of the other book for the day of one of the book."""
    count, moved, broken = 0, list[Moves](), list[tuple[str, str]]()
    for count, (who, person) in enumerate(people, start=1):  # noqa: B007 - told at the end
        found = list(moved_by([(who, person)], then))
        moved += found
        if found and isinstance(person, Person):
            broken += [(who, words) for words in _broken(person, then)]
    return Tried(count, tuple(moved), tuple(broken))


def _broken(person: Person, then: Callable[[Planner], Planner]) -> Iterator[str]:
    """Yield the expectations of a case that only the book meets."""
    if not person.case.expect:
        return
    try:
        before, after = _unmet(person), _unmet(replace(person, planner=then(person.planner)))
        yield from (words for key, words in after.items() if key not in before)
    except (EngineFault, InputProblems):
        yield "no plan can be made"


def _unmet(person: Person) -> dict[str, str]:
    plan = person.planner.plan(person.case, person.narrator("coach"))
    told = {key: plain(fact.value) for key, fact in plan.facts.items()} | plain(plan.views)
    return unmet(person.case.expect, told)
