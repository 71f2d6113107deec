"""A worker process: takes a line, writes its plan, tells what became of it; and so on."""

import signal
import time
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from assistant.batch.folder import file_name, write_plan
from assistant.batch.maker import Maker, Setup
from assistant.model.errors import EngineFault, InputProblems


@dataclass(frozen=True)
class Task:
    """A line to make a plan of."""

    number: int
    raw: bytes


@dataclass(frozen=True)
class Result:
    """What became of a task.

    file, sha256, level: of the plan, if there is one. problems: why there is none, one line each.
    seconds: processor time by stage. memory_kb: what the process holds, 0 where that is not known.
    """

    number: int
    file: str = ""
    sha256: str = ""
    level: str = ""
    problems: tuple[str, ...] = ()
    seconds: dict[str, float] = field(default_factory=dict)
    memory_kb: int = 0


@dataclass(frozen=True)
class Ready:
    """Sent once a worker has loaded its rules."""


def work(connection: Connection, setup: Setup, folder: Path, suffix: str) -> None:
    """Serve tasks until the other side hangs up."""
    # Ctrl-C reaches the whole group of processes; the parent decides what becomes of it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        maker = Maker(setup)
        connection.send(Ready())
        while True:
            task: Task = connection.recv()
            connection.send(done(task, maker, setup, folder, suffix))
    except (EOFError, BrokenPipeError, ConnectionResetError):
        return  # the parent is gone or needs no more; what is written stays


def done(task: Task, maker: Maker, setup: Setup, folder: Path, suffix: str) -> Result:
    """Make and write one plan, and tell what became of it; no exception leaves this."""
    place = f"{setup.cases}:{task.number}"
    try:
        made = maker.make(task.raw, task.number)
        start = time.process_time()
        name = file_name(task.number, suffix)
        digest = write_plan(folder, name, made.text)
    except InputProblems as error:
        return Result(task.number, problems=tuple(str(problem) for problem in error.problems))
    except EngineFault as error:
        return Result(task.number, problems=(f"{place}: no-plan: {error}",))
    except OSError as error:
        text = f"the plan cannot be written ({error.strerror}); free some space and run it again"
        return Result(task.number, problems=(f"{place}: not-writable: {text}",))
    except Exception as error:  # noqa: BLE001 - one case must never stop the rest
        text = f"{type(error).__name__}: {' '.join(str(error).split())}; please report this case"
        return Result(task.number, problems=(f"{place}: internal-error: {text}",))
    seconds = {**made.seconds, "write": time.process_time() - start}
    return Result(task.number, name, digest, made.level, (), seconds, resident_kb())


def resident_kb() -> int:
    """Return the memory this process holds, in kB; 0 where the system does not tell."""
    try:
        pages = Path("/proc/self/statm").read_text("ascii").split()[1]
    except OSError:
        return 0
    return int(pages) * 4
