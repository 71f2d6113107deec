"""Records as an older whyplan left them, made by its own migrations."""

import datetime as dt
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import insert

from assistant.model.chain import START
from assistant.records.chain import NewLine, line_hash, subject_of
from assistant.records.connect import engine_of, make_file, place_of, writing
from assistant.records.migrate import MIGRATIONS
from assistant.records.schema import CLIENT, HISTORY, TRAIL
from assistant.records.trail import append_row

DAY = dt.date(2026, 1, 12)


def make_old_record(path: Path, version: str = "0001", lines: int = 20) -> None:
    """Make a record whose tables have an older version, with one client."""
    place = place_of(str(path))
    make_file(place)
    engine = engine_of(place)
    with writing(engine, place) as connection:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        config.attributes["connection"] = connection
        command.upgrade(config, version)
        token, previous = "0123456789abcdef" * 2, START
        rows = []
        for number in range(1, lines + 1):
            line = NewLine("entry", DAY, DAY - dt.timedelta(days=number), "weight_kg", "", 63.5)
            made = line_hash(token, number, line, previous)
            told = {"value": line.value, "body": "", "previous": previous, "hash": made}
            rows.append(
                {
                    "client_id": 1, "number": number, "kind": "entry", "said_on": DAY,
                    "day": line.day, "measure": "weight_kg", "detail": "", **told,
                }
            )  # fmt: skip
            previous = made
        connection.execute(
            insert(CLIENT).values(
                id=1, token=token, handle="ines-farrow", name="Ines Farrow", added_on=DAY,
                lines=lines, head=previous,
            )
        )  # fmt: skip
        connection.execute(insert(HISTORY), rows)
        left = {"subject": subject_of(token), "lines": lines, "head": previous}
        append_row(connection, TRAIL, event="added", day=DAY, **left)
    engine.dispose()
