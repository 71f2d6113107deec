"""`whyplan why-not CASE RULE|FACT`: the nearest rules that did not decide, and what was missing."""

import argparse

from assistant.calculate.registry import CALCULATORS
from assistant.cli.options import FOR, PERSON, RUN, count, option
from assistant.cli.person import asked_about, command_again, print_by_hand
from assistant.explain.why_not import what_is_asked
from assistant.explain.why_not_text import why_not_text

FIRST_SHOWN = 4

_EXAMPLES = "e.g. FRQ-020[lats], energy.surplus_kcal_per_day or phase.now=build"
OPTIONS = (
    *PERSON,
    option("asked", _EXAMPLES, metavar="RULE|FACT"),
    count("--most", "how many rules to show", FIRST_SHOWN),
    FOR,
    *RUN,
)


def run(args: argparse.Namespace) -> int:
    """Print the rules."""
    one = asked_about(args)
    asked = what_is_asked(one.narrator, one.lines, args.asked)
    command = command_again(args, "why-not", args.asked)
    book, most = one.person.planner.compiled, max(args.most, 1)
    print_by_hand(one.narrator, asked.keys)
    print(why_not_text(book, one.narrator, CALCULATORS, asked, most, command), end="")
    return 0
