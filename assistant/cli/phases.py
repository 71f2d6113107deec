"""`whyplan phases`: build, hold and fat loss laid back from the date to be ready for."""

import argparse
from pathlib import Path

from assistant.cli.common import add_audience_option, add_common_options, case_and_planner, planner
from assistant.cli.record import client_history, opened, today_of
from assistant.plan.record import findings_of
from assistant.report.text import plan_text

SECTIONS = ("first", "phases", "doubt")


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("phases", help="build, hold and fat loss laid back from the date")
    parser.add_argument(
        "who", metavar="CLIENT-OR-CASE", help="client in the record, or a case file (YAML)"
    )
    parser.add_argument(
        "--db", metavar="PLACE", help="another record: a file, or postgresql://user@host/name"
    )
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the phases; 1 where there is no date to lay them back from, or nothing to lay."""
    if Path(args.who).suffix in {".yaml", ".yml", ".json"}:
        case, made = case_and_planner(args, Path(args.who))
        found = None
    else:
        with opened(args) as records:
            case, history = client_history(args, records, args.who)
        made = planner(args.rules, args.house, today_of(args), args.engine)
        found = findings_of(made.kb, case, history, made.on)
    narrator = made.narrator(made.run(case, found), args.audience, imperial=args.imperial)
    plan = made.plan(case, narrator)
    print(plan_text(plan, only=SECTIONS, title="Phases"), end="")
    if any(section.id == "phases" for section in plan.sections):
        return 0
    print("\nNo phases: there is no date ahead, the goal is to hold, or the screen comes first.")
    return 1
