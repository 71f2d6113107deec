"""`whyplan week CASE`: the week as sessions, a coach's sheet with an account of every choice."""

import argparse

from assistant.cli.options import PERSON, RUN, option
from assistant.cli.person import person_of
from assistant.cli.week_options import WEEK, ShownWeek, week_for
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems, Problem
from assistant.plan import Planner
from assistant.plan.phrases import Phrasebook
from assistant.programme.block import next_block
from assistant.programme.naming import exercise_meant
from assistant.programme.progression import block_weeks
from assistant.report import week_account as account
from assistant.report.week_text import missed_text, sessions_text

OPTIONS = (
    *PERSON,
    option("--about", "why this exercise is in the week, or why it is not", metavar="EXERCISE"),
    *WEEK,
    *RUN,
)


def run(args: argparse.Namespace) -> int:
    """Print the sheet; 1 where there is no week to give."""
    person = person_of(args, args.who)
    case, planner = person.case, person.planner
    narrator = person.narrator("coach", imperial=args.imperial)
    run_, phrases = narrator.run, narrator.phrases
    week = week_for(args, case, planner, run_)
    if week is None:
        print("No week: training is held back or answers are missing; `whyplan plan` says why.")
        return 1
    rows = [f"Week for {case.name}", f"As of {planner.on.isoformat()}", "=" * 22]
    if args.about is not None:
        rows += _about(args.about, week, planner, phrases)
    else:
        rows += _sheet(week, planner, run_, phrases)
    print("\n".join([*rows, "", "Coaching information, not medical advice."]))
    return 0 if week.programme.sessions else 1


def _sheet(week: ShownWeek, planner: Planner, run_: Run, phrases: Phrasebook) -> list[str]:
    programme = week.programme
    rows = missed_text(*week.missed, phrases) if week.missed else []
    rows += account.price_text(week.price, phrases) if week.price is not None else []
    rows += sessions_text(programme, phrases, "coach")
    rows += account.gives_way_text(programme)
    rows += account.targets_text(programme, phrases)
    rows += block_rows(week, planner, run_)
    return rows + account.search_text(programme)


def block_rows(week: ShownWeek, planner: Planner, run_: Run) -> list[str]:
    """Return how the block runs and what follows it; empty where there is no block."""
    fact = run_.facts.get("block.weeks")
    if fact is None or not isinstance(fact.value, int | float) or not week.programme.sessions:
        return []
    catalogue, weeks = planner.catalogue, int(fact.value)
    done = {line.exercise: weeks for s in week.programme.sessions for line in s.lines}
    follows = next_block(week.request, week.programme, done, catalogue)
    running = block_weeks(
        week.programme,
        weeks,
        catalogue,
        easier_last=False,
        grows=week.request.later is not None,
    )
    return account.block_text(running, follows, catalogue)


def _about(asked: str, week: ShownWeek, planner: Planner, phrases: Phrasebook) -> list[str]:
    try:
        exercise = exercise_meant(asked, week.request, planner.catalogue)
    except ValueError as error:
        raise InputProblems([Problem("--about", "unknown-exercise", str(error))]) from None
    return account.about_text(exercise, week.programme, phrases, planner.catalogue)
