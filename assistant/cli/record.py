"""What the commands on a client's record share: opening it, who stands in it, the next version."""

import argparse
import datetime as dt
import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any

from assistant.cli.common import parse_day, planner
from assistant.clients.kept import Why, new_version, screened_anew
from assistant.clients.person import Person
from assistant.clients.standing import stands
from assistant.intake.checkin.book import checkin_book
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import as_json
from assistant.model.version import Version
from assistant.records.chain import FACTS, PLAN, NewLine
from assistant.records.due import Asked, Rounds
from assistant.records.store import Moved, Records, open_records
from assistant.records.versions import last_version


def today_of(args: argparse.Namespace) -> dt.date:
    """Return the day that counts as today. Raises InputProblems."""
    return parse_day(args.as_of) if args.as_of else dt.datetime.now(tz=dt.UTC).astimezone().date()


def opened(args: argparse.Namespace) -> AbstractContextManager[Records]:
    """Open the record the options name."""
    return open_records(args.db, today_of(args))


def standing_of(args: argparse.Namespace, records: Records, name: str) -> Person:
    """Return a client as they stand on the day of the command. Raises InputProblems."""
    return stands(records, name, planner(args.rules, args.house, today_of(args), args.engine))


def plain_answers(case: Case) -> dict[str, Any]:
    """Return the answers of a case as plain data."""
    return {fact: as_json(value) for fact, value in case.answers.items()}


def rounds_of(kb: KnowledgeBase, on: dt.date) -> Rounds:
    """Return which safety questions come back, and when.

    Age and height stand once told, and weight is a measure of the check-in itself.
    """
    numbers = checkin_book(kb, on).numbers
    return Rounds(
        askable=tuple(
            question.fact
            for question in kb.questions
            if kb.facts[question.fact].is_safety and not question.fact.startswith("client.")
        ),
        all_again_weeks=numbers["all_again_weeks"],
        open_again_weeks=numbers["open_again_weeks"],
        asks=tuple(
            Asked(
                ask.flags,
                ask.facts,
                0.0 if ask.again_weeks is None else kb.parameter_value(ask.again_weeks, on).value,
            )
            for ask in kb.checkin.asks.all
        ),
    )


def add_version(
    args: argparse.Namespace, records: Records, name: str, why: Why, *, agrees: bool = True
) -> Version:
    """Make the plan of the day the current version, and return it; see `new_version`."""
    version = keep_version(args, records, name, lambda now: new_version(now, why, agrees=agrees))
    assert version is not None
    return version


def screen_again(args: argparse.Namespace, records: Records, name: str) -> Version | None:
    """Keep a new version where the record changed what the screen says; None where it did not.

    Where no plan can be made, that is said, and what was told is kept all the same.
    """
    try:
        return keep_version(args, records, name, screened_anew)
    except InputProblems as problems:
        print(f"The plan is not made again: {problems.problems[0]}", file=sys.stderr)
        return None


def keep_version(
    args: argparse.Namespace,
    records: Records,
    name: str,
    lines_of: Callable[[Person], Sequence[NewLine] | None],
) -> Version | None:
    """Append the lines made of a client as they stand, and return the version it is; None without one.

    Where another program wrote to the client meanwhile, they are made again of what stands then.
    Raises InputProblems where that goes on and on.
    """
    for _ in range(_TURNS):
        client = records.client(name)
        lines = lines_of(standing_of(args, records, name))
        if lines is None:
            return None
        try:
            records.append(client, lines, unless_moved=True)
        except Moved:
            continue
        return last_version(records.history(client, kinds=[PLAN, FACTS]))
    text = "another program keeps writing to this client; no version was kept; try again"
    raise InputProblems([Problem(records.place.shown, "busy", text)])


# Two programs that append to one client at once take turns; this many turns are plenty.
_TURNS = 50
