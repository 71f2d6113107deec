"""`whyplan what-if CASE CHANGE...`: what another answer, number, day or rule book would change."""

import argparse
import dataclasses

from assistant.cli.changes import Changes, read_changes
from assistant.cli.common import parse_day
from assistant.cli.person import person_of
from assistant.clients.book import knowledge, planner
from assistant.clients.compare import compare
from assistant.clients.person import Person
from assistant.intake.form import form_of
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems, Problem
from assistant.plan import Planner
from assistant.report.what_if_text import what_if_text


def run(args: argparse.Namespace) -> int:
    """Print the difference; 1 if the plan would be stopped after the change."""
    person = person_of(args, args.who)
    found, stopped = compare(person, _then(args, person), args.audience, imperial=args.imperial)
    print(what_if_text(found, person.case.name), end="")
    return 1 if stopped else 0


def _then(args: argparse.Namespace, person: Person) -> Person:
    """Return the person with the changes, and the rules they are put to."""
    first = person.planner
    on = parse_day(args.then_as_of) if args.then_as_of else first.on
    rules, house = args.then_rules or args.rules, args.then_house or args.house
    kb = knowledge(rules, house)
    if kb is not first.kb:
        # What the other book does not know or allow is told, as it is for the first.
        other = argparse.Namespace(**{**vars(args), "rules": rules, "house": house})
        person = person_of(other, args.who)
    system = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    changes = read_changes(args.changes, kb, form_of(kb, on), person.case.answers, system)
    if args.audience == "client":
        _refuse_safety(changes, first)
    then = planner(rules, house, on, args.engine)
    if changes.numbers:
        then = then.with_numbers(changes.numbers)
    return dataclasses.replace(person, planner=then).answering(changes.answers)


def _refuse_safety(changes: Changes, first: Planner) -> None:
    """A client's page never plays with safety answers; they are changed in the intake."""
    text = "a safety answer is changed in the intake, together with the coach"
    wrong = [
        Problem(fact, "safety-answer", text)
        for fact in changes.answers
        if first.kb.facts[fact].is_safety or fact.startswith("screen.")
    ]
    if wrong:
        raise InputProblems(wrong)
