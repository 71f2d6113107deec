"""kill -9 at random moments: no confirmed line is lost, the record opens, its hashes are intact."""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from lengths import at_length
from old_records import DAY, make_old_record

from assistant.model.version import Version
from assistant.records.chain import ANSWERS, FACTS, Line
from assistant.records.store import open_records
from assistant.records.verify import verify
from assistant.records.versions import versions_of

CHILD = Path(__file__).with_name("killed_child.py")
PROJECT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(os.name != "posix", reason="kill -9 is a POSIX signal")


# Lines that are written at once with a version: the wish, what was concluded, the plan.
A_VERSION = 3


def whole_versions(history: list[Line]) -> tuple[Version, ...]:
    """Return the versions that the child made; each is there as a whole, with the edit it came from."""
    made = [version for version in versions_of(history) if version.cause == "edit"]
    for version in made:
        assert "week" in version.digest
        assert "dose.sets_per_week[lats]" in version.facts
    wishes = [line for line in history if line.kind == ANSWERS and '"likes"' in line.body]
    rest = [line for line in history if line.kind == FACTS]
    assert len(made) == len(wishes) == len(rest)
    return tuple(made)


class Tally:
    """What the kills hit."""

    def __init__(self) -> None:
        self.kills = self.early = self.in_migration = self.in_checkin = self.lines = 0
        self.versions = 0


class Killer:
    """The process that forks a child for each kill."""

    def __init__(self, folder: Path) -> None:
        self._confirmed = folder / "confirmed"
        self._server = subprocess.Popen(
            [sys.executable, str(CHILD)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(PROJECT)},
        )

    def close(self) -> None:
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._server.stdin.close()
        self._server.wait()
        self._server.stdout.close()

    def work_and_kill(self, path: Path, wait_s: float, *, writing: bool) -> list[int]:
        """Let a child work on a record for a while, kill it; return the lines it saw confirmed."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        self._confirmed.write_text("")
        self._server.stdin.write(f"{path}\t{self._confirmed}\n")
        self._server.stdin.flush()
        child = int(self._server.stdout.readline())
        patience = time.monotonic() + 60
        while writing and time.monotonic() < patience and not self._confirmed.stat().st_size:
            time.sleep(0.002)  # a busy machine may take long to come to the first line
        time.sleep(wait_s)
        os.kill(child, signal.SIGKILL)
        assert int(self._server.stdout.readline()) == signal.SIGKILL
        return [int(line) for line in self._confirmed.read_text().splitlines()]


def kill_once(killer: Killer, path: Path, wait_s: float, tally: Tally, *, writing: bool) -> None:
    """Start a child, let it work for a while, kill it, and look at what is left."""
    before = _lines(path)
    complete = killer.work_and_kill(path, wait_s, writing=writing)
    confirmed = max(complete, default=before)
    version_left = _version(path)
    with open_records(str(path), DAY) as records:
        checked = verify(records)
        assert checked.problems == ()
        client = records.client("ines-farrow")
        # A line may be on the disk that nobody was told about yet; never the other way round.
        assert client.lines - confirmed in {0, 1, A_VERSION}
        history = records.history(client)
        assert len(history) == client.lines
        tally.versions += len(whole_versions(history))
    tally.kills += 1
    tally.lines += len(complete)
    if version_left == "0001":
        tally.in_migration += 1
    elif complete:
        tally.in_checkin += 1
    else:
        tally.early += 1


def _lines(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("SELECT lines FROM client").fetchone()[0])


def _version(path: Path) -> str:
    with closing(sqlite3.connect(path)) as connection:
        return str(connection.execute("SELECT version_num FROM alembic_version").fetchone()[0])


def kill_many(folder: Path, kills: int, seed: int) -> Tally:
    chance, tally = random.Random(seed), Tally()
    old = folder / "old.sqlite3"
    make_old_record(old)
    path = folder / "record.sqlite3"
    killer = Killer(folder)
    for number in range(kills):
        if number % 2 == 0:  # every other child starts with a migration
            for left in folder.glob("record.sqlite3*"):
                left.unlink()
            shutil.copy(old, path)
            wait = chance.uniform(0.0, 0.12)
        else:
            wait = chance.uniform(0.0, 0.05)  # after the first confirmed line
        kill_once(killer, path, wait, tally, writing=number % 2 == 1)
    killer.close()
    return tally


def test_ten_kills_lose_no_confirmed_line(tmp_path: Path) -> None:
    tally = kill_many(tmp_path, 10, seed=1)
    assert tally.kills == 10
    assert tally.lines > 0
    assert tally.versions > 0


@pytest.mark.slow
def test_many_kills_lose_no_confirmed_line(tmp_path: Path) -> None:
    kills = at_length(1000, in_ci=100)
    tally = kill_many(tmp_path, kills, seed=2)
    print(vars(tally))
    assert tally.kills == kills
    assert tally.in_migration > 0
    assert tally.in_checkin > 0


def test_a_lost_line_would_be_seen(tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_old_record(path)
    with open_records(str(path), DAY) as records:
        assert verify(records).problems == ()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM history WHERE number = 20")
        connection.commit()
    with open_records(str(path), DAY) as records:
        assert [p.code for p in verify(records).problems] == ["history-changed"]
