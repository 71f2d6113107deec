"""`whyplan week CLIENT --log-sheet`: the block as a sheet to print and fill in with a pen."""

import argparse
import datetime as dt
from typing import TYPE_CHECKING

from assistant.cli.common import steps_aside
from assistant.cli.files import keep_inputs, write_output
from assistant.cli.person import case_file
from assistant.clients.person import Person
from assistant.model.derivation import Run, number_in
from assistant.model.errors import InputProblems, Problem
from assistant.plan.language import ENGLISH, localised, read_language
from assistant.plan.phrases import Phrasebook

if TYPE_CHECKING:
    from assistant.report.page.log_sheet import Block


def check_log_sheet_options(args: argparse.Namespace) -> None:
    """Refuse options that do not go together. Raises InputProblems."""
    problems = []
    if not args.log_sheet:
        given: tuple[tuple[str, bool], ...]
        given = (("--format", args.format != "text"), ("--out", args.out is not None),
                 ("--language", args.language != ENGLISH))  # fmt: skip
        text = "this goes with --log-sheet; `whyplan plan --format html` makes the page of a plan"
        problems += [Problem(name, "bad-option", text) for name, is_given in given if is_given]
    else:
        given = tuple(
            (f"--{name}", getattr(args, name) is not None) for name in ("about", "missed")
        )
        text = "a log sheet holds the whole block as it is; leave this out"
        problems += [Problem(name, "bad-option", text) for name, is_given in given if is_given]
    if problems:
        raise InputProblems(problems)


def print_log_sheet(args: argparse.Namespace, person: Person) -> int:
    """Write the sheet; 1 where there is no week to give. Raises InputProblems."""
    from assistant.report.page.log_sheet import log_sheet, log_sheet_text
    from assistant.report.page.whole import log_sheet_html
    from assistant.report.page.words import PageWords

    keep_inputs(args.out, *filter(None, (case_file(args.who),)))
    planner = person.planner
    if steps_aside(person.case, planner.kb, voice="client"):
        return 1
    run = person.run()
    # The sheet shows lighter weeks in columns of their own, so the week itself is the usual one.
    now = person.week(run, args.seed, usual=True)
    if now is None or not now.programme.sessions:
        print("No log sheet: there are no sessions to log; `whyplan plan` says why.")
        return 1
    programme = person.with_next_loads(now.programme, now.request, run)
    english, language = read_language(planner.kb, ENGLISH), read_language(planner.kb, args.language)
    kb = localised(planner.kb, language)
    words = PageWords(language, english, Phrasebook(kb, args.imperial))
    block = _block(person, run)
    sheet = log_sheet(person.case.name, programme, block, person.history, planner.catalogue, words)
    made = log_sheet_html(sheet, words) if args.format == "html" else log_sheet_text(sheet, words)
    write_output(args.out, made.encode())
    return 0


def _block(person: Person, run: Run) -> "Block":
    """Return the block that runs, else the one that begins on the day."""
    from assistant.report.page.log_sheet import Block

    on, agreed = person.planner.on, person.agreed
    shortest, _ = person.planner.catalogue.settings.progression.block_weeks
    weeks = int(number_in(run.facts, "block.weeks") or shortest)
    since = None if agreed is None else agreed.block_since
    is_over = since is None or on >= since + dt.timedelta(weeks=weeks)
    return Block(on if since is None or is_over else since, weeks, person.lighter_weeks)
