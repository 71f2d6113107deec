"""`whyplan why WHO WORDS`: the way down from a line to answers, numbers and sources, as one tree."""

import argparse
import shlex
from functools import partial

from assistant.cli.options import FOR, PERSON, RUN, option, switch
from assistant.cli.person import Asked, asked_about, command_again
from assistant.explain.asked import meant
from assistant.explain.audited import grounds
from assistant.explain.gap_words import may_name
from assistant.explain.picture import pictures
from assistant.model.errors import InputProblems, Problem
from assistant.plan.week import for_reader
from assistant.programme.naming import exercise_meant
from assistant.report.week_account import about_text, about_words
from assistant.report.week_text import is_place, line_at
from assistant.report.why_text import why_tree

OPTIONS = (
    *PERSON,
    option(
        "asked",
        "a name from the margin of the plan (food.protein, mon 1), or words: glutes sessions",
        nargs="+",
        metavar="WORDS",
    ),
    switch("--all", "everything, down to answers and sources"),
    FOR,
    *RUN,
)


def run(args: argparse.Namespace) -> int:
    """Print the explanation."""
    one = asked_about(args)
    planner, narrator = one.person.planner, one.narrator
    asked = " ".join(args.asked)
    try:
        if is_place(asked):
            rows = _at_place(asked, one)
        else:
            found = meant(one.plan, narrator, asked)
            rows = []
    except InputProblems:
        # The week takes seconds to solve, so it is looked into last.
        rows = _in_the_week(args.who, asked, one)
        if not rows:
            raise
    if rows:
        print("\n".join(rows).strip())
        return 0
    heard = (g for g in grounds(narrator, one.plan) if may_name(narrator, g.rule.id))
    ground, draw = next(heard, None), partial(pictures, planner.compiled, narrator)
    print(why_tree(draw, narrator, found, ground, whole=args.all), end="")
    if not args.all:
        print(f"All of it: {command_again(args, 'why', found.name, '--all')}")
    return 0


def _at_place(asked: str, one: Asked) -> list[str]:
    """Return the line at a place of the week, such as `mon 1`, with its reasons. Raises InputProblems."""
    narrator, week = one.narrator, one.person.week(one.narrator.run)
    if week is None:
        text = "there is no week; `whyplan plan` says why"
        raise InputProblems([Problem(asked, "unknown-line", text)])
    programme = for_reader(week.programme, narrator.audience)
    if one.person.history is not None:
        programme = one.person.with_next_loads(programme, week.request, narrator.run)
    rows = line_at(asked, programme, narrator.phrases, narrator.audience)
    if not rows:
        days = ", ".join(f"{s.day} 1 to {s.day} {len(s.lines)}" for s in programme.sessions)
        text = f"the week has no such line; it has {days or 'no sessions'}"
        raise InputProblems([Problem(asked, "unknown-line", text)])
    return rows


def _in_the_week(who: str, asked: str, one: Asked) -> list[str]:
    """Return why an exercise is in the week or not, or what a muscle is trained with on a day."""
    person, catalogue = one.person, one.person.planner.catalogue
    week = person.week(one.narrator.run)
    if week is None:
        return []
    phrases = one.narrator.phrases
    rows = about_words(asked, week.programme, phrases, catalogue)
    if rows:
        return rows
    try:
        exercise = exercise_meant(asked, week.request, catalogue)
    except ValueError:
        return []
    rows = about_text(exercise, week.programme, phrases, catalogue)
    is_there = any(
        line.exercise == exercise for each in week.programme.sessions for line in each.lines
    )
    command = ["edit", who, "pin", exercise, "--repair"]
    return rows if is_there else [*rows, "", f"What it would cost: whyplan {shlex.join(command)}"]
