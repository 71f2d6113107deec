"""`whyplan edit CLIENT-OR-CASE …`: change the week by hand; the price first, kept with who and why."""

import argparse
import dataclasses
import json
from collections.abc import Callable

from assistant.cli.common import checked_number, say_next
from assistant.cli.edit_typed import typed_edit
from assistant.cli.options import ON_RECORD, PERSON, option, switch
from assistant.cli.person import case_file, person_of
from assistant.cli.record import desk_of
from assistant.clients.edits import edited, rearranged, week_before
from assistant.clients.kept import Why, new_version
from assistant.clients.person import Person
from assistant.clients.week import WeekNow
from assistant.model.errors import InputProblems, Problem
from assistant.model.wishes import WeekEdit, WeekWishes
from assistant.plan.phrases import underlined
from assistant.programme.by_hand import edit_words
from assistant.programme.hand import hand_of
from assistant.records.chain import NewLine
from assistant.records.fold import answers_line
from assistant.report.week_account import by_hand_text, edit_price_text
from assistant.report.week_text import titled

FIRST = PERSON[:1]
METAVAR = "CHANGE"


def _run(kind: str) -> Callable[[argparse.Namespace], int]:
    def run(args: argparse.Namespace) -> int:
        """Print what a change costs, and keep it where somebody says who and why."""
        person = person_of(args, args.who)
        now = _week_of(person)
        if now is None:
            return _no_week()
        edit = typed_edit(kind, args, person.planner, now)
        return _price_and_keep(args, person, now, _Change(edit))

    return run


def run_list(args: argparse.Namespace) -> int:
    """Print every change that is kept, with its number, and those that are put aside or wait."""
    person = person_of(args, args.who)
    edits, now = person.case.week.edits, _week_of(person)
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
    edits, now = person.case.week.edits, _week_of(person)
    number = checked_number(
        "NUMBER", args.number, len(edits), "number of a change", "nothing was changed by hand"
    )
    if now is None:
        return _no_week()
    return _price_and_keep(args, person, now, _Change(edits[number - 1], withdrawn=True))


@dataclasses.dataclass(frozen=True)
class _Change:
    """One change more, or one less."""

    edit: WeekEdit
    withdrawn: bool = False

    def edits(self, wishes: WeekWishes) -> tuple[WeekEdit, ...]:
        """Return the edits with it; of one that was said twice the last goes."""
        if not self.withdrawn:
            return (*wishes.edits, self.edit)
        if self.edit not in wishes.edits:
            text = "the change was withdrawn meanwhile; nothing was kept"
            raise InputProblems([Problem("NUMBER", "unknown-edit", text)])
        at = len(wishes.edits) - 1 - wishes.edits[::-1].index(self.edit)
        return (*wishes.edits[:at], *wishes.edits[at + 1 :])

    def week(self, person: Person, now: WeekNow) -> WeekNow:
        """Return the week with it; one taken back gives its lines back while the block runs."""
        base = week_before(person.versions, self.edit) if self.withdrawn else None
        return edited(person.planner, now, self.edits(person.case.week), base)


def _price_and_keep(args: argparse.Namespace, person: Person, now: WeekNow, change: _Change) -> int:
    planner, phrases = person.planner, person.narrator("coach").phrases
    after = change.week(person, now)
    said = edit_words(change.edit, planner.catalogue.exercises)
    said = f"Withdrawn: {said}" if change.withdrawn else said
    rows = [f"Week of {person.case.name}, as of {planner.on.isoformat()}", *underlined(said)[1:]]
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


def _keep(args: argparse.Namespace, change: _Change) -> int:
    why = Why("edit", args.by, args.reason)

    def lines(person: Person) -> tuple[NewLine, ...]:
        now = _week_of(person)
        assert now is not None  # there was one to change a moment ago
        after = change.week(person, now)
        after = rearranged(person.planner, after) if args.repair else after
        wishes = dataclasses.replace(person.case.week, edits=change.edits(person.case.week))
        told = dataclasses.replace(person, case=dataclasses.replace(person.case, week=wishes))
        return (
            answers_line({}, person.planner.on, week=wishes),
            *new_version(told, why, agrees=False, week=after.kept),
        )

    with desk_of(args).opened() as records:
        version = desk_of(args).keep(records, args.who, lines)
    assert version is not None
    print(f"Kept: version {version.number} of the plan.")
    say_next(["week", args.who], db=args.db)
    return 0


def _week_of(person: Person) -> WeekNow | None:
    """The usual week, whatever runs today; None where there is none to change."""
    now = person.week(person.run(), usual=True)
    return now if now is not None and now.programme.sessions else None


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
