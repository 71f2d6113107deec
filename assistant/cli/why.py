"""`whyplan why CASE LINE-OR-FACT`: the way down from a number to answers, numbers and sources."""

import argparse
import shlex

from assistant.cli.common import add_audience_option, add_common_options
from assistant.cli.person import add_person_argument, asked_about
from assistant.explain import Explanation, explain, explanation_keys
from assistant.report.text import explanation_text

ALL_LEVELS = 99


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("why", help="explain a line or a fact of a plan")
    add_person_argument(parser)
    parser.add_argument("asked", metavar="LINE-OR-FACT", help="e.g. energy.target_kcal_per_day")
    parser.add_argument("--levels", type=int, default=0, metavar="N", help="levels further down")
    parser.add_argument("--all", action="store_true", help="down to answers and sources")
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the explanation."""
    one = asked_about(args)
    depth = ALL_LEVELS if args.all else max(args.levels, 0)
    explanations: list[Explanation] = []
    for key in explanation_keys(one.plan, args.asked):
        done = {item.key for item in explanations}
        explanations += [e for e in explain(one.narrator, key, depth) if e.key not in done]
    command = f"whyplan why {shlex.quote(args.who)}"
    if args.audience == "client":
        command += " --for client"
    print(explanation_text(explanations, one.person.planner.kb, command), end="")
    return 0
