"""The trail of what happened to the record as a whole: hashes and counts, no names, no answers."""

import datetime as dt

from sqlalchemy import Connection, insert, select

from assistant.model.chain import START
from assistant.records.chain import trail_hash
from assistant.records.schema import TRAIL


def add_to_trail(
    connection: Connection,
    event: str,
    day: dt.date,
    *,
    subject: str,
    lines: int = 0,
    head: str = START,
) -> None:
    """Append one line: `added`, `forgotten` or `migrated`."""
    last = connection.execute(
        select(TRAIL.c.number, TRAIL.c.hash).order_by(TRAIL.c.number.desc()).limit(1)
    ).first()
    number, previous = (last.number + 1, last.hash) if last else (1, START)
    connection.execute(
        insert(TRAIL).values(
            number=number,
            event=event,
            day=day,
            subject=subject,
            lines=lines,
            head=head,
            previous=previous,
            hash=trail_hash(number, event, day, subject, lines, head, previous),
        )
    )
