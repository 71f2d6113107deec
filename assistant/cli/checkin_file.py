"""The check-in from a file: all of it, or every line told about; nothing is dropped silently."""

import argparse
import sys
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from assistant.cli.common import say_next
from assistant.cli.record import desk_of, today_of
from assistant.clients.book import knowledge
from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.checkin.doubts import Compared, compare, in_words
from assistant.intake.quantities import UnitSystem
from assistant.intake.sheet.read import line_of, one_a_spot, read_record_sheet
from assistant.intake.sheet.rows import SheetRead
from assistant.model.entries import Entry, Spot
from assistant.model.errors import InputProblems, Problem
from assistant.records.projection import entry_line, last_plan, last_word, standing
from assistant.records.store import Moved, Records

# Two programs that append to one client at once take turns; this many turns are plenty.
_TURNS = 50


def import_file(args: argparse.Namespace) -> int:
    """Import a file. Raises InputProblems, with nothing kept, where a line needs a decision."""
    system = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    today = today_of(args)
    book = checkin_book(knowledge(args.rules, args.house), today)
    with desk_of(args).opened() as records:
        client = records.client(args.name)
        read = read_record_sheet(args.file, book, today, system, args.dates)
        for note in (*read.notes, *_not_taken_in(read)):
            print(f"{args.file}: {note}")
        for _ in range(_TURNS):
            client = records.client(args.name)
            lines = records.history(client)
            answers = standing(lines).answers
            sorted_out = _sorted_out(args, read, last_word(lines), answers, book)
            problems = [*read.problems, *sorted_out.problems]
            if problems and not args.partly:
                raise InputProblems([*sorted(problems, key=line_of), _nothing_kept(args)])
            try:
                new = [entry_line(entry, today) for entry in sorted_out.entries]
                records.append(client, new, unless_moved=True)
                break
            except Moved:
                continue
        else:
            text = "another program keeps writing to this client; nothing was kept; try again"
            raise InputProblems([Problem(str(args.file), "busy", text)])
        plan = last_plan(lines)
        if sorted_out.entries:
            _plan_again(args, records, plan)
    for problem in sorted(problems, key=line_of):
        print(f"left out: {problem}", file=sys.stderr)
    _tell(sorted_out, client.name, len(problems))
    _tell_held_back(sorted_out.entries, plan.get("withheld", []), book)
    say_next(["review", client.handle], db=args.db)
    return 1 if problems else 0


def _plan_again(args: argparse.Namespace, records: Records, plan: Mapping[str, Any]) -> None:
    """Keep a new version of the plan where what was taken in changes what the screen says."""
    try:
        version = desk_of(args).screen_again(records, args.name)
    except InputProblems as problems:
        print(f"The plan is not made again: {problems.problems[0]}", file=sys.stderr)
        return
    if version is not None:
        print(
            "What was told changes what the screen says; the plan is made again, as version "
            f"{version.number}. Screen: {version.digest['level']} (was {plan.get('level', 'none')})."
        )


class _SortedOut:
    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.problems: list[Problem] = []
        self.same = 0
        self.kept_old = 0
        self.replaced = 0


def _sorted_out(
    args: argparse.Namespace,
    read: SheetRead,
    known: dict[Spot, Entry],
    answers: dict[str, Any],
    book: CheckinBook,
) -> _SortedOut:
    out = _SortedOut()
    last_counts = args.replace if args.keep or args.replace else None
    lines, out.same, out.kept_old, out.problems = one_a_spot(
        read.found, book, last_counts=last_counts
    )
    compared = compare([line.entry for line in lines], known, answers, book, today_of(args))
    for line, found in zip(lines, compared, strict=True):
        if found.is_same:
            out.same += 1
        elif found.differs and not (args.keep or args.replace):
            out.problems.append(Problem(line.place, "said-before", _differs(found, book)))
        elif found.differs and args.keep:
            out.kept_old += 1
        elif found.question and not args.sure:
            text = f"{found.question} Say --sure if it is, or mend the cell or the unit"
            out.problems.append(Problem(line.place, "doubtful", text))
        else:
            out.replaced += found.differs
            out.entries.append(line.entry)
    return out


def _differs(found: Compared, book: CheckinBook) -> str:
    assert found.before is not None
    return (
        f"{in_words(found.entry, book)}, but the record says {in_words(found.before, book)}; say "
        "--keep (the record) or --replace (the file)"
    )


def _nothing_kept(args: argparse.Namespace) -> Problem:
    text = "nothing was kept; mend these lines, or say --partly to take the others"
    return Problem(str(args.file), "not-imported", text)


def _not_taken_in(read: SheetRead) -> Iterator[str]:
    """Yield what the file tells that is no line of a check-in, and where it belongs."""
    for lines, what, where in (
        (read.agreed, "what was agreed", "`whyplan review --accept` keeps an agreement"),
        (read.sent, "whom to see", "a new plan says whom to see"),
        (read.urgent, "whether urgent signs were asked", "the guided check-in asks for them"),
    ):
        if lines:
            days = "1 line" if len(lines) == 1 else f"{len(lines)} lines"
            yield f"{what} is not taken in ({days}); {where}"


def _tell(out: _SortedOut, name: str, left_out: int) -> None:
    print(f"{len(out.entries)} lines are in the record of {name}.")
    for count, text in (
        (out.replaced, "took the place of what the record said; the history keeps both"),
        (out.same, "were there already"),
        (out.kept_old, "were left as they stood"),
        (left_out, "were left out, as told above"),
    ):
        if count:
            print(f"  {count} {text}")


def _tell_held_back(entries: Sequence[Entry], withheld: Sequence[str], book: CheckinBook) -> None:
    held = sorted(
        {
            book.words(entry.measure).label
            for entry in entries
            if set(book.words(entry.measure).held_back_by) & set(withheld)
        }
    )
    if held:
        print(
            f"The screen holds back {', '.join(held)}: it is kept, and shown to nobody but you. "
            "Do not ask for more of it."
        )
