"""A team's server on a real PostgreSQL: people at once, one chain of looks, and no secret in the database."""

import dataclasses
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from own_postgres import new_database, running
from sqlalchemy import MetaData, select
from team_support import COACH, PASSWORD, TRAINER, Team
from web_support import with_clients

from assistant.records.access import accesses, trail_of_accesses
from assistant.records.forget import forget
from assistant.records.schema import METADATA
from assistant.records.verify import verify
from assistant.web.app import create_app

LOOKS, AT_ONCE = 12, 4


@pytest.fixture
def team(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Team]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with running() as server:
        made = Team(tmp_path / "team")
        made.record = new_database(server, "team")  # type: ignore[assignment] # an address, not a file
        made.serving = dataclasses.replace(made.serving, db=str(made.record))
        made.app = create_app(made.serving, made.sessions)
        yield made


def test_a_team_on_a_database_server(team: Team) -> None:
    one, two = with_clients(team, "four_days", "older_lifter")
    with team.open() as door:
        team.add_people(door)
        records = team.records(door)
        with records.engine.connect() as connection:
            assert compare_metadata(MigrationContext.configure(connection), METADATA) == []
        coach, trainer = team.signed_in(door, COACH), team.signed_in(door, TRAINER)
        key = team.link_for(coach, one)
        client = team.arrived(door, key)
        assert client.get("/me").status_code == 200
        for odd in ("\x00", "a\x00b", "é" * 100):
            assert door.post("/link", data={"key": odd}).status_code == 403
            wrong = team.another(door).post("/signin", data={"name": odd, "password": odd})
            assert wrong.status_code in {403, 429}
            team.clock.seconds += 61
        # Many browsers at once: every look has its line, and the chain is one.
        before = trail_of_accesses(records)[0]
        browsers = [coach, trainer, client]
        paths = [f"/desk/c/{two}/link", f"/desk/c/{one}/link", "/me/trail"]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            asked = [pool.submit(b.get, p) for _ in range(LOOKS // 3) for b, p in zip(browsers, paths, strict=True)]  # fmt: skip
            assert {each.result().status_code for each in asked} == {200}
        count, _, problems = trail_of_accesses(records)
        assert (count, problems) == (before + LOOKS, ())
        # Two links made at once: one of them is good.
        with ThreadPoolExecutor(2) as pool:
            keys = list(pool.map(lambda by: team.link_for(by, two), (coach, trainer)))
        opened = [team.another(door).post("/link", data={"key": each}).status_code for each in keys]
        assert sorted(opened) == [200, 403]
        assert_no_secret(team, door, [key, PASSWORD, *keys])
        person = next(each for each in records.clients() if each.token == one)
        forget(records, person, team.clock.today)
        assert client.get("/me").url.path == "/closed"
        assert verify(records).problems == ()
        assert one not in str(accesses(records, most=1000))


def assert_no_secret(team: Team, door: object, secrets: list[str]) -> None:
    records = team.records(door)  # type: ignore[arg-type]
    with records.engine.connect() as connection:
        there = MetaData()
        there.reflect(connection)
        dump = "\n".join(
            str(row) for table in there.tables.values() for row in connection.execute(select(table))
        )
    assert "$argon2id$" in dump
    assert not [secret for secret in secrets if secret in dump]
