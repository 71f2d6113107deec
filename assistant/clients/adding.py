"""A new client: the first lines of a record, made of the answers of a case."""

from dataclasses import replace

from assistant.clients.desk import Desk
from assistant.clients.kept import Why, new_version
from assistant.clients.person import Person
from assistant.model.case import Case
from assistant.plan import Planner
from assistant.records.chain import NewLine
from assistant.records.projection import answers_line
from assistant.records.store import Client, Records


def first_lines(planner: Planner, case: Case, name: str, by: str = "") -> list[NewLine]:
    """Return what a record begins with: the answers, and the first version of the plan.

    name: as the client is called in the record. by: who adds them.
    """
    answered = answers_line(
        case.plain_answers, planner.on, case.decisions, case.week, case.overrides
    )
    return [answered, *new_version(Person(replace(case, name=name), planner), Why("added", by))]


def added(desk: Desk, records: Records, name: str, case: Case, by: str = "") -> Client:
    """Add a client with answers and a first plan, and return them. Raises InputProblems."""
    return records.add(name, desk.on, first_lines(desk.planner, case, name, by))
