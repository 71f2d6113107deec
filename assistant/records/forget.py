"""Forgetting a client: gone from the record and from every backup the program made."""

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import delete, select

from assistant.records.backup import forget_in_backups
from assistant.records.chain import subject_of
from assistant.records.connect import told_clearly, writing
from assistant.records.schema import ACCOUNT, CLIENT, CLIENT_LINK, HISTORY, TRAIL
from assistant.records.store import Client, Records
from assistant.records.trail import append_row


@dataclass(frozen=True)
class Forgotten:
    """What is left of a client: a count and hashes, in the trail."""

    lines: int
    subject: str
    backups: int


def forget(records: Records, client: Client, on: dt.date) -> Forgotten:
    """Take a client out for good. Backups first, so that a crash never leaves one behind.

    What stays is a line of the trail with hashes that nobody can turn back into a name, because
    the random token that went into them is destroyed as well.
    """
    backups = forget_in_backups(records.place, client.token)
    subject = subject_of(client.token)
    with writing(records.engine, records.place) as connection:
        now = connection.execute(
            select(CLIENT.c.lines, CLIENT.c.head).where(CLIENT.c.id == client.id).with_for_update()
        ).one()
        for table in (HISTORY, CLIENT_LINK, ACCOUNT):
            connection.execute(delete(table).where(table.c.client_id == client.id))
        connection.execute(delete(CLIENT).where(CLIENT.c.id == client.id))
        left = {"subject": subject, "lines": now.lines, "head": now.head}
        append_row(connection, TRAIL, event="forgotten", day=on, **left)
    clean(records)
    return Forgotten(now.lines, subject, backups)


def clean(records: Records) -> None:
    """Leave no deleted bytes in the file: pages that were moved keep old bytes in their gaps."""
    if records.place.file is None:
        with told_clearly(records.place):
            connection = records.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            with connection:
                for table in (CLIENT, HISTORY, CLIENT_LINK, ACCOUNT):
                    connection.exec_driver_sql(f"VACUUM FULL {table.name}")
        return
    with told_clearly(records.place):
        raw = records.engine.raw_connection()
        try:
            cursor = raw.cursor()
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            raw.close()
