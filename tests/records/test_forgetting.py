"""Forgotten means gone: no byte of it in any file the program made."""

import datetime as dt
from pathlib import Path

from old_records import make_old_record

from assistant.model.entries import Entry
from assistant.records.chain import NewLine
from assistant.records.forget import forget
from assistant.records.projection import entry_line
from assistant.records.store import open_records
from assistant.records.verify import verify

DAY = dt.date(2026, 1, 12)
MARK = "zwetschgenknoedel"  # a word that stands in no other file


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def marked_lines(count: int) -> list[NewLine]:
    marked = [NewLine("answers", DAY, DAY, body=f'{{"answers": {{"x": "{MARK} {n}"}}}}')
              for n in range(count)]  # fmt: skip
    weights = [
        entry_line(Entry("weight_kg", DAY - dt.timedelta(days=n), 63.0), DAY) for n in range(count)
    ]
    return [line for pair in zip(marked, weights, strict=True) for line in pair]


def test_a_forgotten_client_leaves_no_byte(record: Path) -> None:
    with open_records(str(record), DAY) as records:
        kept = records.add("Somebody Else", DAY, marked_lines(1)[1:])
        gone = records.add(f"Client {MARK}", DAY, marked_lines(300))
        for _ in range(30):  # pages are moved about as the other client's history grows
            kept = records.append(kept, marked_lines(20)[1::2])
            gone = records.append(gone, marked_lines(3))
        token = gone.token
        assert any(MARK.encode() in data for data in bytes_of(record.parent).values())
        told = forget(records, gone, DAY)
        assert told.lines == 600 + 30 * 6
        assert verify(records).problems == ()
        assert [client.name for client in records.clients()] == ["Somebody Else"]
        for name, data in bytes_of(record.parent).items():
            assert MARK.encode() not in data, name
            assert token.encode() not in data, name


def test_a_forgotten_client_leaves_the_backups_too(record: Path) -> None:
    record.parent.mkdir(mode=0o700)
    make_old_record(record)
    half_made = record.parent / "backups" / ".records.before-0001.sqlite3.left-by-a-crash"
    with open_records(str(record), DAY) as records:
        assert records.backup is not None
        half_made.write_bytes(b"Ines Farrow")
        client = records.client("ines-farrow")
        records.add("Somebody Else", DAY)
        assert b"Ines Farrow" in records.backup.read_bytes()
        told = forget(records, client, DAY)
        assert told.backups == 1
        assert records.backup.exists()
        for name, data in bytes_of(record.parent).items():
            assert b"Ines Farrow" not in data, name
            assert b"ines-farrow" not in data, name
            assert client.token.encode() not in data, name


def test_the_trail_keeps_hashes_and_counts_alone(record: Path) -> None:
    with open_records(str(record), DAY) as records:
        client = records.add("Ines Farrow", DAY, marked_lines(2))
        forget(records, client, DAY)
        with records.engine.connect() as connection:
            rows = connection.exec_driver_sql("SELECT event, subject, lines, head FROM trail")
            events = {row[0]: row for row in rows}
    assert events["forgotten"][1] == events["added"][1]
    assert events["forgotten"][2:] == (4, client.head)
    assert len(events["forgotten"][1]) == 64


def test_a_client_who_comes_back_is_a_new_one(record: Path) -> None:
    with open_records(str(record), DAY) as records:
        first = records.add("Ines Farrow", DAY, marked_lines(1))
        forget(records, first, DAY)
        second = records.add("Ines Farrow", DAY, marked_lines(1))
        assert second.id != first.id
        assert second.head != first.head
        assert verify(records).problems == ()
