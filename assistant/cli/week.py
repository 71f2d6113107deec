"""`whyplan week CASE`: the week as sessions, a coach's sheet."""

import argparse
from pathlib import Path

from assistant.cli.common import add_common_options, case_and_planner
from assistant.plan.week import catalogue_of, week_of
from assistant.report.week_text import week_text


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("week", help="print the week as sessions")
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument("--seed", type=int, default=1, help="seed of the search (default: 1)")
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the sheet; 1 where there is no week to give."""
    case, planner = case_and_planner(args, args.case)
    run_ = planner.run(case)
    programme = week_of(run_, catalogue_of(planner.kb), args.seed)
    if programme is None:
        print("No week: training is held back or answers are missing; `whyplan plan` says why.")
        return 1
    phrases = planner.narrator(run_, "coach", imperial=args.imperial).phrases
    print(week_text(programme, phrases, case.name, planner.on.isoformat()), end="")
    return 0 if programme.sessions else 1
