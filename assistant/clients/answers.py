"""Answers taken into the record: of a client again, or from what was measured lately."""

from assistant.clients.desk import Desk
from assistant.clients.kept import Why
from assistant.clients.person import Person
from assistant.clients.standing import wishes_held, with_what_holds
from assistant.intake.checkin.book import checkin_book, lately_measured
from assistant.model.case import Case
from assistant.model.history import History
from assistant.model.values import FactKey, Value
from assistant.model.version import Version
from assistant.records.projection import answers_line
from assistant.records.store import Client, Records


def answered_anew(
    desk: Desk, records: Records, client: Client, case: Case, by: str = ""
) -> Version:
    """Take in the answers of a case, and make the plan of them. Raises InputProblems.

    A change by hand stands until it is withdrawn; a case without any withdraws none.
    """
    week = with_what_holds(case.week, wishes_held(records, client, desk.kb, desk.on))
    told = answers_line(case.plain_answers, desk.on, case.decisions, week, case.overrides or None)
    records.append(client, [told])
    return desk.add_version(records, client.handle, Why("answers", by))


def newly_measured(person: Person) -> dict[FactKey, Value]:
    """Return what was measured lately and differs from the answer that stands, by fact."""
    kb, on, answers = person.planner.kb, person.planner.on, person.case.answers
    measured = lately_measured(person.history or History(), checkin_book(kb, on), on)
    return {
        fact: value
        for fact, value in measured.items()
        if isinstance(answers.get(fact), float) and answers[fact] != value
    }


def measured_anew(
    desk: Desk, records: Records, client: Client, by: str = ""
) -> tuple[Version, tuple[FactKey, ...]]:
    """Make the plan again with what was measured lately; return it, and which answers that replaced.

    New measures alone agree nothing. Raises InputProblems.
    """
    changed = newly_measured(desk.standing(records, client.handle))
    if changed:
        records.append(client, [answers_line(changed, desk.on)])
    why = Why("measures", by)
    return desk.add_version(records, client.handle, why, agrees=False), tuple(changed)
