"""Workers and their supervision: whatever kills one of them costs one case a second try, no more.

Processes are spawned, never forked: engines hold native memory that must not be shared. The parent
keeps one task with each worker, so a worker that dies points at its case. That case is tried again on
CLIPS in a fresh process, since the other engine is native code that a strange case might break.
"""

import contextlib
import multiprocessing
import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Any, Self

from assistant.batch.maker import Maker, Setup
from assistant.batch.worker import Ready, Result, Task, done, work
from assistant.model.errors import EngineFault
from assistant.plan import EngineChoice

_SECOND_TRY_ENGINE: EngineChoice = "clips"
_MOST_FALSE_STARTS = 3
_LEAVE_SECONDS = 5.0
# A case's time runs from when its worker is ready; loading the rules has a limit of its own.
_START_SECONDS = 300.0


@dataclass(frozen=True)
class Mishap:
    """A worker died or was stopped over a case that is tried again; for telling at once."""

    number: int
    text: str


class Alone:
    """No worker but this process: nothing to start, and no shelter from a native crash."""

    def __init__(self, setup: Setup, folder: Path, suffix: str) -> None:
        """Prepare; the rules are loaded with the first task."""
        self._setup = setup
        self._folder = folder
        self._suffix = suffix

    def run(self, tasks: Iterator[Task]) -> Iterator[Result]:
        """Yield what becomes of every task, in order. Raises InputProblems if rules cannot be loaded."""
        maker: Maker | None = None
        for task in tasks:
            maker = maker or Maker(self._setup)
            yield done(task, maker, self._setup, self._folder, self._suffix)


@dataclass
class _Seat:
    """A place for one worker: its process, our end of the pipe, and what it is at."""

    process: SpawnProcess
    connection: Connection
    on_second_try: bool
    task: Task | None = None
    is_ready: bool = False
    due: float = field(default=0.0)


class Pool:
    """A fixed number of workers. Use as a context manager; leaving it ends them all."""

    def __init__(
        self, setup: Setup, folder: Path, suffix: str, workers: int, seconds_per_case: float
    ) -> None:
        """Prepare; workers are started as there is work for them."""
        self._setup = setup
        self._folder = folder
        self._suffix = suffix
        self._workers = workers
        self._seconds_per_case = seconds_per_case
        self._context = multiprocessing.get_context("spawn")
        self._seats: list[_Seat] = []
        self._false_starts = 0

    def run(self, tasks: Iterator[Task]) -> Iterator[Result | Mishap]:
        """Yield what becomes of every task, in the order in which they finish.

        Raises EngineFault if workers cannot be started at all.
        """
        pending = next(tasks, None)
        while pending is not None or any(seat.task for seat in self._seats):
            while pending is not None and (seat := self._free_seat()) is not None:
                self._give(seat, pending)
                pending = next(tasks, None)
            yield from self._news()

    def __enter__(self) -> Self:
        """Return the pool itself."""
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        """Let idle workers go; stop the others if something went wrong."""
        for seat in self._seats:
            seat.connection.close()
            if kind is not None:
                seat.process.kill()
        for seat in self._seats:
            seat.process.join(_LEAVE_SECONDS)
            if seat.process.is_alive():
                seat.process.kill()
                seat.process.join()
        self._seats.clear()

    def _free_seat(self) -> _Seat | None:
        for seat in self._seats:
            if seat.task is None:
                return seat
        return self._start(self._setup) if len(self._seats) < self._workers else None

    def _start(self, setup: Setup, *, on_second_try: bool = False) -> _Seat:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(
            target=work, args=(theirs, setup, self._folder, self._suffix), daemon=True
        )
        process.start()
        theirs.close()
        seat = _Seat(process, ours, on_second_try)
        self._seats.append(seat)
        return seat

    def _give(self, seat: _Seat, task: Task) -> None:
        seat.task = task
        limit = self._seconds_per_case if seat.is_ready else _START_SECONDS
        seat.due = time.monotonic() + limit
        with contextlib.suppress(OSError):  # a dead worker shows when we look for news
            seat.connection.send(task)

    def _news(self) -> Iterator[Result | Mishap]:
        busy = {seat.connection: seat for seat in self._seats if seat.task is not None}
        left = min(seat.due for seat in busy.values()) - time.monotonic()
        heard = wait(list(busy), timeout=max(0.0, left))
        for connection in heard:
            yield from self._listen(busy[connection])  # type: ignore[index]
        now = time.monotonic()
        for seat in busy.values():
            if seat.task is not None and seat.due <= now and seat in self._seats:
                yield self._overdue(seat)

    def _listen(self, seat: _Seat) -> Iterator[Result | Mishap]:
        try:
            message: Any = seat.connection.recv()
        except (EOFError, OSError):
            yield self._died(seat)
            return
        if isinstance(message, Ready):
            seat.is_ready = True
            seat.due = time.monotonic() + self._seconds_per_case
            self._false_starts = 0
            return
        assert isinstance(message, Result)
        seat.task = None
        if seat.on_second_try:
            self._drop(seat)
        yield message

    def _died(self, seat: _Seat) -> Result | Mishap:
        """Tell of a worker that is gone, and try its case again or give it up."""
        task = seat.task
        assert task is not None, "we listen to busy workers only"
        self._drop(seat)
        how = _end_of(seat.process)
        place = f"{self._setup.cases}:{task.number}"
        if not seat.is_ready:
            self._false_starts += 1
            if self._false_starts >= _MOST_FALSE_STARTS:
                raise EngineFault(f"no worker can be started ({how}); try --workers 0")
        if seat.on_second_try:
            text = f"{place}: engine-crash: the second try, on CLIPS, ended too ({how}); no plan"
            return Result(task.number, problems=(text,))
        again = replace(self._setup, engine=_SECOND_TRY_ENGINE)
        self._give(self._start(again, on_second_try=True), task)
        text = (
            f"{place}: engine-crash: its process ended ({how}); tried again on CLIPS in a fresh one"
        )
        return Mishap(task.number, text)

    def _overdue(self, seat: _Seat) -> Result:
        task = seat.task
        assert task is not None, "only busy workers can be late"
        seat.process.kill()
        self._drop(seat)
        limit = self._seconds_per_case if seat.is_ready else _START_SECONDS
        text = f"not done after {limit:g} seconds, so it was stopped; no plan"
        return Result(
            task.number, problems=(f"{self._setup.cases}:{task.number}: too-slow: {text}",)
        )

    def _drop(self, seat: _Seat) -> None:
        seat.connection.close()
        seat.process.join(_LEAVE_SECONDS)
        if seat.process.is_alive():
            seat.process.kill()
            seat.process.join()
        self._seats.remove(seat)


def _end_of(process: SpawnProcess) -> str:
    code = process.exitcode
    if code is not None and code < 0:
        return f"signal {-code}"
    return f"exit code {code}"
