"""The option `--record FILE`: dated rows of a client's weeks, measured as the record itself is."""

import argparse
import dataclasses
import datetime as dt
import sys
from pathlib import Path

from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.quantities import UnitSystem
from assistant.intake.sheet.dates import Order
from assistant.intake.sheet.read import line_of, one_a_spot, read_record_sheet
from assistant.intake.sheet.rows import SheetRead
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems
from assistant.model.history import History, OpenReferral
from assistant.model.knowledge import KnowledgeBase
from assistant.records.asked import Referrals
from assistant.records.projection import history_of_entries


def record_of(args: argparse.Namespace, kb: KnowledgeBase, on: dt.date) -> History:
    """Return what the file of `--record` holds, and say what is not read. Raises InputProblems."""
    system = UnitSystem.IMPERIAL if args.imperial else UnitSystem.METRIC
    history, notes = read_record(args.record, checkin_book(kb, on), system, args.dates)
    for note in notes:
        print(f"{args.record}: {note}", file=sys.stderr)
    return history


def read_record(
    path: Path,
    book: CheckinBook,
    system: UnitSystem = UnitSystem.METRIC,
    order: Order | None = None,
) -> tuple[History, list[str]]:
    """Read a record file, and how it was read. Raises InputProblems with everything that is wrong."""
    read = read_record_sheet(path, book, dt.date.max, system, order)
    lines, _, _, twice = one_a_spot(read.found, book)
    if read.problems or twice:
        raise InputProblems(sorted([*read.problems, *twice], key=line_of))
    entries = [line.entry for line in lines]
    history = history_of_entries(entries)
    asked = sorted(read.urgent)
    clear = asked[-1][0] if asked and asked[-1][1] else dt.date.min
    return dataclasses.replace(
        history,
        agreements=tuple(sorted(read.agreed, key=lambda agreed: agreed.day)),
        pains=tuple(
            dataclasses.replace(pain, asked_clear=pain.day <= clear) for pain in history.pains
        ),
        referrals=_open_referrals(read, entries),
    ), read.notes


def last_day(history: History) -> dt.date | None:
    """Return the last day of a record; None for an empty one."""
    series = (history.weighings, history.girths, history.eating, history.top_sets, history.sessions,
              history.pains, history.notes, history.agreements, history.signs)  # fmt: skip
    return max((row.day for rows in series for row in rows), default=None)


def _open_referrals(read: SheetRead, entries: list[Entry]) -> tuple[OpenReferral, ...]:
    """Return who is still to be seen: a row of a role opens it, also one with an answer alone."""
    answers = [(e.day, e.detail, e.value) for e in entries if e.measure == "referral"]
    rows = [*((day, role, None) for day, role in read.sent), *answers]
    referrals = Referrals()
    for day, role, value in sorted(rows, key=lambda row: row[0]):
        referrals.asked(day, {role: frozenset({day.isoformat()})})
        referrals.told(day, role, value)
    return referrals.open()
