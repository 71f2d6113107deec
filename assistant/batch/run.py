"""A whole batch: parts that are there are left alone, the rest is made, and all of it is told."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from assistant.batch.blame import made
from assistant.batch.folder import Folder, not_writable
from assistant.batch.lines import Partition, partitions
from assistant.batch.maker import Setup, read_line
from assistant.batch.part import REFUSED, rows
from assistant.batch.pool import Crew
from assistant.batch.worker import Told
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase


@dataclass
class Tally(Told):
    """What became of all cases. reused: plans of an earlier run that still fit. removed: what went since it no longer did.

    first_kb: what a process held after its first part.
    """

    reused: int = 0
    removed: list[str] = field(default_factory=list)
    first_kb: int = 0

    @property
    def total(self) -> int:
        """All cases looked at."""
        return self.counts.get("plans", 0) + self.counts.get("without", 0)


@dataclass(frozen=True)
class Batch:
    """What to make: the cases, so many a part, and how. kb: the rule book, as workers load it."""

    cases: Path
    size: int
    setup: Setup
    kb: KnowledgeBase


def run_batch(
    batch: Batch, crew: Crew, tell: Callable[[str], None], progress: Callable[[Tally], None]
) -> Tally:
    """Make every part that is not there yet.

    tell: takes a line worth saying at once. progress: called after each part. Raises InputProblems if
    the cases or the folder cannot be used, EngineFault if no worker can be started.
    """
    tally = Tally()
    with Folder(batch.setup.out, batch.setup.header) as folder, crew:
        for done in made(_left(batch, folder, tally), crew, batch.setup, batch.kb, tell):
            if done.unwritable:
                raise not_writable(batch.setup.out, done.unwritable)
            folder.note(done.task.partition.name, done.seconds)
            tally.add(done)
            tally.first_kb = tally.first_kb or done.memory_kb
            progress(tally)
        tally.removed = folder.remove_stale()
    return tally


def _left(batch: Batch, folder: Folder, tally: Tally) -> Iterator[Partition]:
    for partition in partitions(batch.cases, batch.size):
        counts = folder.done(partition)
        if counts is None:
            yield partition
            continue
        tally.reused += counts["plans"]
        tally.add(Told(counts, list(_problems(batch, partition)) if counts["without"] else []))


def _problems(batch: Batch, partition: Partition) -> Iterator[str]:
    """Tell again why lines of a part have no plan; a refused one is read for it."""
    lines = {line.number: line for line in partition.lines}
    for row in rows(batch.setup.out / partition.name, "line", "problem"):
        if row["problem"] == REFUSED:
            try:
                read_line(lines[row["line"]], batch.setup.cases, batch.kb)
            except InputProblems as error:
                yield from map(str, error.problems)
        elif row["problem"] is not None:
            yield f"{batch.setup.cases}:{row['line']}: {row['problem']}"
