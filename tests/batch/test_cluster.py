"""A batch on Dask distributed: the same parts as in one process, whatever becomes of a worker."""

import contextlib
import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from test_killed import ROOT, command, finish, many, parts
from test_pool import NAMES, plans, problems, run

from assistant.batch.cluster import LOCAL, Cluster
from assistant.batch.folder import parts_in
from assistant.batch.maker import Setup
from assistant.batch.pool import Alone
from assistant.model.errors import InputProblems


def local(setup: Setup) -> Cluster:
    return Cluster(setup, LOCAL, 2)


@pytest.mark.slow
@pytest.mark.parametrize("poison", ["crash", "hang"])
def test_a_poisoned_case_costs_its_own_plan(poison: str, tmp_path: Path) -> None:
    """It ends three workers, and is set down; what another engine can make is made."""
    names = [poison if name == "crash" else name for name in NAMES]
    seconds = 3.0 if poison == "hang" else 120.0
    tally, told = run(tmp_path, names, local, seconds)
    assert list(plans(tmp_path)) == ["000001.txt", "000002.txt", "000003.txt", "000006.txt"]
    assert plans(tmp_path)["000002.txt"].endswith(", clips\n")
    assert (tally.counts["plans"], tally.counts["without"]) == (4, 2)
    how = f"its worker was lost, or stopped after {seconds:g} seconds over a case"
    assert problems(tmp_path)[5] == f"engine-crash: {how}, on CLIPS, too; no plan"
    assert told[0] == f"cases.jsonl:1 to 6: worker-ended: {how}; tried again in pieces"


def test_the_parts_are_those_of_one_process(tmp_path: Path) -> None:
    """Also where a worker is killed by chance; both engines are the ones asked for."""
    names = ["Ada", "Ben", "killed once", *(f"Client {n}" for n in range(30))]
    tally, told = run(tmp_path, names, local)
    assert (tally.counts["plans"], len(told)) == (33, 1)
    out = tmp_path / "out"
    first = {name: (out / name).read_bytes() for name in parts_in(out)}
    assert len(first) == 5
    for name in first:
        (out / name).unlink()
    run(tmp_path, names, Alone)
    assert {name: (out / name).read_bytes() for name in parts_in(out)} == first


def test_an_address_where_nobody_answers_is_one_clear_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.batch.cluster._ANSWER_SECONDS", 1)
    for address in ("tcp://127.0.0.1:9", "nonsense:x"):
        with pytest.raises(InputProblems, match=f"no scheduler answers at `{address}`; allowed: "):
            run(tmp_path, ["Ada"], lambda setup: Cluster(setup, address, 1))  # noqa: B023


@pytest.fixture
def scheduler(tmp_path: Path) -> Iterator[str]:
    """The address of a scheduler in a process of its own, as on another machine."""
    told = tmp_path / "scheduler.json"
    options = [
        "--host",
        "127.0.0.1",
        "--port",
        "0",
        "--no-dashboard",
        "--scheduler-file",
        str(told),
    ]
    with started("scheduler", *options):
        while not told.exists() or not told.read_text("utf-8").endswith("}"):
            time.sleep(0.05)
        yield json.loads(told.read_text("utf-8"))["address"]


@contextlib.contextmanager
def started(kind: str, *options: str) -> Iterator[subprocess.Popen[bytes]]:
    typed = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *options]
    process = subprocess.Popen(
        typed, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait()


@pytest.mark.slow
def test_a_machine_that_goes_and_one_that_comes(scheduler: str, tmp_path: Path) -> None:
    """Workers without a nurse, so that the killed one stays away; the real command, on an address."""
    many(tmp_path, 400)
    alone = ["--nthreads", "1", "--no-nanny", "--no-dashboard"]
    with started("worker", scheduler, *alone) as first, started("worker", scheduler, *alone):
        typed = command(tmp_path, "out", 2, "--cluster", scheduler)
        with subprocess.Popen(
            typed, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        ) as batch:
            while len(parts(tmp_path / "out")) < 9:
                assert batch.poll() is None, "it ended before a worker could be killed"
                time.sleep(0.01)
            first.kill()
            with started("worker", scheduler, *alone):
                said, told = batch.communicate(timeout=600)
    assert batch.returncode == 0, told
    assert "400 cases: 400 with a plan" in said
    finish(tmp_path, "fresh", 0)
    assert parts(tmp_path / "out") == parts(tmp_path / "fresh")


@pytest.mark.slow
def test_a_worker_with_several_threads_is_refused(scheduler: str, tmp_path: Path) -> None:
    many(tmp_path, 2)
    with started("worker", scheduler, "--nthreads", "2", "--no-nanny", "--no-dashboard"):
        typed = command(tmp_path, "out", 2, "--cluster", scheduler)
        done = subprocess.run(typed, cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (1, "")
    (told,) = done.stderr.splitlines()
    assert told.startswith("no plan: a worker of the cluster cannot begin (")
    assert "start it with `--nthreads 1`" in told
