"""Reads what the look at all clients needs, for all of them at once: the last weeks only."""

import datetime as dt
import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, func, select

from assistant.measure import Settings
from assistant.model.history import History
from assistant.records.asked import open_referrals, raised_since
from assistant.records.attention import Look
from assistant.records.chain import Line
from assistant.records.connect import reading
from assistant.records.due import Asked, due_since
from assistant.records.fold import MeasuredRow, agreements_of, history_of_rows
from assistant.records.kinds import ANSWERS, ENTRY, PLAN
from assistant.records.schema import CLIENT, HISTORY
from assistant.records.store import Client, Records

# What is looked at is never older than this; a pace needs weeks, not years.
_WEEKS_READ = 8
_NOTHING = History()


def looks_at_all(
    records: Records,
    on: dt.date,
    settings: Settings,
    logic_hash: str,
    *,
    askable: Sequence[str],
    all_again_weeks: float,
    open_again_weeks: float,
    asks: Sequence[Asked] = (),
) -> list[tuple[Client, Look]]:
    """Return every client with what is known on a day, in order of name."""
    since = on - dt.timedelta(weeks=_WEEKS_READ)
    with reading(records.engine, records.place) as connection:
        rows = connection.execute(select(CLIENT).order_by(CLIENT.c.handle)).mappings()
        clients = [Client(**row) for row in rows]
        measured = _measured(connection, since, on)
        plans = _last_plans(connection, on)
        told = _plan_and_referral_lines(connection, on)
        answers = _answer_lines(connection, on)
        quiet = [c.id for c in clients if c.id not in measured]
        last_days = _last_days(connection, quiet, on)
    looks = []
    for client in clients:
        history, last_day = measured.get(client.id, (_NOTHING, None))
        plan, given = plans.get(client.id, {}), answers.get(client.id, [])
        due, first_due = due_since(
            given,
            plan,
            askable,
            on,
            all_again_weeks=all_again_weeks,
            open_again_weeks=open_again_weeks,
            asks=asks,
            raised=raised_since(told.get(client.id, ()), plan),
        )
        look = Look(
            handle=client.handle,
            on=on,
            plan=plan,
            history=replace(
                history,
                agreements=agreements_of(told.get(client.id, ()), on),
                referrals=open_referrals(told.get(client.id, ()), on),
            ),
            last_day=last_day or last_days.get(client.id) or client.added_on,
            answered_on=max((line.said_on for line in given), default=None),
            due=due,
            due_since=first_due,
            logic_hash=logic_hash,
            settings=settings,
        )
        looks.append((client, look))
    return looks


def _measured(
    connection: Connection, since: dt.date, on: dt.date
) -> dict[int, tuple[History, dt.date]]:
    c = HISTORY.c
    query = (
        select(c.client_id, c.measure, c.day, c.detail, c.value, c.body)
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


def _last_plans(connection: Connection, on: dt.date) -> dict[int, dict[str, Any]]:
    c = HISTORY.c
    newest = (
        select(c.client_id, func.max(c.number).label("number"))
        .where(c.kind == PLAN, c.day <= on)
        .group_by(c.client_id)
        .subquery()
    )
    query = select(c.client_id, c.body).join(
        newest, (c.client_id == newest.c.client_id) & (c.number == newest.c.number)
    )
    return {row[0]: json.loads(row[1]) for row in connection.execute(query)}


def _plan_and_referral_lines(connection: Connection, on: dt.date) -> dict[int, list[Line]]:
    """Return what was agreed, whom to see, and who was seen, of all time: these do not age."""
    c = HISTORY.c
    query = (
        select(
            c.client_id, c.kind, c.said_on, c.day, c.measure, c.detail, c.value, c.body, c.number
        )
        .where(
            c.day <= on,
            c.said_on <= on,
            (c.kind == PLAN) | ((c.kind == ENTRY) & (c.measure == "referral")),
        )
        .order_by(c.client_id, c.number)
    )
    found: dict[int, list[Line]] = {}
    for client, *row in connection.execute(query):
        found.setdefault(client, []).append(Line(*row))
    return found


def _answer_lines(connection: Connection, on: dt.date) -> dict[int, list[Line]]:
    c = HISTORY.c
    query = (
        select(c.client_id, c.said_on, c.body)
        .where(c.kind == ANSWERS, c.day <= on)
        .order_by(c.client_id, c.number)
    )
    found: dict[int, list[Line]] = {}
    for client, said_on, body in connection.execute(query):
        found.setdefault(client, []).append(Line(ANSWERS, said_on, said_on, body=body))
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
