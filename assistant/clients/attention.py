"""Who needs the coach first, and why: every client of a record in order of need."""

import sys
from dataclasses import dataclass

from assistant.clients.desk import Desk
from assistant.clients.rounds import rounds_of
from assistant.plan.record import measure_settings
from assistant.records.attention import Look, Reason, attention_book, reasons_for
from assistant.records.looks import looks_at_all
from assistant.records.store import Client, Records


@dataclass(frozen=True)
class Need:
    """A client, what is known of them on the day, and why they need the coach: the most urgent first."""

    client: Client
    look: Look
    reasons: tuple[Reason, ...]


def in_order_of_need(desk: Desk, records: Records) -> list[Need]:
    """Return all clients, whoever needs the coach most first. Raises InputProblems.

    They stand in the order of their first reason, then of the next ones; whoever has none comes last.
    """
    book = attention_book(desk.kb, desk.on)
    settings, rounds = measure_settings(desk.kb, desk.on), rounds_of(desk.kb, desk.on)
    looks = looks_at_all(records, desk.on, settings, desk.kb.logic_hash, rounds)
    needs = [Need(client, look, tuple(reasons_for(look, book))) for client, look in looks]
    return sorted(needs, key=lambda each: (_urgency(each), each.client.handle))


def _urgency(need: Need) -> tuple[int, ...]:
    return tuple(reason.order for reason in need.reasons) or (sys.maxsize,)
