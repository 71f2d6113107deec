"""What may happen to a worker: a native crash, a hang, a slip of ours, a full disk, a start that fails.

A native crash is played by the signal a broken engine would get (SIGSEGV, POSIX); nothing here breaks
a real engine.
"""

import argparse
import os
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import strange_renders
from lengths import first_by_default
from small_cases import small

from assistant.batch.folder import parts_in
from assistant.batch.maker import Setup
from assistant.batch.part import rows
from assistant.batch.pool import Crew, Pool
from assistant.batch.run import Batch, Tally, run_batch
from assistant.batch.worker import Task
from assistant.model.errors import EngineFault, InputProblems

pytestmark = pytest.mark.skipif(os.name != "posix", reason="crashes are played by POSIX signals")
NAMES = ["Ada", "crash on one engine", "Ben", "slip", "crash", "Cleo"]


def run(
    folder: Path,
    names: list[str],
    crew: Callable[[Setup], Crew] = lambda setup: Pool(setup, 1),
    seconds: float = 120.0,
    **changes: object,
) -> tuple[Tally, list[str]]:
    cases = folder / "cases.jsonl"
    cases.write_text("\n".join(small(name) for name in names) + "\n", "utf-8")
    kb = strange_renders.load(None)
    setup = Setup(
        "cases.jsonl",
        {"rule book": kb.content_hash, "form": "text"},
        strange_renders.load,
        strange_renders.render,
        argparse.Namespace(fate=folder / "fate"),
        folder / "out",
        "txt",
        seconds=seconds,
    )
    told: list[str] = []
    setup = replace(setup, **changes)  # type: ignore[arg-type]
    batch = Batch(cases, 8, setup, kb)
    return run_batch(batch, crew(setup), told.append, lambda _: None), told


def plans(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in sorted((folder / "out").glob("*.txt"))}


def problems(folder: Path) -> dict[int, str]:
    path = folder / "out" / "00000001-00000008.parquet"
    return {row["line"]: row["problem"] for row in rows(path) if row["problem"]}


@pytest.mark.parametrize("leaves_word", first_by_default([True, False]))
def test_whatever_a_case_does_the_others_get_their_plans(
    leaves_word: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the worker left word at which case it was, or the machine is gone and halves tell."""
    if not leaves_word:
        monkeypatch.setattr(Task, "mark", ".00000000-gone.at")
    tally, told = run(tmp_path, NAMES)
    made = plans(tmp_path)
    assert {name: text.partition(":")[0] for name, text in made.items()} == {
        "000001.txt": "Ada",
        "000002.txt": "crash on one engine",
        "000003.txt": "Ben",
        "000006.txt": "Cleo",
    }
    assert (tally.counts["plans"], tally.counts["without"], tally.reused) == (4, 2, 0)
    assert problems(tmp_path) == {
        4: "internal-error: ZeroDivisionError: division by zero in two lines; please report this case",
        5: "engine-crash: signal 11, on CLIPS, too; no plan",
    }
    assert sorted(tally.problems) == [
        f"cases.jsonl:{line}: {problem}" for line, problem in problems(tmp_path).items()
    ]
    assert made["000002.txt"].endswith(", clips\n"), "the last try is on CLIPS"
    assert made["000003.txt"].endswith(", default\n"), "others are made on the engine asked for"
    facts = made["000002.txt"].partition(": ")[2]
    assert facts.replace("clips", "default") == made["000003.txt"].partition(": ")[2]
    assert told[0] == "cases.jsonl:1 to 6: worker-ended: signal 11; tried again in pieces"
    assert [line for line in told if line.startswith("cases.jsonl:2: ")] == [
        "cases.jsonl:2: worker-ended: signal 11; tried on CLIPS"
    ]
    assert not [path.name for path in (tmp_path / "out").glob(".*0*")]

    again, told = run(tmp_path, NAMES)
    assert told == [], "what was set down is told again and not tried again"
    assert (again.reused, again.counts) == (4, tally.counts)
    assert sorted(again.problems) == sorted(tally.problems)


def test_a_worker_killed_by_chance_changes_no_byte(tmp_path: Path) -> None:
    """Its case is tried again on the same engine, and the pieces become the part that would have been."""
    names = ["Ada", "Ben", "killed once", "Cleo", "Dora"]
    _, told = run(tmp_path, names)
    assert len(told) == 1
    part = tmp_path / "out" / "00000001-00000008.parquet"
    once = part.read_bytes()
    part.unlink()
    _, told = run(tmp_path, names)
    assert told == []
    assert part.read_bytes() == once


def test_a_case_that_hangs_is_stopped(tmp_path: Path) -> None:
    tally, told = run(tmp_path, ["Ada", "hang", "Ben"], seconds=2.0)
    assert list(plans(tmp_path)) == ["000001.txt", "000003.txt"]
    assert tally.problems == [
        "cases.jsonl:2: engine-crash: not done after 2 seconds, on CLIPS, too; no plan"
    ]
    assert len(told) == 2


def test_a_full_disk_ends_the_batch_and_room_lets_it_go_on(tmp_path: Path) -> None:
    """A disk of its own, 256 kB."""
    out = tmp_path / "out"
    out.mkdir()
    disk = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(out)],
        capture_output=True,
        check=False,
    )
    if disk.returncode:
        pytest.skip("no disk can be mounted here")
    try:
        (out / "other").write_bytes(b"x" * 240_000)
        with pytest.raises(InputProblems, match="No space left on device"):
            run(tmp_path, ["Ada", "Ben"] * 20)
        assert len(parts_in(out)) < 5
        (out / "other").unlink()
        tally, _ = run(tmp_path, ["Ada", "Ben"] * 20)
        assert tally.counts == {"plans": 40, "stopped": 0, "without": 0}
        assert len(plans(tmp_path)) == 40
    finally:
        subprocess.run(["umount", str(out)], check=True)


def test_workers_that_cannot_start_end_the_batch(tmp_path: Path) -> None:
    with pytest.raises(EngineFault, match=r"no worker can be started \(exit code 3\)"):
        run(tmp_path, ["Ada", "Ben", "Cleo"], load=strange_renders.load_and_die)
