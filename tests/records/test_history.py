"""The history: appended to, never changed; any change by other hands shows."""

import datetime as dt
import hashlib
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.model.chain import START
from assistant.model.entries import MEASURES, Entry, Spot
from assistant.model.errors import InputProblems
from assistant.records.access import write_access
from assistant.records.chain import Line, NewLine
from assistant.records.projection import answers_line, entry_line, history_of, last_word, standing
from assistant.records.store import Moved, Records, open_records
from assistant.records.verify import verify

DAY = dt.date(2026, 1, 12)


@pytest.fixture
def opened(record: Path) -> Iterator[Records]:
    with open_records(str(record), DAY) as records:
        yield records


def weights(*values: float) -> list[NewLine]:
    return [
        entry_line(Entry("weight_kg", DAY - dt.timedelta(days=n), value), DAY)
        for n, value in enumerate(values)
    ]


def test_lines_come_back_as_they_were_said(opened: Records) -> None:
    client = opened.add("Ines Färrow", DAY, weights(63.4))
    client = opened.append(client, weights(63.5, 63.0000001))
    lines = opened.history(opened.client("ines farrow"))
    assert [line.value for line in lines] == [63.4, 63.5, 63.0000001]
    assert [line.number for line in lines] == [1, 2, 3]
    assert client.head == lines[-1].hash
    assert lines[0].previous == START


def test_a_hash_is_sha_256_of_plain_json(opened: Records) -> None:
    """FIPS 180-4 by the standard library, over the text written out by hand here."""
    client = opened.add("Ines Farrow", DAY, weights(63.4))
    said = (
        f'["{client.token}",1,"entry","2026-01-12","2026-01-12","weight_kg","",63.4,"","{START}"]'
    )
    assert client.head == hashlib.sha256(said.encode()).hexdigest()


def test_the_last_word_counts_and_the_history_keeps_both(opened: Records) -> None:
    client = opened.add("Ines Farrow", DAY, weights(63.4, 63.9))
    client = opened.append(client, weights(63.6))
    back = Entry("weight_kg", DAY - dt.timedelta(days=1), None)
    opened.append(client, [entry_line(back, DAY)])
    lines = opened.history(client)
    assert len(lines) == 4
    assert [entry.value for entry in last_word(lines).values()] == [63.6]


def test_what_was_said_later_is_not_known_before(opened: Records) -> None:
    client = opened.add("Ines Farrow", DAY, weights(63.4))
    later = DAY + dt.timedelta(days=7)
    opened.append(client, [entry_line(Entry("weight_kg", DAY, 62.0), later)])
    assert len(opened.history(client, until=DAY)) == 1
    assert len(opened.history(client, until=later)) == 2


def test_two_writers_who_read_the_same_state_cannot_both_go_on(opened: Records) -> None:
    client = opened.add("Ines Farrow", DAY, weights(63.4))
    opened.append(client, weights(63.5), unless_moved=True)
    with pytest.raises(Moved):
        opened.append(client, weights(63.6), unless_moved=True)
    assert opened.client("ines-farrow").lines == 2


def test_names(opened: Records) -> None:
    opened.add("Ines Farrow", DAY)
    for name, code in (
        ("ines FÁRROW", "name-taken"),
        ("", "bad-name"),
        ("two\nlines", "bad-name"),
        ("x" * 201, "bad-name"),
    ):
        with pytest.raises(InputProblems) as caught:
            opened.add(name, DAY)
        assert [problem.code for problem in caught.value.problems] == [code]
    with pytest.raises(InputProblems, match="did you mean `ines-farrow`"):
        opened.client("Ines Farow")
    opened.add("Ирина", DAY)
    assert opened.client("ирина").name == "Ирина"


def edits() -> Iterator[tuple[str, tuple[object, ...]]]:
    """Every single change somebody could make to a history of ten lines, as SQL."""
    others: dict[str, object] = {
        "kind": "answers", "said_on": "2026-01-11", "day": "2026-01-01", "measure": "girth_cm",
        "detail": "waist", "value": 50.0, "body": "{}", "previous": "1" * 64, "hash": "2" * 64,
        "number": 99,
    }  # fmt: skip
    for number in range(1, 11):
        for column, value in others.items():
            yield f"UPDATE history SET {column} = ? WHERE number = {number}", (value,)
        yield f"UPDATE history SET value = NULL WHERE number = {number}", ()
        yield f"DELETE FROM history WHERE number = {number}", ()
        yield f"DELETE FROM history WHERE number >= {number}", ()
        for other in {number % 10 + 1, 10} - {number}:
            swap = "UPDATE history SET value = CASE number WHEN {0} THEN {2} ELSE {1} END"
            values = (60.0 + number, 60.0 + other)
            yield swap.format(number, *values) + f" WHERE number IN ({number}, {other})", ()
    yield "DELETE FROM client", ()
    yield "DELETE FROM trail", ()
    yield "UPDATE trail SET lines = 3 WHERE event = 'added'", ()
    yield "UPDATE client SET token = ?", ("f" * 32,)
    yield "UPDATE client SET head = ?", ("f" * 64,)
    yield "UPDATE client SET lines = 9", ()


