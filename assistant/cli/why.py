"""`whyplan why CASE LINE-OR-FACT`: the way down from a number to answers, numbers and sources."""

import argparse
import shlex
from pathlib import Path

from assistant.cli.common import add_audience_option, add_common_options, case_and_planner
from assistant.explain import Explanation, explain, explanation_keys
from assistant.report.text import explanation_text

ALL_LEVELS = 99


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("why", help="explain a line or a fact of a plan")
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument("asked", metavar="LINE-OR-FACT", help="e.g. energy.target_kcal_per_day")
    parser.add_argument("--levels", type=int, default=0, metavar="N", help="levels further down")
    parser.add_argument("--all", action="store_true", help="down to answers and sources")
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the explanation."""
    case, planner = case_and_planner(args, args.case)
    narrator = planner.narrator(planner.run(case), args.audience, imperial=args.imperial)
    plan = planner.plan(case, narrator)
    depth = ALL_LEVELS if args.all else max(args.levels, 0)
    explanations: list[Explanation] = []
    for key in explanation_keys(plan, args.asked):
        done = {item.key for item in explanations}
        explanations += [e for e in explain(narrator, key, depth) if e.key not in done]
    command = f"whyplan why {shlex.quote(str(args.case))}"
    if args.audience == "client":
        command += " --for client"
    print(explanation_text(explanations, planner.kb, command), end="")
    return 0
