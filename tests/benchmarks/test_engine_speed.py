"""Time of one case on a made-up load: 150 rules, 80 answers, some 70 firings in six levels.

Run with `pytest tests/benchmarks/test_engine_speed.py --benchmark-enable`.
"""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "engine"))

from engine_books import ON
from engine_load import load_answers, load_book
from installed_engines import ENGINES

from assistant.engine import compile_knowledge, judge, run_engine
from assistant.engine.backend import AttributeFact, Firing
from assistant.engine.run import MAKERS
from assistant.engine.session import run_session
from assistant.engine.verdict import give_verdicts

ROOT = Path(__file__).parents[2]
PEOPLE = [load_answers(seed) for seed in range(20)]
# What one case may cost the engine by itself on a quiet machine (DEVELOPERS.md has what was measured).
# A shared machine was seen to run the same work at half that speed, so the check allows twice the
# promise, and takes the best of several processes: it finds a regression, not a busy neighbour.
PROMISED_SECONDS = {"durable": 0.0022, "clips": 0.0016}
SLOW_MACHINE = 2.0
PROCESSES = 5
# Several times what an idle machine needs.
MOST_SECONDS = {"engine": 0.010, "session": 0.020, "run": 0.060}

Traffic = list[tuple[int, list[AttributeFact], list[int]]]


class Recorder:
    """Passes everything to a backend and keeps what it was given."""

    def __init__(self, inner: Any) -> None:
        self.inner, self.name = inner, inner.name
        self.traffic: list[Traffic] = []

    @contextmanager
    def case(self) -> Iterator["Recorder"]:
        self.traffic.append([])
        with self.inner.case() as self.memory:
            yield self

    def advance(
        self, level: int, facts: Sequence[AttributeFact], absent: Sequence[int]
    ) -> list[Firing]:
        self.traffic[-1].append((level, list(facts), list(absent)))
        firings: list[Firing] = self.memory.advance(level, facts, absent)
        return firings

    def close(self) -> None:
        self.inner.close()


def replayed(backend: Any, recorder: Recorder) -> Callable[[], int]:
    """Return a function that gives the engine all recorded cases again and counts firings."""

    def replay() -> int:
        fired = 0
        for traffic in recorder.traffic:
            with backend.case() as case:
                fired += sum(len(case.advance(*step)) for step in traffic)
        return fired

    return replay


def check_time(benchmark: Any, what: str) -> None:
    """Hold the median for one case against the generous limit, where time was taken."""
    if benchmark.enabled:
        assert benchmark.stats.stats.median / len(PEOPLE) < MOST_SECONDS[what]


@pytest.mark.parametrize("kind", ENGINES)
def test_engine_alone(benchmark: Any, kind: str) -> None:
    """Facts in, fired rules and matched facts out; the host's work is left out."""
    compiled = load_book()
    backend = compiled.engines.get(kind, MAKERS[kind], compiled.program)
    recorder = Recorder(backend)
    for person in PEOPLE:
        run_session(compiled, recorder, person, {})

    fired = benchmark(replayed(backend, recorder))
    assert 65 < fired / len(PEOPLE) < 75
    check_time(benchmark, "engine")
    compiled.close()


def best_seconds_a_case(kind: str, rounds: int = 20) -> float:
    """Time one case in this process: engine alone, best of some rounds over all people."""
    compiled = load_book()
    backend = compiled.engines.get(kind, MAKERS[kind], compiled.program)
    recorder = Recorder(backend)
    for person in PEOPLE:
        run_session(compiled, recorder, person, {})
    replay = replayed(backend, recorder)
    seconds = []
    for _ in range(rounds):
        start = time.perf_counter()
        replay()
        seconds.append(time.perf_counter() - start)
    return min(seconds) / len(PEOPLE)


@pytest.mark.parametrize("kind", ENGINES)
def test_the_engine_keeps_near_its_promised_time(benchmark: Any, kind: str) -> None:
    if not benchmark.enabled:
        benchmark(lambda: None)
        pytest.skip("times are taken with --benchmark-enable only")
    call = f"import test_engine_speed as t; print(t.best_seconds_a_case({kind!r}))"

    def one_process() -> float:
        ran = subprocess.run(
            [sys.executable, "-c", call],
            cwd=Path(__file__).parent,
            env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])},
            capture_output=True,
            text=True,
            check=True,
        )
        return float(ran.stdout)

    seconds = [one_process() for _ in range(PROCESSES)]
    benchmark.pedantic(lambda: None)
    assert min(seconds) < SLOW_MACHINE * PROMISED_SECONDS[kind], seconds


@pytest.mark.parametrize("kind", ENGINES)
def test_engine_with_conclusions(benchmark: Any, kind: str) -> None:
    """The whole session: attributes, engine, conclusions, combination."""
    compiled = load_book()
    backend = compiled.engines.get(kind, MAKERS[kind], compiled.program)

    def work() -> int:
        return sum(len(run_session(compiled, backend, one, {}).conclusions) for one in PEOPLE)

    assert 40 < benchmark(work) / len(PEOPLE) < 90
    check_time(benchmark, "session")
    compiled.close()


@pytest.mark.parametrize("kind", ENGINES)
def test_whole_run_with_a_reason_for_every_rule(benchmark: Any, kind: str) -> None:
    compiled = load_book()

    def work() -> int:
        runs = [run_engine(compiled, one, ON, kind) for one in PEOPLE]  # type: ignore[arg-type]
        return sum(len(run.records) for run in runs)

    assert benchmark(work) == len(PEOPLE) * len(compiled.rules)
    check_time(benchmark, "run")
    compiled.close()


def test_verdict_pass(benchmark: Any) -> None:
    compiled = load_book()
    backend = compiled.engines.get("clips", MAKERS["clips"], compiled.program)
    outcomes = [run_session(compiled, backend, one, {}) for one in PEOPLE]
    records = benchmark(
        lambda: [give_verdicts(compiled, outcome, frozenset())[0] for outcome in outcomes]
    )
    assert len(records) == len(PEOPLE)
    check_time(benchmark, "run")
    compiled.close()


def test_one_rule_by_itself(benchmark: Any) -> None:
    """What mutation of the rules' tests costs a call."""
    kb = load_book().kb
    rules = list(kb.rules.values())[:20]

    def work() -> int:
        lines = {"p.line": 21.0}
        return len([judge(one, None, PEOPLE[0], kb, ON, {}, params=lines) for one in rules])

    assert benchmark(work) == len(rules)
    if benchmark.enabled:
        assert benchmark.stats.stats.median / len(rules) < 0.003


def test_compiling(benchmark: Any) -> None:
    kb = load_book().kb
    assert len(benchmark(compile_knowledge, kb, ON).rules) == len(kb.rules)
