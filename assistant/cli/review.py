"""`whyplan review CASE --record FILE`: what the weeks say, and the one thing to change."""

import argparse
from pathlib import Path

from assistant.cli.common import add_audience_option, add_common_options, case_and_planner
from assistant.knowledge.record_file import last_day, read_record
from assistant.plan.record import findings_of
from assistant.report.review_text import review_text


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("review", help="what the weeks say, and the one thing to change")
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument(
        "--record", type=Path, required=True, metavar="FILE",
        help="dated rows of weights, food, sets and notes (YAML, JSON or CSV)",
    )  # fmt: skip
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the review; 1 where it refers or the record holds nothing yet."""
    history = read_record(args.record)
    if args.as_of is None and (last := last_day(history)) is not None:
        args.as_of = last.isoformat()
    case, planner = case_and_planner(args, args.case)
    found = findings_of(planner.kb, case, history, planner.on)
    if found is None:
        print(f"No review: the record holds nothing up to {planner.on.isoformat()}.")
        return 1
    narrator = planner.narrator(planner.run(case, found), args.audience, imperial=args.imperial)
    plan = planner.plan(case, narrator)
    print(review_text(plan, narrator, found), end="")
    decision = narrator.run.facts.get("review.decision")
    return 1 if decision is None or decision.value == "refer" else 0
