"""`whyplan why-not CASE RULE|FACT`: the nearest rules that did not decide, and what was missing."""

import argparse
import shlex

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import add_audience_option, add_common_options
from assistant.cli.person import add_person_argument, asked_about
from assistant.explain.why_not import what_is_asked
from assistant.explain.why_not_text import why_not_text

FIRST_SHOWN = 4


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("why-not", help="say why a rule or a value is not in the plan")
    add_person_argument(parser)
    parser.add_argument(
        "asked",
        metavar="RULE|FACT",
        help="e.g. FRQ-020[lats], energy.surplus_kcal_per_day or phase.now=build",
    )
    parser.add_argument(
        "--most", type=int, default=FIRST_SHOWN, metavar="N", help="how many rules to show"
    )
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the rules."""
    one = asked_about(args)
    asked = what_is_asked(one.narrator, one.lines, args.asked)
    command = f"whyplan why-not {shlex.quote(args.who)} {shlex.quote(args.asked)}"
    if args.audience == "client":
        command += " --for client"
    book, most = one.person.planner.compiled, max(args.most, 1)
    print(why_not_text(book, one.narrator, CALCULATORS, asked, most, command), end="")
    return 0
