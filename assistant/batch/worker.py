"""A worker's task: make the plans of some lines, write them as a part, tell how many there are."""

import faulthandler
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import TypeVar

from assistant.batch.lines import CaseLine, Partition
from assistant.batch.maker import Maker, Setup
from assistant.batch.part import REFUSED, Row, columns, part_at
from assistant.casefiles.safe_files import write_atomically
from assistant.model.errors import EngineFault, InputProblems

_Number = TypeVar("_Number", int, float)
TOO_SLOW = 1  # the exit code of a process that took too long over a case


@dataclass(frozen=True)
class Task:
    """Lines to make a part of, or a piece of one.

    lost: how often a process ended over this case by itself; after the second time another engine tries.
    """

    partition: Partition
    is_piece: bool = False
    lost: int = 0

    @property
    def file(self) -> str:
        """Where its rows go. Pieces are hidden until they are put together."""
        return "." * self.is_piece + self.partition.name

    @property
    def mark(self) -> str:
        """The file that says at which line a worker is."""
        return f".{self.partition.name}.at"


@dataclass
class Told:
    """What became of some lines: counts alone, since the plans are in the parts.

    counts: plans, stopped ones among them, and lines without. problems: why those have none. seconds: processor time
    by stage. memory_kb: what a process held at most, 0 where that is not known.
    """

    counts: dict[str, int] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)
    memory_kb: int = 0

    def add(self, more: "Told") -> None:
        """Count in what became of other lines."""
        self.counts = summed(self.counts, more.counts)
        self.problems += more.problems
        self.seconds = summed(self.seconds, more.seconds)
        self.memory_kb = max(self.memory_kb, more.memory_kb)


def summed(first: Mapping[str, _Number], second: Mapping[str, _Number]) -> dict[str, _Number]:
    """Return the sums of what two tables have under the same names."""
    return {**first, **{name: first.get(name, 0) + value for name, value in second.items()}}


@dataclass(kw_only=True)
class Done(Told):
    """What became of a task. unwritable: why its part could not be written. down: the row of a case that was given up."""

    task: Task
    unwritable: str = ""
    down: Row | None = None


@dataclass(frozen=True)
class Ready:
    """Sent once a worker has loaded its rules."""


def work(connection: Connection, setup: Setup) -> None:
    """Serve tasks until the other side hangs up."""
    # Ctrl-C reaches the whole group of processes; the parent decides what becomes of it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    with suppress(EOFError, BrokenPipeError, ConnectionResetError):  # no more is needed
        maker = Maker(setup)
        connection.send(Ready())
        while True:
            connection.send(do(connection.recv(), maker, setup))


def _leave_with_parent() -> None:
    parent = multiprocessing.parent_process()
    assert parent is not None, "a worker was started by somebody"
    wait([parent.sentinel])
    os._exit(0)


def do(task: Task, maker: Maker, setup: Setup) -> Done:
    """Make and write one part; no exception leaves this."""
    done, start = Done(task=task), time.process_time()
    place = setup.out / task.file, columns(maker.kb), setup.header, task.partition
    try:
        with _at(setup.out / task.mark) as at, part_at(*place) as part:
            for line in task.partition.lines:
                at(line.number)
                part.add(_row(line, task, maker, setup, done))
            done.counts = part.counts
    except OSError as error:
        done.unwritable = error.strerror or str(error)
    done.seconds["write"] = time.process_time() - start - sum(done.seconds.values())
    done.memory_kb = resident_kb()
    return done


def _row(line: CaseLine, task: Task, maker: Maker, setup: Setup, done: Done) -> Row:
    """The row of one line, and its file; only that the disk is full may be raised (OSError)."""
    place = f"{setup.cases}:{line.number}"
    try:
        with _limit(setup.seconds):
            made = maker.make(line, on_second=task.lost > 1)
    except InputProblems as error:
        done.problems += [str(problem) for problem in error.problems]
        return without_plan(line, REFUSED)
    except EngineFault as error:
        problem = f"no-plan: {error}"
    except Exception as error:  # noqa: BLE001 - one case must never stop the rest
        said = f"{type(error).__name__}: {' '.join(str(error).split())}"
        problem = f"internal-error: {said}; please report this case"
    else:
        done.seconds = summed(done.seconds, made.seconds)
        if made.file is not None:
            write_atomically(setup.out / made.row["file"], made.file)
        return made.row
    done.problems.append(f"{place}: {problem}")
    return without_plan(line, problem)


def without_plan(line: CaseLine, problem: str) -> Row:
    """Return the row of a line that has no plan: it holds nothing of the case."""
    return {"line": line.number, "problem": problem}


@contextmanager
def _limit(seconds: float) -> Iterator[None]:
    """End this process if what is inside takes longer, even in native code that never comes back."""
    if not seconds:
        yield
        return
    with Path(os.devnull).open("wb") as nowhere:
        faulthandler.dump_traceback_later(seconds, exit=True, file=nowhere)
        try:
            yield
        finally:
            faulthandler.cancel_dump_traceback_later()


@contextmanager
def _at(mark: Path) -> Iterator[Callable[[int], object]]:
    """Give a way to say at which line we are: what a process that ends without a word leaves behind."""
    with mark.open("wb", buffering=0) as stream:

        def at(number: int) -> None:
            stream.seek(0)
            stream.write(b"%d" % number)

        yield at
    mark.unlink()


def resident_kb() -> int:
    """Return the memory this process holds, in kB; 0 where the system does not tell."""
    try:
        pages = Path("/proc/self/statm").read_text("ascii").split()[1]
    except OSError:
        return 0
    return int(pages) * 4
