"""The same record on a real PostgreSQL, started for this test from Debian's package."""

import datetime as dt
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from own_postgres import new_database, running

from assistant.cli.main import main
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems
from assistant.records.forget import forget
from assistant.records.migrate import migrate
from assistant.records.projection import entry_line
from assistant.records.store import Moved, open_records
from assistant.records.verify import verify

DAY = dt.date(2026, 1, 12)
PROJECT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """The address of a database on a server of its own."""
    with running() as address:
        yield address


@pytest.fixture
def database(server: str, request: pytest.FixtureRequest) -> str:
    """A fresh database for each test."""
    return new_database(server, request.node.name)


@pytest.fixture(autouse=True)
def _own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def weight(value: float, detail: str = "") -> Entry:
    return Entry("weight_kg", DAY, value, detail)


def test_a_client_from_first_to_last(database: str, capsys: pytest.CaptureFixture[str]) -> None:
    case = PROJECT / "cases" / "four_days.yaml"
    options = ["--db", database, "--as-of", "2026-01-12"]
    assert main(["client", "add", "Ines Farrow", "--case", str(case), *options]) == 0
    assert main(["client", "show", "ines-farrow", *options]) == 0
    assert main(["today", *options]) == 0
    assert main(["client", "export", "ines-farrow", *options]) == 0
    assert main(["client", "check", *options]) == 0
    assert "History intact: 1 clients, 3 lines" in capsys.readouterr().out
    assert main(["client", "forget", "ines-farrow", "--yes", *options]) == 0
    assert main(["client", "list", *options]) == 0
    assert "empty" in capsys.readouterr().out


def test_numbers_and_hashes_come_back_unchanged(database: str) -> None:
    with open_records(database, DAY) as records:
        client = records.add("Ines Farrow", DAY)
        said = [weight(value) for value in (63.4, 1 / 3, 63.5029318, 1e-9)]
        records.append(client, [entry_line(entry, DAY) for entry in said])
        assert [line.value for line in records.history(client)] == [e.value for e in said]
        assert verify(records).problems == ()
        with records.engine.begin() as connection:
            connection.exec_driver_sql("UPDATE history SET value = 63.6 WHERE number = 1")
        assert [p.code for p in verify(records).problems] == ["history-changed"]


def test_two_clients_added_at_once_are_both_there(database: str) -> None:
    """Both leave a row in one trail; neither name is taken."""
    names = [f"Client Number{number}" for number in range(12)]
    with open_records(database, DAY) as records:
        with ThreadPoolExecutor(4) as pool:
            list(pool.map(lambda name: records.add(name, DAY), names))
        assert {client.name for client in records.clients()} == set(names)
        assert verify(records).problems == ()


@pytest.mark.slow
def test_writers_take_turns(database: str) -> None:
    with open_records(database, DAY) as records:
        client = records.add("Ines Farrow", DAY)
        records.append(client, [entry_line(weight(63.4), DAY)])
        with pytest.raises(Moved):
            records.append(client, [entry_line(weight(63.5), DAY)], unless_moved=True)
        with pytest.raises(InputProblems, match="name-taken"):
            records.add("ines farrow", DAY)
    script = (
        "import sys, datetime as dt\n"
        "from assistant.model.entries import Entry\n"
        "from assistant.records.projection import entry_line\n"
        "from assistant.records.store import open_records\n"
        "day = dt.date(2026, 1, 12)\n"
        "with open_records(sys.argv[1], day) as records:\n"
        "    client = records.client('ines-farrow')\n"
        "    for n in range(40):\n"
        "        entry = Entry('weight_kg', day, 60.0 + n, sys.argv[2])\n"
        "        records.append(client, [entry_line(entry, day)])\n"
    )
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", script, database, mark],
            env={**os.environ, "PYTHONPATH": str(PROJECT)},
        )
        for mark in ("one", "two")
    ]
    assert [program.wait(timeout=120) for program in programs] == [0, 0]
    with open_records(database, DAY) as records:
        assert verify(records).problems == ()
        assert records.client("ines-farrow").lines == 81


def test_an_older_database_is_backed_up_and_forgetting_reaches_the_backup(database: str) -> None:
    with open_records(database, DAY) as records:
        client = records.add("Ines Farrow", DAY, [entry_line(weight(63.4), DAY)])
        records.add("Somebody Else", DAY)
        with records.engine.begin() as connection:
            connection.exec_driver_sql("DROP INDEX history_by_day")
            connection.exec_driver_sql("DROP TABLE account, client_link, access")
            connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
        backup = migrate(records.engine, records.place, DAY)
        assert backup is not None
        assert "Ines Farrow" in backup.read_text("utf-8")
        assert verify(records).problems == ()
        told = forget(records, client, DAY)
        assert told.backups == 1
        assert "Ines Farrow" not in backup.read_text("utf-8")
        assert "Somebody Else" in backup.read_text("utf-8")
        assert verify(records).problems == ()


@pytest.mark.slow
def test_a_killed_writer_loses_no_confirmed_line(database: str) -> None:
    with open_records(database, DAY) as records:
        records.add("Ines Farrow", DAY)
    script = (
        "import sys, datetime as dt\n"
        "from assistant.model.entries import Entry\n"
        "from assistant.records.projection import entry_line\n"
        "from assistant.records.store import open_records\n"
        "day = dt.date(2026, 1, 12)\n"
        "with open_records(sys.argv[1], day) as records:\n"
        "    client = records.client('ines-farrow')\n"
        "    while True:\n"
        "        client = records.append(client, [entry_line(Entry('weight_kg', day, 60.0), day)])\n"
        "        print(client.lines, flush=True)\n"
    )
    for _ in range(3):
        program = subprocess.Popen(
            [sys.executable, "-c", script, database],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(PROJECT)},
        )
        assert program.stdout is not None
        program.stdout.readline()
        time.sleep(0.05)
        program.kill()
        confirmed = [int(line) for line in program.stdout.read().splitlines() if line]
        program.wait()
        program.stdout.close()
        with open_records(database, DAY) as records:
            assert records.client("ines-farrow").lines >= max(confirmed, default=1)
            assert verify(records).problems == ()