def test_every_change_by_other_hands_shows(record: Path) -> None:
    with open_records(str(record), DAY) as records:
        first = [
            entry_line(Entry("weight_kg", DAY - dt.timedelta(days=n), 60.0 + n), DAY)
            for n in range(1, 11)
        ]
        records.add("Ines Farrow", DAY, first)
        assert verify(records).problems == ()
        missed = []
        for change, values in edits():
            with closing(sqlite3.connect(record)) as other:
                before = list(other.iterdump())
                other.execute("PRAGMA foreign_keys = OFF")
                other.execute("PRAGMA synchronous = OFF")
                other.execute(change, values)
                other.commit()
                changed = list(other.iterdump()) != before
                problems = verify(records).problems
                if changed and not problems:
                    missed.append((change, values))
                other.executescript("DELETE FROM history; DELETE FROM client; DELETE FROM trail")
                rows = [
                    row
                    for row in before
                    if row.startswith(('INSERT INTO "hi', 'INSERT INTO "cl', 'INSERT INTO "tr'))
                ]
                other.executescript("".join(rows))
                other.commit()
        assert missed == []
        assert verify(records).problems == ()


def test_what_goes_into_the_hash_of_a_trail_stays_the_same(record: Path) -> None:
    """A record of an older whyplan must still be whole; SHA-256 of its JSON, written down here once more."""
    moment = dt.datetime(2026, 1, 12, 9, 30, tzinfo=dt.UTC)
    with open_records(str(record), DAY) as records:
        records.add("Ines Farrow", DAY)
        write_access(records, moment, who="Zoë Vale", role="coach", page="GET /desk", token=None)
    orders = {
        "trail": ("number", "event", "day", "subject", "lines", "head", "previous"),
        "access": ("number", "at", "who", "role", "page", "subject", "previous"),
    }
    with closing(sqlite3.connect(record)) as connection:
        for table, order in orders.items():
            rows = connection.execute(f"SELECT hash, {', '.join(order)} FROM {table}").fetchall()
            assert rows
            for kept, *said in rows:
                text = json.dumps(said, separators=(",", ":"), ensure_ascii=False)
                assert kept == hashlib.sha256(text.encode()).hexdigest()


values = st.floats(0, 500, allow_nan=False)
entries = st.builds(
    Entry,
    st.sampled_from(MEASURES),
    st.dates(dt.date(2025, 1, 1), DAY),
    st.one_of(values, st.none()),
    st.sampled_from(["", "waist", "knee", "squat_back_barbell"]),
    st.one_of(st.none(), st.integers(1, 30)),
    st.one_of(st.none(), st.integers(0, 5).map(float)),
)


@settings(max_examples=30, deadline=None)
@given(st.lists(entries, max_size=30))
def test_a_history_read_back_is_the_last_word_of_what_was_said(said: list[Entry]) -> None:
    """Compared with a plain dictionary: the later line about a spot wins."""
    lines = [
        Line(**vars(entry_line(entry, DAY)), number=n) for n, entry in enumerate(said, start=1)
    ]
    stands: dict[Spot, Entry] = {}
    for entry in said:
        stands[entry.spot] = entry
    stands = {spot: entry for spot, entry in stands.items() if entry.value is not None}
    assert last_word(lines) == stands
    read = history_of(lines, DAY)
    assert [(w.day, w.weight_kg) for w in read.weighings] == sorted(
        (e.day, e.value) for s, e in stands.items() if s.measure == "weight_kg"
    )
    assert len(read.top_sets) == sum(1 for spot in stands if spot.measure == "top_set")
    assert all(a.day <= b.day for a, b in zip(read.notes, read.notes[1:], strict=False))


def test_the_answer_about_self_harm_is_never_a_line() -> None:
    line = answers_line({"screen.self_harm_thoughts": False, "client.age_years": 31}, DAY)
    assert "self_harm" not in line.body
    made = Line(**vars(line), number=1)
    assert standing([made]).answers == {"client.age_years": 31}
    assert json.loads(line.body) == {"answers": {"client.age_years": 31}}
