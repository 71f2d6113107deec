"""`whyplan why WHO WORDS`: the way down from a line to answers, numbers and sources, as one tree."""

import argparse
from functools import partial

from assistant.cli.person import asked_about, command_again
from assistant.cli.why_week import place_rows, words_rows
from assistant.explain.asked import meant
from assistant.explain.audited import grounds
from assistant.explain.gap_words import may_name
from assistant.explain.picture import pictures
from assistant.model.errors import InputProblems
from assistant.plan.house import own_words
from assistant.plan.phrases import wrapped
from assistant.report.week_text import is_place
from assistant.report.why_text import why_tree


def run(args: argparse.Namespace) -> int:
    """Print the explanation."""
    print(told(args), end="")
    return 0


def told(args: argparse.Namespace) -> str:
    """Return the explanation. Raises InputProblems where nothing of the plan is meant."""
    one = asked_about(args)
    planner, narrator = one.person.planner, one.narrator
    asked = " ".join(args.asked)
    own = narrator.audience == "coach" and own_words(planner.kb, asked)
    try:
        if own:
            rows = wrapped(own, "", "  ")
        elif is_place(asked):
            rows = place_rows(asked, one)
        else:
            found = meant(one.plan, narrator, asked)
            rows = []
    except InputProblems:
        # The week takes seconds to solve, so it is looked into last.
        rows = words_rows(asked, one, args.who)
        if not rows:
            raise
    if rows:
        return "\n".join(rows).strip() + "\n"
    heard = (g for g in grounds(narrator, one.plan) if may_name(narrator, g.rule.id))
    ground, draw = next(heard, None), partial(pictures, planner.compiled, narrator)
    tree = why_tree(draw, narrator, found, ground, whole=args.all)
    return (
        tree
        if args.all
        else f"{tree}All of it: {command_again(args, 'why', found.name, '--all')}\n"
    )
