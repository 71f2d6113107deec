"""`whyplan what-if CASE CHANGE...`: what another answer, number, day or rule book would change."""

import argparse
import dataclasses
from collections.abc import Mapping
from pathlib import Path

from assistant.cli.changes import Changes, read_changes
from assistant.cli.common import (
    add_audience_option,
    add_common_options,
    case_and_planner,
    knowledge,
    parse_day,
    planner,
)
from assistant.engine import with_numbers
from assistant.explain.causes import Side
from assistant.explain.what_if import Difference, difference
from assistant.intake.form import form_of
from assistant.intake.quantities import UnitSystem
from assistant.knowledge import read_case
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.rules import Audience
from assistant.plan import EngineChoice, Planner, prepare
from assistant.plan.visibility import is_stopped
from assistant.report.what_if_text import what_if_text

# A number in a clause has the book compiled anew for one plan; CLIPS does that in half the time.
QUICK_TO_COMPILE: EngineChoice = "clips"
_SAFETY_TIERS = frozenset({"A", "B", "C"})


def add_parser(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Register the command."""
    parser = commands.add_parser("what-if", help="say what a change would make of the plan")
    parser.add_argument("case", type=Path, metavar="CASE", help="case file (YAML)")
    parser.add_argument(
        "changes",
        nargs="*",
        metavar="CHANGE",
        help="e.g. sleep=8h, days+=sat, minutes=45, protein.aim_per_lb=top",
    )
    parser.add_argument("--then-as-of", metavar="DATE", help="the other day")
    parser.add_argument("--then-rules", type=Path, metavar="DIR", help="the other rule book")
    parser.add_argument("--then-house", type=Path, metavar="FILE", help="other settings")
    add_audience_option(parser)
    add_common_options(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the difference; 1 if the plan would be stopped after the change."""
    case, first = case_and_planner(args, args.case)
    other, second = _then(args, case, first)
    found, stopped = compare((first, case), (second, other), args.audience, imperial=args.imperial)
    print(what_if_text(found, case.name), end="")
    return 1 if stopped else 0


def compare(
    before: tuple[Planner, Case],
    after: tuple[Planner, Case],
    audience: Audience,
    *,
    imperial: bool = False,
) -> tuple[Difference, bool]:
    """Return the difference of two plans, and whether the second is stopped by the screen."""
    runs = [planner.run(case) for planner, case in (before, after)]
    sides = []
    for (planner_, case), run_, other in zip((before, after), runs, reversed(runs), strict=True):
        narrator = planner_.narrator(run_, audience, imperial=imperial).beside(other)
        plan = planner_.plan(case, narrator)
        sides.append(Side(planner_.compiled, narrator, plan, case.answers))
    always = frozenset(s.id for s in after[0].kb.plan.sections if s.when_stopped)
    return difference(sides[0], sides[1], always), is_stopped(runs[1])


def _then(args: argparse.Namespace, case: Case, first: Planner) -> tuple[Case, Planner]:
    """Return the case with its changes, and the rules it is put to."""
    on = parse_day(args.then_as_of) if args.then_as_of else first.on
    rules, house = args.then_rules or args.rules, args.then_house or args.house
    kb = knowledge(rules, house)
    if kb is not first.kb:
        case = read_case(args.case, kb)
    system = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    changes = read_changes(args.changes, kb, form_of(kb, on), case.answers, system)
    if args.audience == "client":
        _refuse_safety(changes, first)
    then = planner(rules, house, on, args.engine)
    if changes.numbers:
        then = with_other_numbers(then, changes.numbers)
    return dataclasses.replace(case, answers={**case.answers, **changes.answers}), then


def with_other_numbers(then: Planner, numbers: Mapping[str, float]) -> Planner:
    """Return the planner with other numbers of its rule book, compiled anew only where it must be."""
    kb = dataclasses.replace(then.kb, overlay={**then.kb.overlay, **numbers})
    compiled = with_numbers(then.compiled, kb, numbers)
    if compiled is None:
        return prepare(kb, then.on, then.engine or QUICK_TO_COMPILE)
    return dataclasses.replace(then, kb=kb, compiled=compiled)


def _refuse_safety(changes: Changes, first: Planner) -> None:
    """A client's page never plays with safety answers; they are changed in the intake."""
    text = "a safety answer is changed in the intake, together with the coach"
    wrong = [
        Problem(fact, "safety-answer", text)
        for fact in changes.answers
        if first.kb.facts[fact].tier in _SAFETY_TIERS or fact.startswith("screen.")
    ]
    if wrong:
        raise InputProblems(wrong)
