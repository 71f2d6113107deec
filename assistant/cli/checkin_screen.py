"""The check-in on the screen: asks a session's questions, and tells what became of the answers."""

import argparse
import sys
from typing import TYPE_CHECKING

from assistant.cli.common import say_next
from assistant.cli.record import desk_of
from assistant.clients.checkin import CheckinSession, Ended
from assistant.intake.dialogue import Ending
from assistant.intake.quantities import UnitSystem
from assistant.model.errors import InputProblems, Problem
from assistant.records.store import Client

if TYPE_CHECKING:
    from assistant.intake.screen import Screen


def ask(args: argparse.Namespace) -> int:
    """Ask the questions of the day; 1 if nothing more may be done today."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        text = "there is no terminal to ask in; give a file with --from FILE"
        raise InputProblems([Problem("checkin", "no-terminal", text)])
    from assistant.intake.screen import Screen

    desk = desk_of(args)
    units = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    with desk.opened() as records:
        client = records.client(args.name)
        session = CheckinSession(desk, records, client, alone=args.alone, units=units)
        if not session.checkin.form.slots:
            print("There is nothing to ask today.")
            return 0
        code = _run(session, client, Screen)
        more = session.follow_up()
        if more is not None:
            code = _run(more, client, Screen)
        if code == 0 and (more or session).is_finished and not args.alone:
            say_next(["review", args.name], db=args.db)
        return code


def _run(session: CheckinSession, client: Client, screen: "type[Screen]") -> int:
    last, ending = screen(session.remember).run(session.dialogue(), session.greeting())
    done = session.ended(last, ending)
    _tell_plan(done, alone=session.alone)
    if done.aside:
        print("The check-in ends here for today. What was confirmed before is kept.")
        return 1
    print(f"{done.kept} lines are in the record of {client.name}.")
    if ending is not Ending.FINISHED:
        print("The same command goes on where you left, today.")
    return 0


def _tell_plan(done: Ended, *, alone: bool) -> None:
    if done.not_made is not None:
        print(f"The plan is not made again: {done.not_made.problems[0]}", file=sys.stderr)
    if done.version is not None and not alone:
        told = "Safety answers were taken in"
        why = told if done.is_of_answers else "What was told changes what the screen says"
        print(
            f"{why}; the plan is made again, as version {done.version.number}. "
            f"Screen: {done.version.digest['level']} (was {done.level_before})."
        )
