"""What `plan` and `week` share: solving the week and a missed day."""

import argparse
import dataclasses
from dataclasses import dataclass

from assistant.clients.person import Person
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.model.kept import Unfit
from assistant.model.programme import Programme, Session
from assistant.plan import Planner
from assistant.programme.progression import MissedSession, missed_session
from assistant.programme.request import DAYS, ProgrammeRequest


@dataclass(frozen=True)
class ShownWeek:
    """A week with the loads that come next, and what was asked of it.

    solved: the week as it was solved, before what was told of loads; None where that is the same.
    missed: the day that was missed and what is advised. unfit: why the
    week that was kept could not stand, so that this one takes its place.
    """

    programme: Programme
    request: ProgrammeRequest
    solved: Programme | None = None
    missed: tuple[str, MissedSession] | None = None
    unfit: tuple[Unfit, ...] = ()


def week_for(args: argparse.Namespace, person: Person, run: Run) -> ShownWeek | None:
    """Return the week of a person's run, None where there is none to give. Raises InputProblems.

    A client's kept week stands as long as it can; a case file's is solved. Its loads are those that
    come next after what was told.
    """
    if not 0 <= args.seed < 2**31:
        raise InputProblems(
            [Problem("--seed", "bad-value", f"`{args.seed}`; allowed: 0 to {2**31 - 1}")]
        )
    planner = person.planner
    now = person.week(run, args.seed)
    if now is None:
        return None
    week = ShownWeek(now.programme, now.request, unfit=now.unfit)
    if args.missed is not None:
        week = _after_missing(args.missed, week, planner)
    if person.history is None:
        return week
    programme = person.with_next_loads(week.programme, now.request, run)
    return dataclasses.replace(week, programme=programme, solved=week.programme)


def _after_missing(day: str, week: ShownWeek, planner: Planner) -> ShownWeek:
    trained = [session.day for session in week.programme.sessions]
    if day not in trained:
        known = "is no training day of this week" if day in DAYS else "is no day"
        text = f"`{day}` {known}; allowed: {', '.join(trained) or 'none'}"
        raise InputProblems([Problem("--missed", "bad-day", text)])
    after = missed_session(week.request, week.programme, day, planner.catalogue)
    return ShownWeek(
        programme=_with_sessions(week.programme, after.sessions),
        request=week.request,
        missed=(day, after),
    )


def _with_sessions(programme: Programme, sessions: tuple[Session, ...]) -> Programme:
    return dataclasses.replace(programme, sessions=sessions)
