"""Backups the program makes before it changes the tables, and how a client leaves them too."""

import json
import os
import sqlite3
import tempfile
from pathlib import Path

from sqlalchemy import Engine, MetaData, select

from assistant.casefiles.safe_files import sync_folder, write_atomically
from assistant.model.errors import InputProblems, Problem
from assistant.records.connect import (
    FOLDER_OWNER_ONLY,
    Place,
    reading,
    told_clearly,
)

_TABLES = (
    "client", "history", "trail", "account", "client_link", "access", "alembic_version",
)  # fmt: skip
# What is about one client, by `client_id`; a copy from before a table was made lacks it.
_OF_CLIENTS = ("history", "client_link", "account")


def back_up(engine: Engine, place: Place, version: str) -> Path:
    """Copy the whole record beside itself and return the copy.

    A copy of a file is a file; of a database on a server, lines of JSON. The copy appears under its
    name only when it is complete and on the disk. Raises InputProblems, with nothing changed.
    """
    kind = "sqlite3" if place.file is not None else "jsonl"
    path = place.backups / f"{_stem(place)}.before-{version}.{kind}"
    try:
        place.backups.mkdir(parents=True, exist_ok=True, mode=FOLDER_OWNER_ONLY)
        descriptor, name = tempfile.mkstemp(dir=place.backups, prefix=f".{path.name}.")
        os.close(descriptor)
        temporary = Path(name)
        try:
            if place.file is not None:
                _copy_file(place.file, temporary, place)
            else:
                _copy_rows(engine, place, temporary)
            with temporary.open("rb") as copy:
                os.fsync(copy.fileno())
            temporary.replace(path)
            sync_folder(place.backups)
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        told = f"no backup could be made ({error.strerror}), so nothing was changed; make room"
        raise InputProblems([Problem(str(path), "no-backup", told)]) from error
    return path


def _stem(place: Place) -> str:
    return place.file.stem if place.file is not None else f"{place.url.host}-{place.url.database}"


def _copy_file(source: Path, target: Path, place: Place) -> None:
    with told_clearly(place):
        original, copy = sqlite3.connect(source), sqlite3.connect(target)
        try:
            copy.execute("PRAGMA synchronous = OFF")  # synced once, when it is complete
            original.backup(copy)
        finally:
            copy.close()
            original.close()


def _copy_rows(engine: Engine, place: Place, target: Path) -> None:
    with reading(engine, place) as connection, target.open("w", encoding="utf-8") as stream:
        there = MetaData()
        there.reflect(connection, only=lambda name, _: name in _TABLES)
        for name, table in sorted(there.tables.items()):
            for row in connection.execute(select(table)).mappings():
                stream.write(json.dumps({"table": name, **row}, default=str) + "\n")


def backups_of(place: Place) -> list[Path]:
    """Return the backups of this record, and copies that a crash left half made."""
    if not place.backups.is_dir():
        return []
    return sorted(
        path
        for path in place.backups.iterdir()
        if path.name.lstrip(".").startswith(f"{_stem(place)}.before-")
    )


def forget_in_backups(place: Place, token: str) -> int:
    """Take a client out of every backup; return from how many. Half-made copies are deleted."""
    touched = 0
    for path in backups_of(place):
        if path.name.startswith("."):
            path.unlink()
        elif path.suffix == ".sqlite3":
            touched += _forget_in_file(path, token, place)
        else:
            touched += _forget_in_rows(path, token)
    return touched


def _forget_in_file(path: Path, token: str, place: Place) -> bool:
    with told_clearly(place):
        copy = sqlite3.connect(path, isolation_level=None)
        try:
            copy.execute("PRAGMA secure_delete = ON")
            copy.execute("PRAGMA temp_store = MEMORY")
            found = copy.execute("SELECT id FROM client WHERE token = ?", (token,)).fetchone()
            if found is None:
                return False
            copy.execute("BEGIN IMMEDIATE")
            there = {name for (name,) in copy.execute("SELECT name FROM sqlite_master")}
            for table in there & set(_OF_CLIENTS):
                copy.execute(f"DELETE FROM {table} WHERE client_id = ?", found)  # noqa: S608 - our names
            copy.execute("DELETE FROM client WHERE id = ?", found)
            copy.execute("COMMIT")
            # Pages that were moved keep old bytes in their gaps; only a rewrite clears those.
            copy.execute("VACUUM")
            copy.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            copy.close()
    return True


def _forget_in_rows(path: Path, token: str) -> bool:
    rows = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    gone = {row["id"] for row in rows if row["table"] == "client" and row["token"] == token}
    if not gone:
        return False
    kept = [
        json.dumps(row) + "\n"
        for row in rows
        if not (row["table"] == "client" and row["id"] in gone)
        and not (row["table"] in _OF_CLIENTS and row["client_id"] in gone)
    ]
    write_atomically(path, "".join(kept))
    return True
