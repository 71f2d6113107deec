"""A greedy planner, the baseline: it adds the set block that helps most until nothing fits."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

from assistant.programme.catalogue import Catalogue
from assistant.programme.days import lay_out
from assistant.programme.pool import build_pool
from assistant.programme.request import ProgrammeRequest
from programme import measure
from programme.checker import Entry, violations


def greedy_week(
    request: ProgrammeRequest, catalogue: Catalogue
) -> tuple[list[Entry], dict[str, str], AbstractSet[str]]:
    """Returns the week, its day types and the pool it drew from (the solver's own pool)."""
    layout = lay_out(request, catalogue.settings)
    types = {day.id: day.type for day in layout.days}
    pool = build_pool(request, catalogue).chosen
    names = frozenset(candidate.exercise.id for candidate in pool)
    blocks = [
        Entry(day.id, candidate.exercise.id, sets, candidate.zone)
        for day in layout.days
        for candidate in pool
        for sets in (3, 2)
    ]
    blocks = [block for block in blocks if not violations([block], request, types)]
    points = {candidate.exercise.id: candidate.score for candidate in pool}
    week: list[Entry] = []
    worth = _worth(week, request, types, names)
    while True:
        tries = []
        for block in blocks:
            trial = [*week, block]
            gained = tuple(
                before - after
                for before, after in zip(worth, _worth(trial, request, types, names), strict=True)
            )
            if gained > (0.0, 0.0, 0.0):
                tries.append((gained, points[block.exercise], block.day, block.exercise, block))
        tries.sort(key=lambda item: (*(-g for g in item[0]), -item[1], item[2], item[3]))
        fit = next(
            (item[4] for item in tries if not violations([*week, item[4]], request, types)), None
        )
        if fit is None:
            return week, types, names
        week.append(fit)
        worth = _worth(week, request, types, names)
        blocks = [b for b in blocks if (b.day, b.exercise) != (fit.day, fit.exercise)]


def _worth(
    week: list[Entry], request: ProgrammeRequest, types: dict[str, str], pool: AbstractSet[str]
) -> tuple[float, float, float]:
    return (
        measure.whole_body(week, request, types, pool),
        measure.priorities(week, request, types, pool),
        measure.targets(week, request, types, pool),
    )
