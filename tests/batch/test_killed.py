"""A batch or a worker of it killed with SIGKILL at any moment goes on without a lost or doubled plan."""

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

from assistant.batch.folder import LOG

ROOT = Path(__file__).parents[2]
LINES = 5
pytestmark = pytest.mark.skipif(os.name != "posix", reason="SIGKILL is of POSIX systems")


def command(folder: Path, out: str, workers: int, *more: str) -> list[str]:
    return [
        sys.executable, "-m", "assistant.cli.main", "batch", str(folder / "cases.jsonl"), "--out", str(folder / out),
        "--workers", str(workers), "--no-week", "--rules", str(ROOT / "tests/audit/small_book"), "--lines", str(LINES),
        *more,
    ]  # fmt: skip


def finish(folder: Path, out: str, workers: int) -> str:
    done = subprocess.run(
        command(folder, out, workers), cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.returncode == 0
    return done.stdout


def hears_control_c() -> None:
    """What is started in the background of a script is deaf to it from birth; a person at a terminal is not."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def start_and_stop(
    folder: Path, after: int, how: signal.Signals, workers: int, *more: str
) -> tuple[int, str]:
    """Stop a batch once it has made some parts more; Ctrl-C reaches its workers, too."""
    aim = after + len(parts(folder / "out"))
    process = subprocess.Popen(
        command(folder, "out", workers, *more), cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        text=True, start_new_session=True, preexec_fn=hears_control_c,  # noqa: PLW1509 - no thread runs here
    )  # fmt: skip
    deadline = time.monotonic() + 600
    while len(parts(folder / "out")) < aim:
        assert process.poll() is None, "it ended before it could be stopped"
        assert time.monotonic() < deadline
        time.sleep(0.001)
    (os.killpg if how is signal.SIGINT else os.kill)(process.pid, how)
    _, told = process.communicate(timeout=600)
    return process.returncode, told


def parts(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.parquet")}


def many(folder: Path, count: int) -> None:
    rows = [small(f"Client {n}", weight_kg=40 + n / 16) for n in range(count)]
    (folder / "cases.jsonl").write_text("\n".join(rows), "utf-8")


def killed_and_resumed(folder: Path, count: int, kills: list[int], workers: int) -> None:
    many(folder, count)
    for after in kills:
        code, _ = start_and_stop(folder, after, signal.SIGKILL, workers)
        assert code == -signal.SIGKILL
    told = finish(folder, "out", workers)
    assert f"{count} cases: {count} with a plan" in told
    reused = int(re.search(r"there already: (\d+)", told)[1])  # type: ignore[index]
    assert reused >= LINES * sum(kills), "what was done is not done again"
    finish(folder, "fresh", 0)
    assert len(parts(folder / "fresh")) == -(-count // LINES)
    assert parts(folder / "out") == parts(folder / "fresh")
    left = {path.name for path in (folder / "out").iterdir()} - parts(folder / "out").keys()
    assert left == {LOG}, "no half of a part is left"


def test_killed_and_resumed(tmp_path: Path) -> None:
    killed_and_resumed(tmp_path, 60, [3, 4], workers=1)


@pytest.mark.slow
def test_killed_and_resumed_many_times(tmp_path: Path) -> None:
    draw = random.Random(7)
    killed_and_resumed(tmp_path, 2400, [draw.randint(1, 8) for _ in range(20)], workers=2)


@pytest.mark.slow
@pytest.mark.parametrize("more", [(), ("--cluster", "local")], ids=["pool", "cluster"])
def test_stopped_by_hand(more: tuple[str, ...], tmp_path: Path) -> None:
    """Ctrl-C: one clear line, no traceback, and the same command goes on."""
    many(tmp_path, 3000)
    code, told = start_and_stop(tmp_path, 3, signal.SIGINT, 1, *more)
    assert code == 130
    assert told == "Stopped. The same command goes on from here.\n"


def test_a_worker_killed_in_the_middle_changes_no_byte(tmp_path: Path) -> None:
    """Workers of the real command are killed in turn while it runs; nothing else is done for it."""
    many(tmp_path, 300)
    process = subprocess.Popen(
        command(tmp_path, "out", 2),
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    for number in (1, 2):
        while len(parts(tmp_path / "out")) < 9 * number:
            assert process.poll() is None, "it ended before a worker could be killed"
            time.sleep(0.01)
        os.kill(workers_of(process.pid)[0], signal.SIGKILL)
    said, told = process.communicate(timeout=600)
    assert process.returncode == 0
    assert "300 cases: 300 with a plan" in said
    assert told.count("worker-ended: signal 9; tried again") >= 2
    finish(tmp_path, "fresh", 0)
    assert parts(tmp_path / "out") == parts(tmp_path / "fresh")


def workers_of(pid: int) -> list[int]:
    """The spawned workers; beside them runs one process of the standard library that keeps account."""
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split()
    return [int(c) for c in children if b"spawn_main" in Path(f"/proc/{c}/cmdline").read_bytes()]
