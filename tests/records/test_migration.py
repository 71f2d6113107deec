"""Older, newer and foreign databases: a backup first, or nothing touched and one clear line."""

import datetime as dt
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from old_records import make_old_record
from record_support import Command

from assistant.model.errors import InputProblems
from assistant.records import migrate as migrations
from assistant.records.migrate import MIGRATIONS, known_versions
from assistant.records.schema import METADATA, VERSION
from assistant.records.store import open_records
from assistant.records.verify import verify

DAY = dt.date(2026, 1, 12)


def dump(path: Path, tables: tuple[str, ...] = ("client", "history")) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return [
            row for row in connection.iterdump() if row.startswith(tuple(f'INSERT INTO "{t}"' for t in tables))
        ]  # fmt: skip


def test_the_version_in_the_code_is_that_of_the_last_step() -> None:
    assert ScriptDirectory(str(MIGRATIONS)).get_current_head() == VERSION
    assert known_versions()[-1] == VERSION


def test_the_steps_make_the_tables_the_code_knows(record: Path) -> None:
    """Compared by the migration library itself."""
    with open_records(str(record), DAY) as records, records.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []


def test_an_older_record_is_backed_up_then_brought_up_to_date(record: Path) -> None:
    record.parent.mkdir()
    make_old_record(record)
    before = dump(record)
    with open_records(str(record), DAY) as records:
        assert records.backup is not None
        assert dump(records.backup) == before
        assert records.backup.stat().st_mode & 0o077 == 0
        assert verify(records).problems == ()
        assert [c.name for c in records.clients()] == ["Ines Farrow"]
    assert dump(record) == before
    with closing(sqlite3.connect(record)) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'index'")
        assert ("history_by_day",) in names.fetchall()
    with open_records(str(record), DAY) as records:
        assert records.backup is None  # once is enough


def test_a_step_that_fails_leaves_the_old_record(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record.parent.mkdir()
    make_old_record(record)
    before = dump(record, ("client", "history", "trail", "alembic_version"))

    def fails(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(migrations, "append_row", fails)  # after the last step
    with pytest.raises(InputProblems, match="disk-full"), open_records(str(record), DAY):
        pass
    assert dump(record, ("client", "history", "trail", "alembic_version")) == before
    monkeypatch.undo()
    with open_records(str(record), DAY) as records:
        assert verify(records).problems == ()


def test_without_a_backup_nothing_is_changed(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record.parent.mkdir()
    make_old_record(record)
    before = dump(record, ("client", "history", "trail", "alembic_version"))

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", no_room)
    with pytest.raises(InputProblems, match="no-backup"), open_records(str(record), DAY):
        pass
    assert dump(record, ("client", "history", "trail", "alembic_version")) == before
    assert list((record.parent / "backups").iterdir()) == []


def test_a_newer_record_is_left_alone(
    whyplan: Command, ines: str, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ines
    with closing(sqlite3.connect(record)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0007'")
        connection.commit()
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = record.read_bytes()
    for words in (("client", "list"), ("today",), ("client", "check"), ("client", "show", ines)):
        assert whyplan(*words) == 2
        told = capsys.readouterr().err
        assert told.count("\n") == 1
        assert "newer-database" in told
        assert "0007" in told
    assert record.read_bytes() == before
    assert [p.name for p in record.parent.iterdir()] == [record.name]


def test_what_is_no_record_is_left_alone(
    whyplan: Command, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record.parent.mkdir()
    record.write_text("my shopping list\n" * 100)
    assert whyplan("client", "list") == 2
    assert "not-a-record" in capsys.readouterr().err
    assert record.read_text() == "my shopping list\n" * 100
    record.unlink()
    with closing(sqlite3.connect(record)) as connection:
        connection.execute("CREATE TABLE shopping (item)")
        connection.commit()
    before = dump(record, ("shopping",))
    assert whyplan("client", "list") == 2
    assert "not-a-record" in capsys.readouterr().err
    assert dump(record, ("shopping",)) == before
