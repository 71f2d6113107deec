"""`whyplan review`: what the weeks say, and the one thing to change; from a file or the record."""

import argparse
from pathlib import Path

from assistant.cli.common import (
    add_audience_option,
    add_common_options,
    knowledge,
    parse_day,
    planner,
)
from assistant.cli.record import client_history, kept_line, opened, today_of
from assistant.cli.record_file import add_record_file_options, last_day, record_of
from assistant.knowledge import read_case
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.history import History
from assistant.plan import Planner
from assistant.plan.record import findings_of
from assistant.report.review_text import review_text


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("review", help="what the weeks say, and the one thing to change")
    parser.add_argument(
        "who", metavar="CLIENT-OR-CASE", help="client in the record, or a case file with --record"
    )
    add_record_file_options(
        parser, "dated rows of weights, food, sets and notes (YAML, JSON or CSV)"
    )
    parser.add_argument(
        "--db", metavar="PLACE", help="another record: a file, or postgresql://user@host/name"
    )
    parser.add_argument(
        "--accept", action="store_true", help="keep what is decided as agreed, in the record"
    )
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the review; 1 where it refers or the record holds nothing yet."""
    if args.accept and args.record:
        text = "a review of a file has no record to keep it in; leave out --record"
        raise InputProblems([Problem("--accept", "no-record", text)])
    case, made, history = _from_file(args) if args.record else _from_record(args)
    found = findings_of(made.kb, case, history, made.on)
    if found is None:
        print(f"No review: the record holds nothing up to {made.on.isoformat()}.")
        return 1
    run_ = made.run(case, found)
    narrator = made.narrator(run_, args.audience, imperial=args.imperial)
    print(review_text(made.plan(case, narrator), narrator, found), end="")
    if args.accept:
        with opened(args) as records:
            line = kept_line(made, run_)
            records.append(records.client(args.who), [line])
        print(f"Kept as agreed on {made.on.isoformat()}.")
    decision = run_.facts.get("review.decision")
    return 1 if decision is None or decision.value == "refer" else 0


def _from_file(args: argparse.Namespace) -> tuple[Case, Planner, History]:
    kb = knowledge(args.rules, args.house)
    case = read_case(Path(args.who), kb)
    history = record_of(args, kb, case.as_of)
    on = parse_day(args.as_of) if args.as_of else last_day(history) or case.as_of
    return case, planner(args.rules, args.house, on, args.engine), history


def _from_record(args: argparse.Namespace) -> tuple[Case, Planner, History]:
    if Path(args.who).is_file():
        text = "a case file needs its record beside it; add --record FILE"
        raise InputProblems([Problem(args.who, "no-record", text)])
    with opened(args) as records:
        case, history = client_history(args, records, args.who)
    return case, planner(args.rules, args.house, today_of(args), args.engine), history
