"""`whyplan edit CLIENT-OR-CASE …`: change the week by hand; the price first, kept with who and why."""

import argparse
import json

from assistant.cli.common import checked_number, say_next
from assistant.cli.person import case_file, person_of
from assistant.cli.record import desk_of
from assistant.clients.changing import Change, keep_change
from assistant.clients.edit_meant import Typed, edit_meant
from assistant.clients.edits import rearranged
from assistant.clients.instead import week_to_change
from assistant.clients.kept import Why
from assistant.clients.person import Person
from assistant.clients.week import WeekNow
from assistant.model.errors import InputProblems, Problem
from assistant.plan.phrases import underlined
from assistant.programme.hand import hand_of
from assistant.report.week_account import by_hand_text, edit_price_text
from assistant.report.week_text import titled


def run_change(args: argparse.Namespace) -> int:
    """Print what a change costs, and keep it where somebody says who and why."""
    person = person_of(args, args.who)
    now = week_to_change(person)
    if now is None:
        return _no_week()
    edit = edit_meant(args.action, _typed(args), person.planner, now)
    return _price_and_keep(args, person, now, Change(edit))


def _typed(args: argparse.Namespace) -> Typed:
    given = vars(args)
    return Typed(
        args.exercise,
        other=given.get("other") or "",
        days=tuple(given.get("on_day") or ()),
        to=given.get("to_day"),
        number=given.get("number"),
        low=given.get("low"),
        high=given.get("high"),
        sets=given.get("sets"),
        by=args.by,
        reason=args.reason,
    )


def run_list(args: argparse.Namespace) -> int:
    """Print every change that is kept, with its number, and those that are put aside or wait."""
    person = person_of(args, args.who)
    edits, now = person.case.week.edits, week_to_change(person)
    rows = by_hand_text(hand_of(edits), person.planner.catalogue)
    rows = rows or ["Nothing of this week was changed by hand."]
    if now is not None:
        waits = [gap.why for gap in now.programme.unmet if gap.kind == "edit"]
        rows += titled("Not held in this week", waits) if waits else []
    print("\n".join(rows).strip())
    return 0


def run_withdraw(args: argparse.Namespace) -> int:
    """Take a change back: its lines return where the block is still the one it was made in."""
    person = person_of(args, args.who)
    edits, now = person.case.week.edits, week_to_change(person)
    number = checked_number(
        "NUMBER", args.number, len(edits), "number of a change", "nothing was changed by hand"
    )
    if now is None:
        return _no_week()
    return _price_and_keep(args, person, now, Change(edits[number - 1], withdrawn=True))


def _price_and_keep(args: argparse.Namespace, person: Person, now: WeekNow, change: Change) -> int:
    planner, phrases = person.planner, person.narrator("coach").phrases
    after = change.week(person, now)
    rows = [f"Week of {person.case.name}, as of {planner.on.isoformat()}"]
    rows += underlined(change.words(planner))[1:]
    rows += edit_price_text(now.programme, after.programme, phrases, "What it costs")
    # The week of a case file is solved each time, so that is how it will look.
    if args.repair or case_file(args.who) is not None:
        title = "What it costs with the rest arranged anew"
        repaired = rearranged(planner, after)
        rows += edit_price_text(now.programme, repaired.programme, phrases, title)
    print("\n".join(rows))
    print()
    if not (args.by and args.reason):
        if args.by or args.reason:
            lacks = "--reason" if args.by else "--by"
            text = f"a change is kept with who made it and why; add {lacks}"
            raise InputProblems([Problem(lacks, "missing-field", text)])
        print('Nothing was kept. To keep it, add --by WHO --reason "WHY".')
        return 0
    if case_file(args.who) is not None:
        print(f"A case file is yours to write. Under `week:` of {args.who}, `edits:` is then:")
        for each in change.edits(person.case.week):
            print(f"  - {json.dumps(each.as_written(), ensure_ascii=False)}")
        return 0
    return _keep(args, change)


def _keep(args: argparse.Namespace, change: Change) -> int:
    desk, why = desk_of(args), Why("edit", args.by, args.reason)
    with desk.opened() as records:
        version = keep_change(desk, records, args.who, change, why, repair=args.repair)
    print(f"Kept: version {version.number} of the plan.")
    say_next(["week", args.who], db=args.db)
    return 0


def _no_week() -> int:
    print("No week: training is held back or answers are missing; `whyplan plan` says why.")
    return 1
