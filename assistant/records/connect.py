"""Opens the database: where it is, how safely it writes, and its errors as clear lines."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError

from assistant.model.errors import InputProblems, Problem
from assistant.model.places import RECORD, data_folder

OWNER_ONLY = 0o600
FOLDER_OWNER_ONLY = 0o700
# How long a process waits for another one that is writing; a write takes milliseconds.
BUSY_SECONDS = 20
_FILE_SCHEMES = {"sqlite", "sqlite+pysqlite"}
_KEPT = "what was confirmed before is kept, this line is not"
# What the database says, then a code and what to do about it.
_REMEDIES = {
    "disk is full": ("disk-full", f"the disk is full; {_KEPT}; make room and say it again"),
    "disk i/o error": (
        "disk-error",
        f"the disk refused to write; {_KEPT}; check the disk and its room, and say it again",
    ),
    "readonly database": (
        "read-only",
        (
            "the record may not be written here; nothing was changed; give the folder and the file "
            "back to their owner, or choose another --db"
        ),
    ),
    "unable to open": (
        "not-readable",
        (
            "the record cannot be opened or made here; nothing was changed; check that the folder "
            "exists and is yours, or choose another --db"
        ),
    ),
    "is locked": (
        "busy",
        (
            f"another program has been writing for over {BUSY_SECONDS} seconds; this line is not "
            "kept; close it and say it again"
        ),
    ),
    "not a database": (
        "not-a-record",
        "this file is not a whyplan record; nothing was changed; choose another --db",
    ),
    "malformed": (
        "damaged",
        (
            "the file is damaged; nothing was changed; put a backup from the folder `backups` beside "
            "it in its place"
        ),
    ),
}


@dataclass(frozen=True)
class Place:
    """Where a record is kept. file: the SQLite file; None on a database server."""

    url: URL
    file: Path | None

    @property
    def shown(self) -> str:
        """The place as it stands in messages, without a password."""
        return str(self.file) if self.file else self.url.render_as_string(hide_password=True)

    @property
    def backups(self) -> Path:
        """The folder of the backups the program makes."""
        if self.file is not None:
            return self.file.parent / "backups"
        return data_folder() / "backups"


def place_of(db: str | None) -> Place:
    """Return the place named by `--db`: a URL, a file, or None for the user's own data folder.

    Raises InputProblems for a URL that cannot be read.
    """
    if db is None:
        return _file_place(data_folder() / RECORD)
    if "://" not in db:
        return _file_place(Path(db))
    try:
        url = make_url(db)
        if url.drivername == "postgresql":
            url = url.set(drivername="postgresql+psycopg")
        if url.drivername in _FILE_SCHEMES:
            return _file_place(Path(url.database or RECORD))
        url.get_dialect()
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        text = "this is no address of a database; allowed: a file, or postgresql://user@host/name"
        raise InputProblems([Problem("--db", "bad-address", text)]) from error
    return Place(url, None)


def _file_place(path: Path) -> Place:
    return Place(URL.create("sqlite", database=str(path)), path)


def make_file(place: Place) -> None:
    """Make the file of a new record for its owner alone; a file that is there is left as it is."""
    if place.file is None:
        return
    try:
        place.file.parent.mkdir(parents=True, exist_ok=True, mode=FOLDER_OWNER_ONLY)
        os.close(os.open(place.file, os.O_RDWR | os.O_CREAT, OWNER_ONLY))
        if place.file.stat().st_mode & 0o077:
            place.file.chmod(OWNER_ONLY)
    except OSError as error:
        text = (
            f"the record cannot be opened or made here ({error.strerror}); nothing was changed; "
            "check that the folder exists and is yours, or choose another --db"
        )
        raise InputProblems([Problem(place.shown, "not-writable", text)]) from error


def engine_of(place: Place) -> Engine:
    """Return an engine whose commits are on the disk when they return. Raises InputProblems."""
    if place.file is None:
        try:
            return create_engine(place.url)
        except ImportError as error:
            text = f"the driver `{error.name}` is not installed: pip install 'whyplan[postgres]'"
            raise InputProblems([Problem("--db", "no-driver", text)]) from error
    engine = create_engine(place.url, connect_args={"timeout": BUSY_SECONDS})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _: object) -> None:
    # The driver's own implicit transactions would commit in the middle of a migration.
    connection.isolation_level = None
    for setting in (
        "journal_mode = WAL",
        "synchronous = FULL",
        "foreign_keys = ON",
        "secure_delete = ON",
        "temp_store = MEMORY",
    ):
        connection.execute(f"PRAGMA {setting}")


def _begin(connection: Connection) -> None:
    # A writer takes its lock at once: two writers then wait instead of failing at the commit.
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def reading(engine: Engine, place: Place) -> Iterator[Connection]:
    """Give a connection that sees one state of the record throughout."""
    with told_clearly(place), engine.connect() as connection:
        yield connection


@contextmanager
def writing(engine: Engine, place: Place) -> Iterator[Connection]:
    """Give a connection whose changes are all kept at the end, or none of them."""
    with (
        told_clearly(place),
        engine.connect().execution_options(writes=True) as connection,
        connection.begin(),
    ):
        yield connection


@contextmanager
def told_clearly(place: Place) -> Iterator[None]:
    """Turn what the database complains about into one line that says what to do."""
    try:
        yield
    except DBAPIError as error:
        raise InputProblems([_problem(place, error.orig or error)]) from error
    except sqlite3.Error as error:
        raise InputProblems([_problem(place, error)]) from error


def _problem(place: Place, error: BaseException) -> Problem:
    said = " ".join(str(error).split())
    for sign, (code, text) in _REMEDIES.items():
        if sign in said.lower():
            return Problem(place.shown, code, text)
    if place.file is None and _is_operational(error):
        text = f"the database does not answer ({said}); nothing was changed; is it running?"
        return Problem(place.shown, "no-database", text)
    text = f"the database refused ({said}); nothing of this step was kept"
    return Problem(place.shown, "database-error", text)


def _is_operational(error: Any) -> bool:
    return isinstance(error, OperationalError) or type(error).__name__ in {
        "OperationalError",
        "ConnectionTimeout",
    }
