"""The file of a log: a lock between programs, a crash at any byte, files that are no log."""

import json
import multiprocessing
import os
import stat
from pathlib import Path

import pytest

from assistant.audit import store
from assistant.audit.chain import check_chain
from assistant.audit.store import append, read_log
from assistant.model.errors import InputProblems

BODY = {"answers": {"client.age_years": 31}, "kind": "decision"}


def add(path: Path, count: int = 1) -> None:
    for _ in range(count):
        append(path, lambda: BODY)


def code_of(path: Path) -> str:
    before = path.read_bytes()
    with pytest.raises(InputProblems) as refused:
        add(path)
    assert path.read_bytes() == before, "a file that is refused stays as it was"
    assert not list(path.parent.glob("*.torn"))
    (problem,) = refused.value.problems
    return problem.code


def test_entries_follow_each_other_and_only_the_owner_may_read(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    first = append(path, lambda: BODY)
    second = append(path, lambda: BODY)
    assert (first.link.sequence, second.link.sequence) == (1, 2)
    chain = read_log(path, second.link)
    assert len(chain.entries) == 2
    assert not chain.problems
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        path.chmod(0o644)
        add(path)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_crash_at_any_byte_of_a_write_loses_nothing_and_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every prefix of the third entry, as a crash would leave it."""
    monkeypatch.setattr(store.os, "fsync", lambda _: None)  # hundreds of them take their time
    whole = tmp_path / "whole.jsonl"
    add(whole, 3)
    data = whole.read_bytes()
    start = data[:-1].rfind(b"\n") + 1
    third = data[start:]
    for length in range(len(third) + 1):
        path = tmp_path / "log.jsonl"
        path.write_bytes(data[: start + length])
        beside = tmp_path / "log.jsonl.torn"
        beside.unlink(missing_ok=True)
        told = check_chain(path.read_bytes(), "log").problems
        done = append(path, lambda: BODY)
        chain = read_log(path, done.link)
        assert not chain.problems
        is_torn = 0 < length < len(third) - 1
        assert beside.exists() is is_torn
        if is_torn:
            assert beside.read_bytes() == third[:length] + b"\n"
            assert chain.entries[-1]["set_aside"]["bytes"] == length
        assert bool(done.notes) is bool(told) is (0 < length < len(third))
        assert len(chain.entries) == (4 if length >= len(third) - 1 else 3)


def test_a_first_entry_cut_short_is_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    add(path)
    line = path.read_bytes()
    path.write_bytes(line[:30])
    add(path)
    chain = read_log(path)
    assert not chain.problems
    assert len(chain.entries) == 1
    assert (tmp_path / "log.jsonl.torn").read_bytes() == line[:30] + b"\n"


@pytest.mark.parametrize(
    "text",
    ["name: Ines Farrow\nas_of: 2026-01-12\n", "name: no end of line", '{"resourceType": "Patient"}',
     '{"resourceType": "Patient"}\n', "\n", "{}\n", '{"answers": {"client.age_years": 31}}'],
)  # fmt: skip
def test_a_file_that_is_no_log_is_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(text, "utf-8")
    assert code_of(path) == "not-a-log"


def test_nothing_is_added_to_a_damaged_end(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    add(path, 2)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b":31", b":32"))
    assert code_of(path) == "changed-line"
    path.write_bytes(whole.replace(b":31", b":32") + b'{"answers":{"cut')
    assert code_of(path) == "changed-line"


def test_a_folder_or_a_missing_folder_is_one_clear_line(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none" / "log.jsonl"):
        with pytest.raises(InputProblems, match="not-writable"):
            add(path)
    with pytest.raises(InputProblems, match="missing-file"):
        read_log(tmp_path / "log.jsonl")


def test_a_full_disk_leaves_the_log_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.jsonl"
    add(path, 2)
    before = path.read_bytes()
    real, writes = os.write, []

    def short_then_full(descriptor: int, data: bytes) -> int:
        writes.append(data)
        if len(writes) > 1:
            raise OSError(28, "No space left on device")
        return real(descriptor, data[:20])

    monkeypatch.setattr(store.os, "write", short_then_full)
    with pytest.raises(InputProblems, match="No space left"):
        add(path)
    monkeypatch.undo()
    assert path.read_bytes() == before
    add(path)
    assert not read_log(path).problems


def _add_many(path: str, count: int, barrier: "multiprocessing.synchronize.Barrier") -> None:
    barrier.wait(60)
    for number in range(count):
        append(Path(path), lambda: {**BODY, "by": os.getpid(), "number": number})  # noqa: B023


def test_two_programs_write_one_after_the_other(tmp_path: Path) -> None:
    path, each = tmp_path / "log.jsonl", 25
    context = multiprocessing.get_context("spawn")
    barrier = context.Barrier(3)
    workers = [context.Process(target=_add_many, args=(str(path), each, barrier)) for _ in range(3)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(120)
        assert worker.exitcode == 0
    chain = read_log(path)
    assert not chain.problems
    assert len(chain.entries) == 3 * each
    for process in {entry["by"] for entry in chain.entries}:
        numbers = [entry["number"] for entry in chain.entries if entry["by"] == process]
        assert numbers == list(range(each))


def test_a_log_held_by_another_program_is_one_clear_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl = pytest.importorskip("fcntl")
    path = tmp_path / "log.jsonl"
    add(path)
    monkeypatch.setattr(store, "LOCK_SECONDS", 0.1)
    with path.open("rb") as stream:
        fcntl.flock(stream, fcntl.LOCK_EX)
        with pytest.raises(InputProblems, match="log-in-use"):
            add(path)
        with pytest.raises(InputProblems, match="log-in-use"):
            read_log(path)


def test_a_line_longer_than_a_chunk_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    for _ in range(3):
        append(path, lambda: {**BODY, "text": "x" * 200_000})
    chain = read_log(path)
    assert not chain.problems
    assert [entry["sequence"] for entry in chain.entries] == [1, 2, 3]
    assert json.loads(path.read_bytes().splitlines()[2])["text"] == "x" * 200_000
