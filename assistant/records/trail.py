"""Tables that only grow, each row naming the hash of the one before: what happened to the record, who looked."""

import datetime as dt
from typing import Any

from sqlalchemy import Connection, RowMapping, Table, insert, select, text

from assistant.model.chain import Link, digest, plain_json


def append_row(connection: Connection, table: Table, **said: Any) -> None:
    """Append a row; number, previous and hash are worked out here. said: the other columns.

    Writers take turns, so that two at once never follow the same row.
    """
    if connection.dialect.name == "postgresql":  # SQLite's take turns at the whole file
        turn = f"SELECT pg_advisory_xact_lock('{table.name}'::regclass::oid::bigint)"
        connection.execute(text(turn))
    last = connection.execute(
        select(table.c.number, table.c.hash).order_by(table.c.number.desc()).limit(1)
    ).first()
    before = Link(*last) if last else Link()
    row = {"number": before.sequence + 1, **said, "previous": before.hash}
    connection.execute(insert(table).values(**row, hash=_hash(table, row)))


def last_sound(connection: Connection, table: Table) -> tuple[Link, bool]:
    """Read a whole table; return the last row that is what was written, and whether all rows are."""
    before = Link()
    for row in connection.execute(select(table).order_by(table.c.number)).mappings():
        if before.fault(row["number"], row["previous"]) or row["hash"] != _hash(table, row):
            return before, False
        before = before.next(row["hash"])
    return before, True


def _hash(table: Table, row: RowMapping | dict[str, Any]) -> str:
    """Return the hash of a row: all its other columns, in the order of the table."""
    said = [row[each.name] for each in table.columns if each.name != "hash"]
    return digest(
        plain_json([each.isoformat() if isinstance(each, dt.date) else each for each in said])
    )
