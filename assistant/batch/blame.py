"""Whatever ends a worker costs one case its plan, no more.

A task whose process ended is split: at the case it was at, where the worker left word, else in halves, down to the
single case. That is tried by itself, then on CLIPS, then set down with the reason. The pieces become the one
part that would have come of the whole, so a worker killed by chance changes no byte.
"""

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from assistant.batch.lines import Partition
from assistant.batch.maker import Setup
from assistant.batch.part import columns, part_at, rows
from assistant.batch.pool import Crew, Lost
from assistant.batch.worker import Done, Task, without_plan
from assistant.model.knowledge import KnowledgeBase

_MOST_LOST = 3


def made(
    partitions: Iterator[Partition],
    crew: Crew,
    setup: Setup,
    kb: KnowledgeBase,
    tell: Callable[[str], None],
) -> Iterator[Done]:
    """Yield what became of every partition, in the order in which they finish; no more are read than the crew takes.

    tell: takes a line for each process that ended over its task.
    """
    blame = _Blame(setup, kb)
    waiting: deque[Task] = deque()
    under_way = 0
    while True:
        while under_way < crew.room:
            if not waiting:
                waiting.extend(Task(each) for each in _next(partitions))
            if not waiting:
                break
            crew.submit(waiting.popleft())
            under_way += 1
        if not under_way:
            return
        for news in crew.news():
            under_way -= 1
            done = blame.split(news, waiting, tell) if isinstance(news, Lost) else news
            if done is not None and (done.unwritable or not blame.is_open(done.task)):
                yield done
            elif done is not None and (whole := blame.put_together(done)):
                yield whole


def _next(partitions: Iterator[Partition]) -> Iterator[Partition]:
    yield from (each for each in [next(partitions, None)] if each is not None)


@dataclass
class _Pieces:
    """The pieces of a partition that was split. left: lines of which there is no news yet."""

    whole: Partition
    left: int
    done: list[Done] = field(default_factory=list)


class _Blame:
    """Partitions that were split, until they are whole again."""

    def __init__(self, setup: Setup, kb: KnowledgeBase) -> None:
        self._setup = setup
        self._kb = kb
        self._open: dict[int, _Pieces] = {}  # by the number of each line

    def is_open(self, task: Task) -> bool:
        """Tell whether a task is of a partition that was split."""
        return task.partition.lines[0].number in self._open

    def split(self, lost: Lost, waiting: deque[Task], tell: Callable[[str], None]) -> Done | None:
        """Put what is to be tried again in front of what waits; return a case that is set down."""
        task, lines = lost.task, lost.task.partition.lines
        place, at = f"{self._setup.cases}:{lines[0].number}", self._at(task)
        if len(lines) == 1 and task.lost + 1 >= _MOST_LOST:
            self._pieces(task)
            problem = f"engine-crash: {lost.how}, on CLIPS, too; no plan"
            down = without_plan(lines[0], problem)
            return Done({"without": 1}, [f"{place}: {problem}"], task=task, down=down)
        if len(lines) == 1:
            again = [replace(task, lost=task.lost + 1)]
            where = "tried on CLIPS" if task.lost else "tried again"
        else:
            self._pieces(task)
            pieces = task.partition.pieces(at)
            again = [Task(each, is_piece=True, lost=len(each.lines) == 1) for each in pieces]
            place, where = f"{place} to {lines[-1].number}", "tried again in pieces"
        waiting.extendleft(reversed(again))
        tell(f"{place}: worker-ended: {lost.how}; {where}")
        return None

    def put_together(self, done: Done) -> Done | None:
        """Take the news of a piece; return that of the whole once all pieces are there."""
        pieces = self._pieces(done.task)
        pieces.done.append(done)
        pieces.left -= len(done.task.partition.lines)
        if pieces.left:
            return None
        whole = Done(task=Task(pieces.whole))
        schema, out = columns(self._kb), self._setup.out
        in_order = sorted(pieces.done, key=lambda each: each.task.partition.first)
        try:
            with part_at(out / pieces.whole.name, schema, self._setup.header, pieces.whole) as part:
                for each in in_order:
                    for row in [each.down] if each.down else rows(out / each.task.file):
                        part.add(row)
        except OSError as error:
            whole.unwritable = error.strerror or str(error)
        for each in in_order:
            (out / each.task.file).unlink(missing_ok=True)
            whole.add(each)
        for line in pieces.whole.lines:
            del self._open[line.number]
        return whole

    def _pieces(self, task: Task) -> _Pieces:
        """Return the pieces a task is one of, from now on if it was whole."""
        lines = task.partition.lines
        if not self.is_open(task):
            pieces = _Pieces(task.partition, len(lines))
            self._open.update((line.number, pieces) for line in lines)
        return self._open[lines[0].number]

    def _at(self, task: Task) -> int | None:
        mark = self._setup.out / task.mark
        try:
            text = mark.read_bytes()
            mark.unlink()
        except OSError:
            return None
        return int(text) if text.isdigit() else None
