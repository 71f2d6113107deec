"""`whyplan edit CLIENT-OR-CASE …`: change the week by hand; the price first, kept with who and why."""

import argparse
import json
from collections.abc import Callable

from assistant.cli.common import checked_number, say_next
from assistant.cli.options import ON_RECORD, PERSON, option, switch
from assistant.cli.person import case_file, person_of
from assistant.cli.record import desk_of
from assistant.clients.changing import Change, keep_change, week_to_change
from assistant.clients.edit_meant import Typed, edit_meant
from assistant.clients.edits import rearranged
from assistant.clients.kept import Why
from assistant.clients.person import Person
from assistant.clients.week import WeekNow
from assistant.model.errors import InputProblems, Problem
from assistant.model.wishes import EditKind
from assistant.plan.phrases import underlined
from assistant.programme.hand import hand_of
from assistant.report.week_account import by_hand_text, edit_price_text
from assistant.report.week_text import titled

FIRST = PERSON[:1]
METAVAR = "CHANGE"


def _run(kind: EditKind) -> Callable[[argparse.Namespace], int]:
    def run(args: argparse.Namespace) -> int:
        """Print what a change costs, and keep it where somebody says who and why."""
        person = person_of(args, args.who)
        now = week_to_change(person)
        if now is None:
            return _no_week()
        edit = edit_meant(kind, _typed(args), person.planner, now)
        return _price_and_keep(args, person, now, Change(edit))

    return run


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


_EXERCISE = option("exercise", "id or words of a name", metavar="EXERCISE")
_ON = option("--on", "the day, e.g. mon; more of them as mon,thu", dest="on_day", action="append",
             metavar="DAY")  # fmt: skip
_SETS = option("--sets", "how many sets", type=int, metavar="N")
_NUMBER = option("number", "how many", type=int, metavar="N")
_KEEPING = (
    option("--by", "who changes it; needed to keep it", default="", metavar="WHO"),
    option("--reason", "why, in your words; needed to keep it", default="", metavar="WHY"),
    switch("--repair", "let the rest of the week be arranged anew around it"),
    *ON_RECORD,
)
COMMANDS = {
    "replace": (
        "another exercise in its place",
        _run("replace"),
        (_EXERCISE, option("other", "the one that comes", metavar="OTHER"), _ON, *_KEEPING),
    ),
    "add": ("an exercise more on a day", _run("add"), (_EXERCISE, _ON, _SETS, *_KEEPING)),
    "remove": ("leave an exercise out", _run("remove"), (_EXERCISE, _ON, *_KEEPING)),
    "move": (
        "from one day to another",
        _run("move"),
        (_EXERCISE, _ON, option("--to", "the day", dest="to_day", metavar="DAY"), *_KEEPING),
    ),
    "sets": ("how many sets", _run("sets"), (_EXERCISE, _NUMBER, _ON, *_KEEPING)),
    "repetitions": (
        "from and to how many repetitions, or seconds of a hold",
        _run("repetitions"),
        (
            _EXERCISE,
            option("low", "from", type=int, metavar="LOW"),
            option("high", "to", type=int, metavar="HIGH"),
            *_KEEPING,
        ),
    ),
    "order": (
        "its place in the session, from 1",
        _run("order"),
        (_EXERCISE, _NUMBER, _ON, *_KEEPING),
    ),
    "pin": ("it stays, also in the next blocks", _run("pin"), (_EXERCISE, _ON, _SETS, *_KEEPING)),
    "never": ("not again for this client", _run("never"), (_EXERCISE, *_KEEPING)),
    "list": ("what is changed by hand", run_list, ON_RECORD),
    "withdraw": (
        "take a change back, by its number in the list",
        run_withdraw,
        (option("number", "its number", type=int, metavar="NUMBER"), *_KEEPING),
    ),
}
