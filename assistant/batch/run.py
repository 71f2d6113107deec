"""A whole batch: what is done already is left alone, the rest is made, and all of it is told."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.batch.folder import Done, Folder
from assistant.batch.lines import CaseLine, case_lines
from assistant.batch.maker import Setup
from assistant.batch.pool import Alone, Mishap, Pool
from assistant.batch.worker import Result, Task


@dataclass
class Tally:
    """What became of the cases.

    reused: plans of an earlier run that still fit. problems: why others have none. seconds: processor
    time by stage, of the plans made now. memory_kb: what workers held, first and most.
    """

    reused: int = 0
    made: int = 0
    stopped: int = 0
    without_plan: int = 0
    problems: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)
    memory_kb: list[int] = field(default_factory=list)

    @property
    def total(self) -> int:
        """All cases looked at."""
        return self.reused + self.made + self.without_plan


@dataclass(frozen=True)
class Batch:
    """What to make, where, and with how many workers; 0 is this very process.

    header: what the plans depend on beside the cases; a folder keeps to one header.
    """

    cases: Path
    out: Path
    suffix: str
    setup: Setup
    header: Mapping[str, Any]
    workers: int
    seconds_per_case: float


def run_batch(
    batch: Batch, tell: Callable[[str], None], progress: Callable[[Tally], None]
) -> Tally:
    """Make every plan that is not there yet.

    tell: takes a line worth saying at once. progress: called after each case. Raises InputProblems if
    the cases or the folder cannot be used, EngineFault if no worker can be started.
    """
    tally = Tally()
    digests: dict[int, str] = {}
    with Folder(batch.out, batch.header) as folder:
        lines = _left(case_lines(batch.cases), folder, tally, digests)
        with ExitStack() as stack:
            place = batch.setup, batch.out, batch.suffix
            workers: Pool | Alone = Alone(*place)
            if batch.workers:
                workers = stack.enter_context(Pool(*place, batch.workers, batch.seconds_per_case))
            for news in workers.run(lines):
                if isinstance(news, Mishap):
                    tell(news.text)
                    continue
                _count(news, folder, tally, digests.pop(news.number))
                progress(tally)
        tally.removed = folder.remove_stale()
    return tally


def _left(
    lines: Iterator[CaseLine], folder: Folder, tally: Tally, digests: dict[int, str]
) -> Iterator[Task]:
    for line in lines:
        if folder.is_done(line):
            tally.reused += 1
            tally.stopped += folder.level_of(line.number) == "stop"
            continue
        digests[line.number] = line.digest
        yield Task(line.number, line.raw)


def _count(result: Result, folder: Folder, tally: Tally, digest: str) -> None:
    if result.problems:
        tally.without_plan += 1
        tally.problems += result.problems
        return
    folder.record(Done(result.number, digest, result.file, result.sha256, result.level))
    tally.made += 1
    tally.stopped += result.level == "stop"
    for stage, seconds in result.seconds.items():
        tally.seconds[stage] = tally.seconds.get(stage, 0.0) + seconds
    if not tally.memory_kb:
        tally.memory_kb = [result.memory_kb, result.memory_kb]
    tally.memory_kb[1] = max(tally.memory_kb[1], result.memory_kb)
