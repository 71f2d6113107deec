"""`whyplan why CASE LINE-OR-FACT`: the way down from a number to answers, numbers and sources."""

import argparse

from assistant.cli.options import FOR, PERSON, RUN, count, option, switch
from assistant.cli.person import asked_about, command_again
from assistant.explain import Explanation, explain, explanation_keys
from assistant.report.text import explanation_text

ALL_LEVELS = 99

OPTIONS = (
    *PERSON,
    option("asked", "e.g. energy.target_kcal_per_day", metavar="LINE-OR-FACT"),
    count("--levels", "levels further down", 0),
    switch("--all", "down to answers and sources"),
    FOR,
    *RUN,
)


def run(args: argparse.Namespace) -> int:
    """Print the explanation."""
    one = asked_about(args)
    depth = ALL_LEVELS if args.all else max(args.levels, 0)
    explanations: list[Explanation] = []
    for key in explanation_keys(one.plan, args.asked):
        done = {item.key for item in explanations}
        explanations += [e for e in explain(one.narrator, key, depth) if e.key not in done]
    print(explanation_text(explanations, one.person.planner.kb, command_again(args, "why")), end="")
    return 0
