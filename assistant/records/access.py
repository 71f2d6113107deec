"""The trail of who looked at whose record: append-only, each line naming the hash of the one before.

It holds no answer and no name of a client: a client is the hash of their random token, as in the trail of
the record. When the client is forgotten the token goes, too, and nobody can tell any more who it was.
"""

import datetime as dt
from dataclasses import dataclass

from sqlalchemy import select

from assistant.model.errors import Problem
from assistant.records.chain import subject_of
from assistant.records.connect import reading, writing
from assistant.records.schema import ACCESS
from assistant.records.store import Records
from assistant.records.trail import append_row, last_sound

# What stands in place of a client on pages that show all of them at once.
ALL_CLIENTS = ""


@dataclass(frozen=True)
class Access:
    """One look. at: when, in UTC. page: its pattern, with the kind of request. subject: whose record."""

    number: int
    at: str
    who: str
    role: str
    page: str
    subject: str
    previous: str
    hash: str


def write_access(
    records: Records, at: dt.datetime, *, who: str, role: str, page: str, token: str | None
) -> None:
    """Append a line; it is on the disk when this returns. token: of the client, None for all of them."""
    subject = ALL_CLIENTS if token is None else subject_of(token)
    moment = at.astimezone(dt.UTC).isoformat(timespec="seconds")
    with writing(records.engine, records.place) as connection:
        append_row(connection, ACCESS, at=moment, who=who, role=role, page=page, subject=subject)


def accesses(
    records: Records, *, token: str | None = None, before: int | None = None, most: int = 100
) -> list[Access]:
    """Return looks, newest first. token: those at one client, or at all of them together."""
    query = select(ACCESS).order_by(ACCESS.c.number.desc()).limit(most)
    if token is not None:
        query = query.where(ACCESS.c.subject.in_((subject_of(token), ALL_CLIENTS)))
    if before is not None:
        query = query.where(ACCESS.c.number < before)
    with reading(records.engine, records.place) as connection:
        return [Access(**row) for row in connection.execute(query).mappings()]


def trail_of_accesses(records: Records) -> tuple[int, str, tuple[Problem, ...]]:
    """Read the whole trail; return how many lines are sound, its head, and what is wrong, if anything."""
    with reading(records.engine, records.place) as connection:
        sound, is_whole = last_sound(connection, ACCESS)
    told = "the trail of who looked is not what was written from here on"
    problem = Problem(f"access:{sound.sequence + 1}", "trail-changed", told)
    return sound.sequence, str(sound), () if is_whole else (problem,)
