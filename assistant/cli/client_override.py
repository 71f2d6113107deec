"""`whyplan client override`: change a line of a client's plan by hand, list the changes, withdraw one."""

import argparse
from collections.abc import Sequence

from assistant.cli.common import checked_number, parse_day
from assistant.cli.person import person_of
from assistant.cli.record import desk_of
from assistant.clients import by_hand
from assistant.clients.person import Person
from assistant.model.case import Override
from assistant.model.errors import InputProblems, Problem
from assistant.plan.phrases import wrapped
from assistant.plan.signed import checked_words


def run_override(args: argparse.Namespace) -> int:
    """Change, list or withdraw; without who and why the change is only shown. Raises InputProblems."""
    args.who = args.name
    person = person_of(args, args.name)
    if args.line is None and args.withdraw is None:
        print("\n".join(_listed(person)))
        return 0
    gone = _withdrawn(args, person) if args.line is None else None

    def changed(now: Person) -> by_hand.Overrides:
        return _with_one_more(args, now) if gone is None else by_hand.without(now, gone)

    after = by_hand.with_overrides(person, changed(person))
    rows = (row for each in by_hand.moves(person, after) for row in wrapped(each, "- "))
    print("\n".join(rows))
    if not args.by and not args.reason:
        print("Nothing is kept yet. With --by and --reason it is.")
        return 0
    checked_words(args.by, args.reason, person.planner.kb.overrides.reasons)
    desk = desk_of(args)
    with desk.opened() as records:
        version = by_hand.keep(desk, records, args.name, changed, args.by, args.reason)
    stands = "" if args.line is None else " It stands until it is withdrawn."
    print(f"Kept: version {version.number} of the plan.{stands}")
    return 0


def _with_one_more(args: argparse.Namespace, person: Person) -> by_hand.Overrides:
    if args.to is None:
        raise InputProblems([Problem("--to", "missing", "say the new value, in SI units")])
    until = parse_day(args.until) if args.until else None
    return by_hand.with_one_more(
        person, args.line, args.to, by=args.by, reason=args.reason, until=until
    )


def _withdrawn(args: argparse.Namespace, person: Person) -> Override:
    stand = person.case.overrides
    number = checked_number(
        "--withdraw", args.withdraw, len(stand), "change by hand", "nothing is changed by hand"
    )
    return stand[number - 1]


def _listed(person: Person) -> Sequence[str]:
    rows = []
    for number, each in enumerate(by_hand.listed(person), start=1):
        change = each.change
        until = f" until {change.until.isoformat()}" if change.until else ""
        to = f" to {each.to}" if each.to else ""
        said = (
            f"{number}. {change.line}{to} by {change.by} since "
            f"{change.since.isoformat()}{until}: {change.reason} ({each.state})"
        )
        rows += wrapped(said, "", "   ")
    return rows or ["Nothing is changed by hand."]
