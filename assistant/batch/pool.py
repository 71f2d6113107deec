"""Worker processes on one machine, and this very process as the smallest crew.

Processes are spawned, never forked: engines hold native memory that must not be shared. Each has one task at a time
over a pipe of its own, so nothing listens on a port and a worker that dies points at its task.
"""

import contextlib
import multiprocessing
from abc import abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess

from assistant.batch.maker import Maker, Setup
from assistant.batch.worker import TOO_SLOW, Done, Ready, Task, do, work
from assistant.model.errors import EngineFault

_MOST_FALSE_STARTS = 3
_LEAVE_SECONDS = 5.0


@dataclass(frozen=True)
class Lost:
    """The process of a task ended before it was done. how: as far as that is known."""

    task: Task
    how: str


class Crew(contextlib.AbstractContextManager["Crew"]):
    """Who does tasks: as many as there is room for before there is news of one. Leaving it ends them all."""

    room = 1

    @abstractmethod
    def submit(self, task: Task) -> None:
        """Take a task. Raises InputProblems if rules cannot be loaded."""

    @abstractmethod
    def news(self) -> Iterator[Done | Lost]:
        """Wait for a task to end, and yield what became of it and of others that ended meanwhile."""

    def __exit__(self, *_: object) -> None:
        """Let all go; stop those at work if something went wrong."""


class Alone(Crew):
    """This process: with no shelter from a native crash or a case that never ends."""

    def __init__(self, setup: Setup) -> None:
        self._setup = replace(setup, seconds=0.0)
        self._maker: Maker | None = None
        self._task: Task | None = None

    def submit(self, task: Task) -> None:  # noqa: D102 - as said there
        self._maker = self._maker or Maker(self._setup)
        self._task = task

    def news(self) -> Iterator[Done | Lost]:  # noqa: D102 - as said there
        assert self._maker is not None, "no news before a task"
        assert self._task is not None, "no news before a task"
        yield do(self._task, self._maker, self._setup)


@dataclass
class _Seat:
    """A place for one worker: its process, our end of the pipe, and what it is at."""

    process: SpawnProcess
    connection: Connection
    task: Task | None = None
    is_ready: bool = False


class Pool(Crew):
    """A fixed number of processes, started as there is work for them."""

    def __init__(self, setup: Setup, workers: int) -> None:
        self.room = workers
        self._setup = setup
        self._context = multiprocessing.get_context("spawn")
        self._seats: list[_Seat] = []
        self._false_starts = 0

    def submit(self, task: Task) -> None:
        """Give a task to an idle worker, or to a new one."""
        seat = next((seat for seat in self._seats if seat.task is None), None) or self._start()
        seat.task = task
        with contextlib.suppress(OSError):  # a dead worker shows when we look for news
            seat.connection.send(task)

    def news(self) -> Iterator[Done | Lost]:
        """Wait for a task to end. Raises EngineFault if workers cannot be started at all."""
        busy = {seat.connection: seat for seat in self._seats if seat.task is not None}
        for connection in wait(list(busy)):
            yield from self._listen(busy[connection])  # type: ignore[index]

    def __exit__(self, *error: object) -> None:
        """Let idle workers go; stop the others if something went wrong."""
        for seat in self._seats:
            seat.connection.close()
            if any(error):
                seat.process.kill()
        for seat in list(self._seats):
            self._drop(seat)

    def _start(self) -> _Seat:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=work, args=(theirs, self._setup), daemon=True)
        process.start()
        theirs.close()
        self._seats.append(_Seat(process, ours))
        return self._seats[-1]

    def _listen(self, seat: _Seat) -> Iterator[Done | Lost]:
        try:
            message: Done | Ready = seat.connection.recv()
        except (EOFError, OSError):
            yield from self._died(seat)
            return
        if isinstance(message, Ready):
            seat.is_ready, self._false_starts = True, 0
        else:
            seat.task = None
            yield message

    def _died(self, seat: _Seat) -> Iterator[Lost]:
        task = seat.task
        assert task is not None, "we listen to busy workers only"
        self._drop(seat)
        code = seat.process.exitcode or 0
        how = f"signal {-code}" if code < 0 else f"exit code {code}"
        if seat.is_ready:
            limit = f"not done after {self._setup.seconds:g} seconds"
            yield Lost(task, limit if code == TOO_SLOW else how)
            return
        self._false_starts += 1
        if self._false_starts >= _MOST_FALSE_STARTS:
            raise EngineFault(f"no worker can be started ({how}); try --workers 0")
        self.submit(task)

    def _drop(self, seat: _Seat) -> None:
        seat.connection.close()
        seat.process.join(_LEAVE_SECONDS)
        if seat.process.is_alive():
            seat.process.kill()
            seat.process.join()
        self._seats.remove(seat)
