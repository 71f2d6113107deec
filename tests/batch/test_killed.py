"""A batch killed with SIGKILL at any moment goes on without a lost or doubled plan."""

import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_cases import small

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of POSIX systems")


def command(folder: Path, out: str, workers: int) -> list[str]:
    return [
        sys.executable, "-m", "assistant.cli.main", "batch", str(folder / "cases.jsonl"), "--out", str(folder / out),
        "--workers", str(workers), "--no-week", "--rules", str(ROOT / "tests/audit/small_book"),
    ]  # fmt: skip


def finish(folder: Path, out: str, workers: int) -> str:
    done = subprocess.run(
        command(folder, out, workers), cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.returncode == 0
    return done.stdout


def start_and_stop(folder: Path, after: int, how: signal.Signals, workers: int) -> tuple[int, str]:
    """Stop a batch once its journal has grown by some lines; the workers are left to themselves."""
    journal = folder / "out/batch.jsonl"
    aim = after + (journal.read_bytes().count(b"\n") if journal.exists() else 0)
    process = subprocess.Popen(
        command(folder, "out", workers), cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    deadline = time.monotonic() + 600
    while not journal.exists() or journal.read_bytes().count(b"\n") < aim:
        assert process.poll() is None, "it ended before it could be stopped"
        assert time.monotonic() < deadline
        time.sleep(0.001)
    process.send_signal(how)
    _, told = process.communicate(timeout=600)
    return process.returncode, told


def plans(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.name != "batch.jsonl"}


def killed_and_resumed(folder: Path, count: int, kills: list[int], workers: int) -> None:
    rows = [small(f"Client {n}", weight_kg=40 + n / 16) for n in range(count)]
    (folder / "cases.jsonl").write_text("\n".join(rows), "utf-8")
    for after in kills:
        code, _ = start_and_stop(folder, after, signal.SIGKILL, workers)
        assert code == -signal.SIGKILL
    told = finish(folder, "out", workers)
    assert f"{count} cases: {count} with a plan" in told
    reused = int(re.search(r"there already: (\d+)", told)[1])  # type: ignore[index]
    assert reused >= sum(kills) - len(kills), "what was done is not done again"
    finish(folder, "fresh", 0)
    assert len(plans(folder / "fresh")) == count
    assert plans(folder / "out") == plans(folder / "fresh")
    journal = [json.loads(line) for line in (folder / "out/batch.jsonl").read_bytes().splitlines()]
    lines = [entry["line"] for entry in journal[1:]]
    assert sorted(lines) == list(range(1, count + 1)), "each plan is in the journal once"


def test_killed_and_resumed(tmp_path: Path) -> None:
    killed_and_resumed(tmp_path, 90, [20, 35], workers=1)


@pytest.mark.slow
def test_killed_and_resumed_many_times(tmp_path: Path) -> None:
    draw = random.Random(7)
    killed_and_resumed(tmp_path, 2400, [draw.randint(2, 40) for _ in range(20)], workers=2)


@pytest.mark.slow
def test_stopped_by_hand(tmp_path: Path) -> None:
    """Ctrl-C: one clear line, no traceback, and the same command goes on."""
    (tmp_path / "cases.jsonl").write_text(
        "\n".join(small(f"Client {n}") for n in range(3000)), "utf-8"
    )
    code, told = start_and_stop(tmp_path, 3, signal.SIGINT, 1)
    assert code == 130
    assert told == "Stopped. The same command goes on from here.\n"
