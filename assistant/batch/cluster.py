"""A crew on Dask distributed: machines that share the folder of the parts, or processes on this one to try it.

A worker loads the book once, by a plugin, and does one task at a time, since an engine belongs to one thread. Tasks
bring their lines and return counts; the parts are written where they are kept.
"""

import logging
import signal
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from typing import Any, Self

import distributed

from assistant.batch.maker import Maker, Setup
from assistant.batch.pool import Crew, Lost
from assistant.batch.worker import Done, Task, do
from assistant.model.chain import fingerprint
from assistant.model.errors import EngineFault, InputProblems, Problem

LOCAL = "local"
_ANSWER_SECONDS, _WORKER_SECONDS = 10, 120


class _Book(distributed.WorkerPlugin):  # type: ignore[misc]  # the package has no types
    """The rule book in a worker, loaded when the worker starts and again when it is started anew."""

    def __init__(self, setup: Setup, *, is_local: bool) -> None:
        self._is_local = is_local
        self.name = fingerprint([str(setup.out), setup.cases, setup.header])
        self._setup = setup
        self._maker: Maker | None = None

    def setup(self, worker: Any) -> None:
        """Load the book."""
        if worker.state.nthreads != 1:
            raise EngineFault("a worker has several threads; start it with `--nthreads 1`")
        if self._is_local:
            # Ctrl-C reaches the whole group of processes; the parent decides what becomes of it.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
        self._maker = Maker(self._setup)

    def do(self, task: Task) -> Done:
        """Do a task."""
        assert self._maker is not None, "a worker is set up before it is given tasks"
        return do(task, self._maker, self._setup)


def _do(task: Task, name: str) -> Done:
    book: _Book = distributed.get_worker().plugins[name]
    return book.do(task)


class Cluster(Crew):
    """The workers of a scheduler, or so many on this machine."""

    def __init__(self, setup: Setup, address: str, workers: int) -> None:
        self._setup = setup
        self._address = address
        self._workers = workers
        self._tasks: dict[Any, Task] = {}
        self._open = ExitStack()

    @property
    def room(self) -> int:  # type: ignore[override]
        """As many as there are workers now: one that waited at a worker would be lost with it."""
        return max(1, len(self._client.ncores()))

    def __enter__(self) -> Self:
        """Reach the scheduler and load the book everywhere. Raises InputProblems and EngineFault."""
        with ExitStack() as stack:
            self._client = stack.enter_context(self._reached(stack))
            try:
                self._client.wait_for_workers(1, timeout=_WORKER_SECONDS)
            except TimeoutError:
                raise EngineFault(f"no worker came to the cluster at {self._address}") from None
            book = _Book(self._setup, is_local=self._address == LOCAL)
            self._name = book.name
            try:
                self._client.register_plugin(book)
            except Exception as error:  # noqa: BLE001 - what a worker raised comes as text
                raise EngineFault(f"a worker of the cluster cannot begin ({error})") from None
            self._open = stack.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        """Drop what is not done; end the workers of this machine."""
        with suppress(Exception):  # what is gone by itself need not be let go
            self._client.cancel(list(self._tasks))
            self._client.unregister_worker_plugin(self._name)
        self._open.close()

    def submit(self, task: Task) -> None:
        """Send a task to whoever is free."""
        self._tasks[self._client.submit(_do, task, self._name, pure=False)] = task

    def news(self) -> Iterator[Done | Lost]:
        """Wait for a task to end. Raises EngineFault if the cluster is gone, InputProblems if the folder is not shared."""
        for future in distributed.wait(list(self._tasks), return_when="FIRST_COMPLETED").done:
            task = self._tasks.pop(future)
            error = future.exception() if future.status == "error" else None
            if isinstance(error, distributed.KilledWorker):
                limit = f"{self._setup.seconds:g} seconds"
                yield Lost(task, f"its worker was lost, or stopped after {limit} over a case")
                continue
            if future.status != "finished":
                raise EngineFault(f"the cluster did not do its part ({error or future.status})")
            done: Done = future.result()
            if not done.unwritable and not (self._setup.out / task.file).exists():
                text = "a worker wrote a part that is not seen here; name a folder that all machines share"
                raise InputProblems([Problem(str(self._setup.out), "not-shared", text)])
            yield done

    def _reached(self, stack: ExitStack) -> Any:
        if self._address != LOCAL:
            try:
                return distributed.Client(self._address, timeout=_ANSWER_SECONDS)
            except (OSError, ValueError):
                text = f"no scheduler answers at `{self._address}`; allowed: {LOCAL}, or one such as tcp://10.0.0.4:8786"
                raise InputProblems([Problem("--cluster", "no-cluster", text)]) from None
        cluster = distributed.LocalCluster(
            n_workers=self._workers,
            threads_per_worker=1,
            dashboard_address="127.0.0.1:0",
            memory_limit=None,
            silence_logs=logging.CRITICAL,
            security=True,  # nobody else on this machine may send it tasks
            scheduler_kwargs={"allowed_failures": 0},  # a worker that dies is told at once
        )
        return distributed.Client(stack.enter_context(cluster))
