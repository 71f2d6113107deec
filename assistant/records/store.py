"""The record of all clients: adding, appending, reading. Nothing is ever changed in place."""

import datetime as dt
import re
import secrets
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, insert, select, update
from sqlalchemy.exc import IntegrityError

from assistant.model.chain import START
from assistant.model.errors import InputProblems, Problem
from assistant.records.chain import Line, NewLine, line_hash, subject_of
from assistant.records.connect import Place, engine_of, make_file, place_of, reading, writing
from assistant.records.migrate import migrate
from assistant.records.schema import CLIENT, HISTORY, TRAIL
from assistant.records.trail import append_row

LONGEST_NAME = 200
# What a line says, whichever client it is about and wherever it stands.
_SAID = tuple(field.name for field in fields(NewLine))


@dataclass(frozen=True)
class Client:
    """A client. lines, head: number and hash of the last line of the history."""

    id: int
    token: str
    handle: str
    name: str
    added_on: dt.date
    lines: int
    head: str


class Moved(Exception):
    """Another program appended to this client's history since it was read."""


@dataclass(frozen=True)
class Records:
    """An open record. backup: the copy made because the tables were brought up to date."""

    engine: Engine
    place: Place
    backup: Path | None = None

    def clients(self) -> list[Client]:
        """Return all clients in order of name."""
        with reading(self.engine, self.place) as connection:
            rows = connection.execute(select(CLIENT).order_by(CLIENT.c.handle)).mappings()
            return [Client(**row) for row in rows]

    def client(self, name: str) -> Client:
        """Return the client of a name or handle. Raises InputProblems with the nearest name."""
        with reading(self.engine, self.place) as connection:
            query = select(CLIENT).where(CLIENT.c.handle == handle_of(name))
            row = connection.execute(query).mappings().first()
            if row is not None:
                return Client(**row)
            known = connection.execute(select(CLIENT.c.handle)).scalars().all()
        raise InputProblems([Problem(self.place.shown, "no-client", nearest_client(name, known))])

    def add(self, name: str, on: dt.date, lines: Sequence[NewLine] = ()) -> Client:
        """Add a client with the first lines of the history, all at once.

        Raises InputProblems for a name that is no name, or that somebody has already.
        """
        check_name(name)
        handle = handle_of(name)
        token = secrets.token_hex(16)
        first: dict[str, Any] = {"added_on": on, "lines": 0, "head": START}
        try:
            with writing(self.engine, self.place) as connection:
                # The name's own index settles it when two programs add the same name at once.
                made = connection.execute(
                    insert(CLIENT).values(token=token, handle=handle, name=name, **first)
                ).inserted_primary_key
                assert made is not None
                client = Client(int(made[0]), token, handle, name, on, 0, START)
                client = _append(connection, client, lines)
                told = {"subject": subject_of(token), "lines": client.lines, "head": client.head}
                append_row(connection, TRAIL, event="added", day=on, **told)
        except InputProblems as problems:
            if isinstance(problems.__cause__, IntegrityError):
                text = f"`{name}` is in the record already; choose another name, or update this one"
                raise InputProblems([Problem("NAME", "name-taken", text)]) from problems
            raise
        return client

    def append(
        self, client: Client, lines: Sequence[NewLine], *, unless_moved: bool = False
    ) -> Client:
        """Append lines to a client's history; they are on the disk when this returns.

        unless_moved: raise Moved, with nothing kept, if the history is no longer the one of
        `client`. Returns the client with its new head.
        """
        with writing(self.engine, self.place) as connection:
            query = select(CLIENT).where(CLIENT.c.id == client.id).with_for_update()
            row = connection.execute(query).mappings().first()
            if row is None:
                text = f"`{client.name}` has been forgotten meanwhile; nothing was kept"
                raise InputProblems([Problem(self.place.shown, "no-client", text)])
            now = Client(**row)
            if unless_moved and now.head != client.head:
                raise Moved
            return _append(connection, now, lines)

    def history(
        self,
        client: Client,
        *,
        kinds: Sequence[str] = (),
        until: dt.date | None = None,
    ) -> list[Line]:
        """Return the lines of a history in the order they were said.

        until: only what had been said by that day.
        """
        query = select(HISTORY).where(HISTORY.c.client_id == client.id)
        if kinds:
            query = query.where(HISTORY.c.kind.in_(kinds))
        if until is not None:
            query = query.where(HISTORY.c.said_on <= until)
        with reading(self.engine, self.place) as connection:
            rows = connection.execute(query.order_by(HISTORY.c.number)).mappings()
            return [line_of(row) for row in rows]


def _append(connection: Connection, client: Client, lines: Sequence[NewLine]) -> Client:
    if not lines:
        return client
    rows = []
    for line in lines:
        number = client.lines + 1
        made = line_hash(client.token, number, line, client.head)
        place = {"client_id": client.id, "number": number, "previous": client.head, "hash": made}
        rows.append({**{each: getattr(line, each) for each in _SAID}, **place})
        client = replace(client, lines=number, head=made)
    connection.execute(insert(HISTORY), rows)
    now = {"lines": client.lines, "head": client.head}
    connection.execute(update(CLIENT).where(CLIENT.c.id == client.id).values(now))
    return client


def line_of(row: RowMapping) -> Line:
    """Return a row of the history as a line."""
    return Line(**{field: row[field] for field in Line.__dataclass_fields__})


@contextmanager
def open_records(db: str | None, today: dt.date) -> Iterator[Records]:
    """Open the record named by `--db`, making it or bringing it up to date where needed.

    Raises InputProblems with one clear line where that cannot be done; then nothing was changed.
    """
    place = place_of(db)
    make_file(place)
    engine = engine_of(place)
    try:
        yield Records(engine, place, migrate(engine, place, today))
    finally:
        engine.dispose()


def is_name(name: str) -> bool:
    """Tell whether this may be a client's name."""
    return bool(name.strip()) and name.isprintable() and len(name) <= LONGEST_NAME


def check_name(name: str, place: str = "NAME") -> None:
    """Refuse what is no name. place: where it was typed. Raises InputProblems."""
    if not is_name(name):
        text = f"a name is one line of 1 to {LONGEST_NAME} printable characters"
        raise InputProblems([Problem(place, "bad-name", text)])


def handle_of(name: str) -> str:
    """Return the handle of a name: lower case, no accents, hyphens. Letters of any script stay."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(each for each in plain if not unicodedata.combining(each))
    return re.sub(r"[\W_]+", "-", bare).strip("-") or "client"


def nearest_client(name: str, known: Iterable[str]) -> str:
    """Return what to say about a name that is not in the record."""
    # Only a wrong name pays for loading the room of the rules.
    from assistant.knowledge.nearest import did_you_mean  # noqa: PLC0415

    listed = list(known)
    if not listed:
        return f"`{name}` is not in the record; it is empty: whyplan client add NAME --case FILE"
    hint = did_you_mean(handle_of(name), listed, "; `whyplan client list` shows all")
    return f"`{name}` is not in the record{hint}"
