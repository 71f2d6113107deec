"""What may happen to a worker: a native crash, a hang, a slip of ours, a start that fails.

A native crash is played by the signal a broken engine would get (SIGSEGV, POSIX); nothing here breaks
a real engine.
"""

import argparse
import os
from pathlib import Path

import pytest
import strange_renders
from small_cases import small

from assistant.batch.maker import Setup
from assistant.batch.run import Batch, Tally, run_batch
from assistant.model.errors import EngineFault

pytestmark = pytest.mark.skipif(os.name != "posix", reason="crashes are played by POSIX signals")
NAMES = ["Ada", "crash on one engine", "Ben", "slip", "crash", "Cleo"]


def run(
    folder: Path, names: list[str], workers: int = 1, seconds: float = 120.0, **changes: object
) -> tuple[Tally, list[str]]:
    cases = folder / "cases.jsonl"
    cases.write_text("\n".join(small(name) for name in names) + "\n", "utf-8")
    parts = {"load": strange_renders.load, "render": strange_renders.render, **changes}
    setup = Setup(cases="cases.jsonl", options=argparse.Namespace(), **parts)  # type: ignore[arg-type]
    told: list[str] = []
    batch = Batch(cases, folder / "out", "txt", setup, {}, workers, seconds)
    return run_batch(batch, told.append, lambda _: None), told


def plans(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text("utf-8") for path in sorted((folder / "out").glob("*.txt"))}


def test_whatever_a_case_does_the_others_get_their_plans(tmp_path: Path) -> None:
    tally, told = run(tmp_path, NAMES)
    made = plans(tmp_path)
    assert {name: text.partition(":")[0] for name, text in made.items()} == {
        "000001.txt": "Ada",
        "000002.txt": "crash on one engine",
        "000003.txt": "Ben",
        "000006.txt": "Cleo",
    }
    assert (tally.made, tally.without_plan, tally.reused) == (4, 2, 0)
    problems = {problem.split(":")[1]: problem for problem in tally.problems}
    assert problems["4"] == (
        "cases.jsonl:4: internal-error: ZeroDivisionError: division by zero in two lines; please "
        "report this case"
    )
    assert problems["5"].startswith("cases.jsonl:5: engine-crash: the second try, on CLIPS")
    assert "signal 11" in problems["5"]
    assert made["000002.txt"].endswith(", clips\n"), "the second try is on CLIPS"
    assert made["000003.txt"].endswith(", default\n"), (
        "the next case is back on the engine asked for"
    )
    facts = made["000002.txt"].partition(": ")[2]
    assert facts.replace("clips", "default") == made["000003.txt"].partition(": ")[2]
    first = [line for line in told if line.startswith("cases.jsonl:2: ")]
    assert first == [
        "cases.jsonl:2: engine-crash: its process ended (signal 11); tried again on CLIPS in a fresh one"
    ]
    assert len(told) == 2


def test_a_case_that_hangs_is_stopped(tmp_path: Path) -> None:
    tally, _ = run(tmp_path, ["Ada", "hang", "Ben"], seconds=3.0)
    assert list(plans(tmp_path)) == ["000001.txt", "000003.txt"]
    assert tally.problems == [
        "cases.jsonl:2: too-slow: not done after 3 seconds, so it was stopped; no plan"
    ]


def test_workers_that_cannot_start_end_the_batch(tmp_path: Path) -> None:
    with pytest.raises(EngineFault, match=r"no worker can be started \(exit code 3\)"):
        run(tmp_path, ["Ada", "Ben", "Cleo"], workers=1, load=strange_renders.load_and_die)
