"""`whyplan why-not CASE RULE|FACT|EXERCISE`: the nearest rules that did not decide, or why it is not in the week."""

import argparse

from assistant.calculate.registry import CALCULATORS
from assistant.cli.person import asked_about, command_again, print_by_hand, what_is_meant
from assistant.cli.why_week import not_there_rows
from assistant.explain.why_not_text import why_not_text
from assistant.model.errors import InputProblems, Problem


def run(args: argparse.Namespace) -> int:
    """Print the rules."""
    one = asked_about(args)
    try:
        asked = what_is_meant(one, args.asked, in_words=args.on_day is None)
    except InputProblems:
        # The week takes seconds to solve, so it is looked into last.
        rows = not_there_rows(args.asked, one, args.on_day) if args.audience == "coach" else None
        if rows is None:
            raise
        print("\n".join(rows).strip())
        return 0
    if args.on_day is not None:
        text = f"`{args.asked}` is no exercise, so it stands on no day; leave --on out"
        raise InputProblems([Problem("--on", "bad-value", text)])
    command = command_again(args, "why-not", args.asked)
    book, most = one.person.planner.compiled, max(args.most, 1)
    print_by_hand(one.narrator, asked.keys)
    print(why_not_text(book, one.narrator, CALCULATORS, asked, most, command), end="")
    return 0
