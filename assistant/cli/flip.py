"""`whyplan flip CASE FACT [TARGET]`: the smallest change of answers that changes a conclusion."""

import argparse
import dataclasses
import shlex
from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.cli.common import add_audience_option, add_common_options, case_and_planner
from assistant.explain.flip import MOST_TRIED, find_flip
from assistant.explain.flip_page import flip_page
from assistant.explain.goals import read_goal
from assistant.explain.guard import guarded
from assistant.explain.levers import levers_of
from assistant.explain.why_not import what_is_asked
from assistant.model.errors import InputProblems, Problem
from assistant.report.flip_text import flip_text


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser(
        "flip", help="find the smallest change of answers that changes a conclusion"
    )
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument("fact", metavar="FACT", help="e.g. dose.sessions_per_week[glute_max]")
    parser.add_argument(
        "target", nargs="?", metavar="TARGET", help="e.g. 3, '>=3', yes, has:lats (default: other)"
    )
    parser.add_argument(
        "--most", type=int, default=MOST_TRIED, metavar="N", help="most combinations to try"
    )
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the change; 1 if none was found."""
    case, planner = case_and_planner(args, args.case)
    run_ = planner.run(case)
    narrator = planner.narrator(run_, args.audience, imperial=args.imperial)
    plan = planner.plan(case, narrator)
    lines = {line.id: line.facts for section in plan.sections for line in section.lines}
    asked = what_is_asked(narrator, lines, args.fact)
    if asked.rule_id or len(asked.keys) != 1 or asked.value:
        text = (
            "name one conclusion, e.g. dose.sessions_per_week[glute_max]; a target stands behind it"
        )
        raise InputProblems([Problem(args.fact, "not-a-conclusion", text)])
    (key,) = asked.keys
    if narrator.hides(key):
        text = "this page leaves that out, so nothing is searched for it"
        raise InputProblems([Problem(args.fact, "left-out", text)])
    now = run_.facts.get(key)
    goal = read_goal(planner.kb, key, None if now is None else now.value, args.target)
    closed = frozenset(lever for lever in levers_of(planner.kb) if narrator.hides(lever))
    search = find_flip(planner.compiled, run_, CALCULATORS, goal, closed, max(args.most, 1))
    after = {}
    for number, flip in enumerate(search.flips):
        changed = dataclasses.replace(case, answers={**case.answers, **flip.answers})
        other = planner.narrator(planner.run(changed), args.audience, imperial=args.imperial)
        after[number] = guarded(other, run_)
    page = flip_page(narrator, goal, search, after)
    command = f"whyplan what-if {shlex.quote(str(args.case))}"
    if args.audience == "client":
        command += " --for client"
    print(flip_text(page, command), end="")
    return 0 if page.ways else 1
