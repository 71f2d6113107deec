"""`whyplan client override`: change a line of a client's plan by hand, list the changes, withdraw one."""

import argparse
import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from assistant.casefiles.overrides import read_overrides
from assistant.cli.common import checked_number, parse_day
from assistant.cli.options import BY, CLIENT, ON_RECORD, option, switch
from assistant.cli.person import person_of
from assistant.cli.record import desk_of
from assistant.clients.kept import Why
from assistant.clients.person import Person
from assistant.explain.versions import changes
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Override
from assistant.model.errors import InputProblems, Problem
from assistant.plan.by_hand import (
    checked_change,
    checked_words,
    ground_of,
    standing_changes,
    value_of,
)
from assistant.plan.by_hand import fact_of as fact_of_line
from assistant.plan.digest import plan_digest
from assistant.plan.phrases import wrapped
from assistant.records.fold import answers_line

ABOUT = "change a line of the plan by hand, until it is withdrawn"
OPTIONS = (
    CLIENT,
    option("--line", "line of the plan, e.g. food.protein", metavar="LINE"),
    option("--to", "the new value, in SI units", metavar="VALUE"),
    option("--until", "last day it counts (default: until withdrawn)", metavar="DATE"),
    switch("--list", "what is changed by hand, and whether it holds today"),
    option("--withdraw", "take back the change of this number", type=int, metavar="N"),
    BY,
    option("--reason", "why; with it and --by the change is kept", default=""),
    *ON_RECORD,
)


def run_override(args: argparse.Namespace) -> int:
    """Change, list or withdraw; without who and why the change is only shown. Raises InputProblems."""
    args.who = args.name
    person = person_of(args, args.name)
    if args.line is None and args.withdraw is None:
        print("\n".join(_listed(person)))
        return 0
    changed = _withdrawn(args, person) if args.line is None else _with_one_more(args, person)
    after = replace(person, case=replace(person.case, overrides=changed))
    print("\n".join(_moves(person, after)))
    if not args.by and not args.reason:
        print("Nothing is kept yet. With --by and --reason it is.")
        return 0
    by, reason = checked_words(args.by, args.reason)
    with desk_of(args).opened() as records:
        line = answers_line({}, person.planner.on, overrides=changed)
        records.append(records.client(args.name), [line])
        version = desk_of(args).add_version(records, args.name, Why("override", by, reason))
    stands = "" if args.line is None else " It stands until it is withdrawn."
    print(f"Kept: version {version.number} of the plan.{stands}")
    return 0


def _with_one_more(args: argparse.Namespace, person: Person) -> tuple[Override, ...]:
    """Return the changes with the one asked for, which takes the place of an earlier one of its line."""
    if args.to is None:
        raise InputProblems([Problem("--to", "missing", "say the new value, in SI units")])
    kb, on = person.planner.kb, person.planner.on
    fact = fact_of_line(args.line, kb)
    value = value_of(args.to, fact, kb)
    others = tuple(each for each in person.case.overrides if each.line != args.line)
    without = replace(person, case=replace(person.case, overrides=others))
    checked_change(args.line, value, ground_of(kb, without.run(), on), kb)
    until = parse_day(args.until) if args.until else None
    change = Override(args.line, value, args.by or "-", args.reason or "-", on, until)
    problems: list[Problem] = []
    read_overrides([change.as_written()], kb, Parsed("--line", {}, {}), problems)
    if problems:
        raise InputProblems(problems)
    return (*others, change)


def _withdrawn(args: argparse.Namespace, person: Person) -> tuple[Override, ...]:
    stand = person.case.overrides
    number = checked_number(
        "--withdraw", args.withdraw, len(stand), "change by hand", "nothing is changed by hand"
    )
    return (*stand[: number - 1], *stand[number:])


def _moves(before: Person, after: Person) -> Sequence[str]:
    """Return the figures before and after, as the coach reads them."""
    kb, on = before.planner.kb, before.planner.on
    old, new = before.run(), after.run()
    narrator = before.planner.narrator(new, "coach").beside(old)
    moved = changes(plan_digest(kb, old, on), plan_digest(kb, new, on), narrator)
    rows = [row for each in moved for row in wrapped(each.words, "- ")]
    return rows or ["No figure of the plan moves."]


def _listed(person: Person) -> Sequence[str]:
    kb, on = person.planner.kb, person.planner.on
    narrator = person.narrator("coach")
    run = narrator.run
    aside = {change.line: why for change, why in run.set_aside}
    in_force = standing_changes(person.case.overrides, kb, on)
    rows = []
    for number, change in enumerate(person.case.overrides, start=1):
        state = "holds"
        if change not in in_force:
            state = "over" if _is_over(change, on) else "not yet, or replaced by a later one"
        elif change.line in aside:
            state = f"set aside today: {aside[change.line]}"
        until = f" until {change.until.isoformat()}" if change.until else ""
        # A figure that is held back is shown nowhere, not even as what somebody once typed.
        is_hidden = narrator.hides(fact_of_line(change.line, kb))
        to = "" if is_hidden else f" to {_plain(change.to)}"
        said = (
            f"{number}. {change.line}{to} by {change.by} since "
            f"{change.since.isoformat()}{until}: {change.reason} ({state})"
        )
        rows += wrapped(said, "", "   ")
    return rows or ["Nothing is changed by hand."]


def _is_over(change: Override, on: dt.date) -> bool:
    return change.until is not None and change.until < on


def _plain(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"
