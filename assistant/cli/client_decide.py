"""`whyplan client decide`: a person's decision about a warning, in the record, with its reason."""

import argparse
import json
from typing import Any

from assistant.casefiles.decisions import Kind
from assistant.cli.common import checked_number, say_next
from assistant.cli.person import person_of
from assistant.cli.record import desk_of
from assistant.clients import deciding
from assistant.clients.person import Person
from assistant.model.case import Decision
from assistant.model.errors import InputProblems, Problem
from assistant.plan.phrases import wrapped
from assistant.plan.signed import checked_words

_KINDS: tuple[Kind, ...] = ("set_aside", "cleared")


def run_decide(args: argparse.Namespace) -> int:
    """Decide, withdraw a decision, or list those that stand. Raises InputProblems."""
    args.who = args.name
    person = person_of(args, args.name)
    kinds = [kind for kind in _KINDS if getattr(args, kind) is not None]
    if not kinds and args.withdraw is None:
        print("\n".join(_listed(person)))
        return 0
    checked_words(args.by, args.reason, person.planner.kb.overrides.reasons)
    gone = None if kinds else _withdrawn(args, person)

    def decided(now: Person) -> deciding.Decisions:
        if gone is not None:
            return deciding.without(now, gone)
        return (*now.case.decisions, _decision(args, now, kinds[0]))

    desk = desk_of(args)
    with desk.opened() as records:
        version = deciding.keep(desk, records, args.name, decided, args.by, args.reason)
    print(f"Kept: version {version.number} of the plan. Screen: {version.digest['level']}.")
    say_next(["plan", args.name], db=args.db)
    return 0


def _withdrawn(args: argparse.Namespace, person: Person) -> Decision:
    stand = person.case.decisions
    number = checked_number(
        "--withdraw", args.withdraw, len(stand), "decision", "nothing is decided"
    )
    return stand[number - 1]


def _decision(args: argparse.Namespace, person: Person, kind: Kind) -> Decision:
    return deciding.decision_of(
        person,
        kind,
        getattr(args, kind),
        by=args.by,
        reason=args.reason,
        role=args.role,
        until=args.until,
        seen=dict(_seen(text) for text in args.seen) if args.seen else None,
    )


def _seen(text: str) -> tuple[str, Any]:
    """Return an answer the professional saw, from `FACT=VALUE`; a value is written as in JSON or plainly."""
    fact, sign, value = text.partition("=")
    if not sign:
        told = f"`{text}` is no answer; write FACT=VALUE, e.g. screen.bp_systolic=165"
        raise InputProblems([Problem("--seen", "bad-value", told)])
    try:
        return fact, json.loads(value)
    except ValueError:
        return fact, value


def _listed(person: Person) -> list[str]:
    rows = []
    for number, each in enumerate(person.case.decisions, start=1):
        kind = each.kind.replace("_", " ")
        over = "" if each.in_force(person.planner.on) else " (over)"
        said = (
            f"{number}. {each.flag} {kind} by {each.by}, {each.role.replace('_', ' ')}, "
            f"until {each.until.isoformat()}: {each.reason}{over}"
        )
        rows += wrapped(said, "", "   ")
    return rows or ["Nothing is decided about a warning."]
