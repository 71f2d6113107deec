"""What was trained today, kept as the lines a check-in would keep: sets of a lift, a session done."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.clients.desk import Desk
from assistant.intake.checkin.book import checkin_book
from assistant.intake.checkin.doubts import compare
from assistant.intake.checkin.lift_sets import day_of_sets
from assistant.model.entries import Entry, Spot
from assistant.model.history import LiftSet
from assistant.model.knowledge import KnowledgeBase
from assistant.model.version import Version
from assistant.records.projection import entry_line, last_word
from assistant.records.store import Client, Records


@dataclass(frozen=True)
class Done:
    """What stands for a day. sets: by exercise. session: whether its session is done."""

    sets: dict[str, tuple[LiftSet, ...]]
    session: bool


def done_on(records: Records, client: Client, day: dt.date) -> Done:
    """Return what the record says was trained on a day."""
    stands = last_word(records.history(client, until=day))
    sets = {
        spot.detail: entry.sets
        for spot, entry in stands.items()
        if spot.measure == "top_set" and spot.day == day
    }
    marked = stands.get(Spot("session", day, ""))
    return Done(sets, session=marked is not None and bool(marked.value))


def looks_wrong(
    desk: Desk, records: Records, client: Client, kb: KnowledgeBase, entry: Entry
) -> str:
    """Return the question about sets that are allowed but far from those before; empty for none."""
    stands = last_word(records.history(client, until=desk.on))
    before = {spot: each for spot, each in stands.items() if spot != entry.spot}
    (found,) = compare([entry], before, {}, checkin_book(kb, desk.on), desk.on)
    return found.question


def entry_of_sets(day: dt.date, exercise: str, sets: Sequence[LiftSet]) -> Entry:
    """Return the line of a lift's sets; without any the line before is taken back."""
    return day_of_sets(day, exercise, sets) if sets else Entry("top_set", day, None, exercise)


def keep_done(
    desk: Desk, records: Records, client: Client, entries: Iterable[Entry]
) -> Version | None:
    """Keep lines of the day; return the version of the plan they call for, None where they call for none."""
    records.append(client, [entry_line(entry, desk.on) for entry in entries])
    return desk.screen_again(records, client.handle)
