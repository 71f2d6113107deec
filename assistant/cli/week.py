"""`whyplan week CASE`: the week as sessions, a coach's sheet with an account of every choice."""

import argparse

from assistant.cli.common import say_next
from assistant.cli.log_sheet import check_log_sheet_options, print_log_sheet
from assistant.cli.person import case_file, person_of
from assistant.cli.week_options import ShownWeek, week_for
from assistant.clients.person import Person
from assistant.clients.week import weeks_on
from assistant.model.derivation import Run, word_in
from assistant.model.errors import InputProblems, Problem
from assistant.plan import Planner
from assistant.plan.phrases import Phrasebook
from assistant.programme.block import next_block
from assistant.programme.naming import exercise_meant
from assistant.programme.progression import block_weeks
from assistant.report import week_account as account
from assistant.report.place_text import place_text
from assistant.report.week_text import missed_text, sessions_text, unfit_text


def run(args: argparse.Namespace) -> int:
    """Print the sheet; 1 where there is no week to give."""
    check_log_sheet_options(args)
    person = person_of(args, args.who)
    if args.log_sheet:
        return print_log_sheet(args, person)
    planner = person.planner
    narrator = person.narrator("coach", imperial=args.imperial)
    run_, phrases = narrator.run, narrator.phrases
    week = week_for(args, person, run_)
    if week is None:
        print("No week: training is held back or answers are missing; `whyplan plan` says why.")
        return 1
    rows = [f"Week for {person.case.name}", f"As of {planner.on.isoformat()}"]
    rows += [*place_text(person.place(narrator), "coach"), "=" * 22]
    if args.about is not None:
        rows += _about(args.about, week, planner, phrases)
    else:
        rows += _sheet(week, person, run_, phrases)
    print("\n".join([*rows, "", "Coaching information, not medical advice."]))
    if case_file(args.who) is None and week.programme.sessions:
        say_next(["week", args.who, "--log-sheet"], db=args.db)
    return 0 if week.programme.sessions else 1


def _sheet(week: ShownWeek, person: Person, run_: Run, phrases: Phrasebook) -> list[str]:
    programme = week.programme
    rows = unfit_text(week.unfit, phrases)
    rows += missed_text(*week.missed, phrases) if week.missed else []
    rows += sessions_text(programme, phrases, "coach")
    rows += account.by_hand_text(week.request.hand, person.planner.catalogue)
    rows += account.gives_way_text(programme, phrases)
    rows += account.targets_text(programme, phrases)
    rows += block_rows(week, person, run_)
    return rows + account.search_text(programme)


def block_rows(week: ShownWeek, person: Person, run_: Run) -> list[str]:
    """Return how the block runs and what follows it; empty where there is no block."""
    fact, planner = run_.facts.get("block.weeks"), person.planner
    if fact is None or not isinstance(fact.value, int | float) or not week.programme.sessions:
        return []
    catalogue, weeks = planner.catalogue, int(fact.value)
    # How long each exercise will have stood when the block ends.
    stood = weeks_on(person.versions, planner.on)
    agreed = person.agreed
    since = planner.on if agreed is None or agreed.block_since is None else agreed.block_since
    left = max(0, weeks - (planner.on - since).days // 7)
    done = {
        line.exercise: stood.get(line.exercise, 0) + left
        for session in week.programme.sessions
        for line in session.lines
    }
    style = word_in(run_.facts, "block.next_style") if person.kept is not None else None
    follows = next_block(week.request, week.programme, done, catalogue, style)
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
