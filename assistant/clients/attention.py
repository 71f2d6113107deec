"""Who needs the coach first, and why: every client of a record in order of need."""

import sys
from dataclasses import dataclass

from assistant.clients.desk import Desk
from assistant.clients.rounds import rounds_of
from assistant.plan.record import measure_settings
from assistant.records.attention import Reason, Snapshot, attention_book, reasons_for
from assistant.records.snapshots import snapshots_of_all
from assistant.records.store import Client, Records


@dataclass(frozen=True)
class Need:
    """A client, what is known of them on the day, and why they need the coach: the most urgent first."""

    client: Client
    snapshot: Snapshot
    reasons: tuple[Reason, ...]


def in_order_of_need(desk: Desk, records: Records) -> list[Need]:
    """Return all clients, whoever needs the coach most first. Raises InputProblems.

    They stand in the order of their first reason, then of the next ones; whoever has none comes last.
    """
    book = attention_book(desk.kb, desk.on)
    settings, rounds = measure_settings(desk.kb, desk.on), rounds_of(desk.kb, desk.on)
    snapshots = snapshots_of_all(records, desk.on, settings, desk.kb.logic_hash, rounds)
    needs = [
        Need(client, snapshot, tuple(reasons_for(snapshot, book))) for client, snapshot in snapshots
    ]
    return sorted(needs, key=lambda each: (_urgency(each), each.client.handle))


def _urgency(need: Need) -> tuple[int, ...]:
    return tuple(reason.order for reason in need.reasons) or (sys.maxsize,)
