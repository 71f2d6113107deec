"""What a whole run came to, counted over the parts of its folder, plan by plan."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.batch.folder import LOG, parts_in
from assistant.batch.lines import CaseLine
from assistant.batch.maker import read_line
from assistant.batch.part import made_of, rows
from assistant.batch.worker import summed
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase


@dataclass
class Summary:
    """Counts of a run. problems: lines without a plan, by code. seconds: processor time by stage, where it was noted."""

    parts: int = 0
    plans: int = 0
    problems: Counter[str] = field(default_factory=Counter)
    levels: Counter[str] = field(default_factory=Counter)
    engines: Counter[str] = field(default_factory=Counter)
    flags: Counter[str] = field(default_factory=Counter)
    referrals: Counter[str] = field(default_factory=Counter)
    seconds: dict[str, float] = field(default_factory=dict)


def summary(folder: Path) -> Summary:
    """Count what stands in the parts of a folder. Raises InputProblems if there are none, or one is damaged."""
    parts = _parts(folder)
    found = Summary(len(parts), seconds=_seconds(folder))
    for row in _rows(parts, "problem", "level", "engine", "flags", "referrals"):
        if row["problem"] is not None:
            found.problems[row["problem"].partition(":")[0]] += 1
            continue
        found.plans += 1
        found.levels[row["level"]] += 1
        found.engines[row["engine"]] += 1
        for ranked, counter in ((row["flags"], found.flags), (row["referrals"], found.referrals)):
            counter.update(f"{each['id']} ({each['how']})" for each in ranked)
    return found


def cases_in(folder: Path, kb: KnowledgeBase) -> Iterator[tuple[str, Case]]:
    """Yield the cases of a batch that have a plan, each named by its line. Raises InputProblems."""
    for row in _rows(_parts(folder), "line", "case"):
        if row["case"] is not None:
            line = CaseLine(row["line"], row["case"].encode())
            yield f"line {line.number}", read_line(line, str(folder), kb)


def _parts(folder: Path) -> list[Path]:
    named = [folder / name for name in parts_in(folder)] if folder.is_dir() else []
    parts = [part for part in named if made_of(part) is not None]
    if not parts:
        text = "no parts of a batch are in it; name a folder that `whyplan batch CASES --out DIR` wrote"
        raise InputProblems([Problem(str(folder), "no-parts", text)])
    return parts


def _rows(parts: Iterable[Path], *names: str) -> Iterator[dict[str, Any]]:
    for part in parts:
        try:
            yield from rows(part, *names)
        except OSError as error:
            text = f"it is damaged ({error}); delete it and run the batch again"
            raise InputProblems([Problem(str(part), "damaged-part", text)]) from None


def _seconds(folder: Path) -> dict[str, float]:
    """The time of each part when it was last made; a line cut by a kill tells nothing."""
    last: dict[str, dict[str, float]] = {}
    for line in (folder / LOG).read_bytes().splitlines() if (folder / LOG).exists() else ():
        try:
            noted = json.loads(line)
            last[noted["part"]] = noted["seconds"]
        except (ValueError, KeyError, TypeError):
            continue
    total: dict[str, float] = {}
    for seconds in last.values():
        total = summed(total, seconds)
    return total
