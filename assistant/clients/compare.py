"""One person's plan beside the plan that something else would make of them; and whose plans others move."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from assistant.clients.person import Person
from assistant.explain.causes import Side
from assistant.explain.what_if import Difference, difference
from assistant.model.errors import EngineFault, InputProblems
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.plan.visibility import is_stopped


def compare(
    before: Person, after: Person, audience: Audience, *, imperial: bool = False
) -> tuple[Difference, bool]:
    """Return the difference of two plans, and whether the second is stopped by the screen."""
    runs = [person.run() for person in (before, after)]
    sides = []
    for person, run_, other in zip((before, after), runs, reversed(runs), strict=True):
        narrator = person.planner.narrator(run_, audience, imperial=imperial).beside(other)
        plan = person.planner.plan(person.case, narrator)
        sides.append(Side(person.planner.compiled, narrator, plan, person.case.answers))
    always = frozenset(s.id for s in after.planner.kb.plan.sections if s.when_stopped)
    return difference(sides[0], sides[1], always), is_stopped(runs[1])


@dataclass(frozen=True)
class Moves:
    """What other rules or numbers make of one client's plan without its week, for a coach.

    fault: why there is no telling, in one line; empty where there is. is_broken: only the others
    leave no plan. stopped: the screen stops the plan that the others make.
    """

    who: str
    found: Difference | None
    stopped: bool = False
    fault: str = ""
    is_broken: bool = False


def moved_by(
    people: Iterable[tuple[str, Person | InputProblems]], then: Callable[[Planner], Planner]
) -> Iterator[Moves]:
    """Yield each person whose plan other rules or numbers move, and those of whom it cannot be told.

    people: each with what stands for them in an answer. then: the planner beside theirs.
    """
    for who, person in people:
        if isinstance(person, InputProblems):
            yield Moves(who, None, fault=str(person.problems[0]))
            continue
        try:
            other = replace(person, planner=then(person.planner))
            found, stopped = compare(person, other, "coach")
        except (EngineFault, InputProblems) as fault:
            yield Moves(who, None, fault=str(fault), is_broken=_has_plan(person))
            continue
        if found.sections or found.lost or found.won or found.elsewhere:
            yield Moves(who, found, stopped)


def _has_plan(person: Person) -> bool:
    try:
        person.run()
    except (EngineFault, InputProblems):
        return False
    return True
