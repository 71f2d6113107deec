"""Brings a database to the present tables; a backup first, and nothing at all if it is newer."""

import datetime as dt
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from assistant.model.chain import START
from assistant.model.errors import InputProblems, Problem
from assistant.records.backup import back_up
from assistant.records.connect import Place, reading, writing
from assistant.records.schema import TRAIL, VERSION
from assistant.records.trail import append_row

MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(engine: Engine, place: Place, today: dt.date) -> Path | None:
    """Bring the tables to the present version; return the backup made, if one was.

    All steps are one transaction: a crash leaves the old tables, and the next start tries again.
    Raises InputProblems, with nothing changed, for a newer database and for one of another kind.
    """
    with reading(engine, place) as connection:
        found = version_of(connection, place)
    if found == VERSION:
        return None
    backup = back_up(engine, place, found) if found else None
    with writing(engine, place) as connection:
        if place.file is None:  # two programs at once: the second waits, then finds the work done
            connection.execute(text("SELECT pg_advisory_xact_lock(740231)"))
        found = version_of(connection, place)
        if found != VERSION:
            _upgrade(connection)
            told = {"subject": f"{found or 'new'} to {VERSION}", "lines": 0, "head": START}
            append_row(connection, TRAIL, event="migrated", day=today, **told)
    return backup


def version_of(connection: Connection, place: Place) -> str:
    """Return the version of the tables, empty for a new database.

    Raises InputProblems for a version that is not known here, and for somebody else's tables.
    """
    tables = inspect(connection).get_table_names()
    if "alembic_version" not in tables:
        if {"client", "history"} & set(tables) or (tables and place.file is not None):
            told = "this is a database of something else; nothing was changed; choose another --db"
            raise InputProblems([Problem(place.shown, "not-a-record", told)])
        return ""
    found = str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or "")
    if found and found not in known_versions():
        told = (
            f"this record was written by a newer whyplan (tables {found}, this one knows up to "
            f"{VERSION}); nothing was changed; update whyplan"
        )
        raise InputProblems([Problem(place.shown, "newer-database", told)])
    return found


def known_versions() -> tuple[str, ...]:
    """Return the versions of the tables that this program can bring up to date, oldest first."""
    names = sorted(path.stem for path in (MIGRATIONS / "versions").glob("v*.py"))
    return tuple(name[1:].partition("_")[0] for name in names)


def _upgrade(connection: Connection) -> None:
    # Only a database that needs it pays for loading the library.
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
