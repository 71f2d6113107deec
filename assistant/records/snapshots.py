"""Reads the snapshots of all clients at once: the last weeks only."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy import ColumnElement, Connection, func, select

from assistant.measure import Settings
from assistant.model.history import History
from assistant.records.asked import asks_for_somebody, open_referrals, raised_since
from assistant.records.attention import Snapshot
from assistant.records.chain import ANSWERS, ENTRY, PLAN, Line
from assistant.records.connect import reading
from assistant.records.due import Rounds, due_since
from assistant.records.projection import MeasuredRow, agreements_of, history_of_rows, last_plan
from assistant.records.schema import CLIENT, HISTORY
from assistant.records.store import Client, Records

# What a snapshot holds is never older than this; a pace needs weeks, not years.
_WEEKS_READ = 8
_NOTHING = History()


def snapshots_of_all(
    records: Records, on: dt.date, settings: Settings, logic_hash: str, rounds: Rounds
) -> list[tuple[Client, Snapshot]]:
    """Return every client with what is known on a day, in order of name."""
    with reading(records.engine, records.place) as connection:
        rows = connection.execute(select(CLIENT).order_by(CLIENT.c.handle)).mappings()
        clients = [Client(**row) for row in rows]
        measured = _measured(connection, on - dt.timedelta(weeks=_WEEKS_READ), on)
        told = _lines(connection, on)
        quiet = [c.id for c in clients if c.id not in measured]
        last_days = _last_days(connection, quiet, on)
    snapshots = []
    for client in clients:
        history, last_day = measured.get(client.id, (_NOTHING, None))
        lines = told.get(client.id, [])
        plan = last_plan(lines)
        due, first_due = due_since(lines, plan, rounds, on, raised_since(lines, plan))
        snapshot = Snapshot(
            handle=client.handle,
            on=on,
            plan=plan,
            history=replace(
                history,
                agreements=agreements_of(lines, on),
                referrals=open_referrals(lines, on),
            ),
            last_day=last_day or last_days.get(client.id) or client.added_on,
            answered_on=max((x.said_on for x in lines if x.kind == ANSWERS), default=None),
            due=due,
            due_since=first_due,
            logic_hash=logic_hash,
            settings=settings,
        )
        snapshots.append((client, snapshot))
    return snapshots


def _measured(
    connection: Connection, since: dt.date, on: dt.date
) -> dict[int, tuple[History, dt.date]]:
    c = HISTORY.c
    query = (
        select(c.client_id, c.measure, c.day, c.detail, c.value, c.body)
        # Naming the clients lets the index by client, kind and day find these weeks among years.
        .where(c.client_id.in_(select(CLIENT.c.id)))
        .where(c.kind == ENTRY, c.day >= since, c.day <= on, c.said_on <= on)
        .order_by(c.client_id, c.number)
    )
    by_client: dict[int, list[MeasuredRow]] = {}
    for client, measure, day, detail, value, body in connection.execute(query):
        by_client.setdefault(client, []).append((measure, day, detail, value, body))
    return {
        client: (history_of_rows(rows, on), max(row[1] for row in rows))
        for client, rows in by_client.items()
    }


def _lines(connection: Connection, on: dt.date) -> dict[int, list[Line]]:
    """Return answers, what was agreed, whom to see and who was seen, of all time: these do not age."""
    c, found = HISTORY.c, dict[int, list[Line]]()
    told = select(
        c.client_id, c.kind, c.said_on, c.day, c.measure, c.detail, c.value, c.body, c.number
    ).where(c.day <= on, c.said_on <= on)

    def read(*which: ColumnElement[bool]) -> None:
        for client, *row in connection.execute(told.where(*which).order_by(c.number)):
            found.setdefault(client, []).append(Line(*row))

    read(c.client_id.in_(select(CLIENT.c.id)), c.kind.in_((PLAN, ANSWERS)))
    # Whether somebody was seen is told only of those who were asked to see somebody.
    asked = [client for client, lines in found.items() if any(map(asks_for_somebody, lines))]
    read(c.client_id.in_(asked), c.kind == ENTRY, c.measure == "referral")
    for client in asked:
        found[client].sort(key=lambda line: line.number)
    return found


def _last_days(connection: Connection, clients: Iterable[int], on: dt.date) -> dict[int, dt.date]:
    """Return the last day anything was measured, for clients who were silent for weeks."""
    c = HISTORY.c
    found = {}
    for client in clients:
        query = select(func.max(c.day)).where(c.client_id == client, c.kind == ENTRY, c.day <= on)
        day = connection.execute(query).scalar()
        if day is not None:
            found[client] = day
    return found
